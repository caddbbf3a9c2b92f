//! Holds a schedule against a problem, sharing nothing with the search.

use crate::problem::Problem;
use std::fmt;

/// What is wrong with a schedule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Not one start for each task.
    Count,
    /// A task starts before its release or before time 0.
    Early {
        /// Number of the task.
        task: usize,
    },
    /// A task ends after its deadline.
    Late {
        /// Number of the task.
        task: usize,
    },
    /// A lag is not kept.
    Lag {
        /// Number of the lag.
        lag: usize,
    },
    /// More of a resource is held than is there.
    Overload {
        /// Number of the resource.
        resource: usize,
        /// When.
        time: i64,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::Count => write!(f, "there must be one start for each task"),
            Fault::Early { task } => write!(f, "task {task} starts too early"),
            Fault::Late { task } => write!(f, "task {task} ends after its deadline"),
            Fault::Lag { lag } => write!(f, "lag {lag} is not kept"),
            Fault::Overload { resource, time } => {
                write!(
                    f,
                    "more of resource {resource} is held at {time} than there is"
                )
            }
        }
    }
}

impl std::error::Error for Fault {}

/// The makespan and the weighted sum of starts of a schedule.
///
/// # Errors
///
/// The first thing that is wrong with it.
pub fn check(problem: &Problem, starts: &[i64]) -> Result<(i64, i64), Fault> {
    let tasks = problem.tasks();
    if starts.len() != tasks.len() {
        return Err(Fault::Count);
    }
    for (at, task) in tasks.iter().enumerate() {
        if starts[at] < task.release.max(0) {
            return Err(Fault::Early { task: at });
        }
        if task
            .deadline
            .is_some_and(|deadline| starts[at] + task.duration > deadline)
        {
            return Err(Fault::Late { task: at });
        }
    }
    for (at, lag) in problem.lags().iter().enumerate() {
        if starts[lag.after] < starts[lag.before] + lag.least {
            return Err(Fault::Lag { lag: at });
        }
    }
    for (at, resource) in problem.resources().iter().enumerate() {
        // What is held rises only at starts, what is there falls only at changes.
        let times = starts.iter().copied();
        for time in times.chain(resource.changes.iter().map(|change| change.0)) {
            let there = resource
                .changes
                .iter()
                .rev()
                .find(|change| change.0 <= time)
                .map_or(resource.capacity, |change| change.1);
            let held: u64 = tasks
                .iter()
                .zip(starts)
                .filter(|(task, start)| **start <= time && time < **start + task.duration)
                .map(|(task, _)| u64::from(task.demands.get(at).copied().unwrap_or(0)))
                .sum();
            if held > u64::from(there) {
                return Err(Fault::Overload { resource: at, time });
            }
        }
    }
    let ends = tasks.iter().zip(starts).map(|(task, s)| s + task.duration);
    let cost = tasks.iter().zip(starts).map(|(task, s)| task.weight * s);
    Ok((ends.max().unwrap_or(0), cost.sum()))
}
