//! The public face: one call from problem to schedule and bound.

use crate::bound::bound;
use crate::breed::Breed;
use crate::data::Data;
use crate::problem::Problem;
use std::fmt;
use std::ops::ControlFlow;

/// How much to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Times and bounds that may be looked at; not a time, so that the answer is the same on
    /// every machine. A first schedule and a first bound are made whatever the limit.
    pub work: u64,
    /// Seed of the random choices.
    pub seed: u64,
}

/// Where the search stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Work done so far.
    pub work: u64,
    /// Makespan of the best schedule so far, if there is one.
    pub makespan: Option<i64>,
    /// Best bound so far.
    pub bound: i64,
}

/// A schedule, and a bound below which none can be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Solution {
    /// When each task starts.
    pub starts: Vec<i64>,
    /// When the last task ends.
    pub makespan: i64,
    /// No schedule has a smaller makespan; never above `makespan`.
    pub bound: i64,
    /// Weighted sum of the starts.
    pub cost: i64,
    /// Whether the bound has met the makespan.
    pub optimal: bool,
    /// Whether, besides, no schedule of this makespan has a smaller cost.
    pub cost_optimal: bool,
    /// Work done.
    pub work: u64,
}

impl Solution {
    /// How far the makespan may be above the optimum, as a part of the bound; 0 if it is proven.
    pub fn gap(&self) -> f64 {
        if self.makespan <= self.bound {
            0.0
        } else {
            (self.makespan - self.bound) as f64 / self.bound as f64
        }
    }
}

/// Why there is no schedule to give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoSchedule {
    /// There is none.
    Impossible,
    /// None was found, but there may be one.
    NotFound {
        /// If there is one, its makespan is at least this.
        bound: i64,
        /// Work done.
        work: u64,
    },
}

impl fmt::Display for NoSchedule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoSchedule::Impossible => write!(f, "no schedule keeps all lags, times and capacities"),
            NoSchedule::NotFound { .. } => {
                write!(f, "no schedule was found; allow more work")
            }
        }
    }
}

impl std::error::Error for NoSchedule {}

/// Finds a schedule and a bound. `progress` is called between steps and may break off; the best so
/// far is then returned.
///
/// # Errors
///
/// That there is no schedule, or that none was found.
///
/// # Example
///
/// Three tasks share a resource of which only two can hold a part at a time.
///
/// ```
/// use schedule::{Lag, Limits, Problem, Resource, Task, check, solve};
/// use std::ops::ControlFlow;
///
/// let tasks = vec![Task::new(3, vec![1]), Task::new(2, vec![1]), Task::new(2, vec![1])];
/// let lags = vec![Lag::at_least(1, 2, 2)];
/// let problem = Problem::new(tasks, vec![Resource::new(2)], lags)?;
/// let limits = Limits { work: 100_000, seed: 1 };
/// let solution = solve(&problem, limits, &|_| ControlFlow::Continue(()))?;
///
/// assert_eq!(solution.makespan, 4);
/// assert!(solution.optimal);
/// assert_eq!(check(&problem, &solution.starts)?.0, 4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve(
    problem: &Problem,
    limits: Limits,
    progress: &dyn Fn(Progress) -> ControlFlow<()>,
) -> Result<Solution, NoSchedule> {
    let data = Data::new(problem).ok_or(NoSchedule::Impossible)?;
    let mut lower = bound(&data);
    let mut breed = Breed::new(&data, data.horizon, limits.seed);
    breed.seed();
    let mut until = 0;
    loop {
        let standing = Progress {
            work: breed.maker.work,
            makespan: breed
                .best
                .as_ref()
                .map(|_| i64::from(breed.makespan) * data.unit),
            bound: i64::from(lower) * data.unit,
        };
        if progress(standing).is_break()
            || breed.maker.work >= limits.work
            || breed.makespan <= lower
        {
            break;
        }
        until = limits.work.min(until + STEP);
        breed.run(until, lower);
    }
    let work = breed.maker.work;
    let Some(mut starts) = breed.best.take() else {
        return Err(NoSchedule::NotFound {
            bound: i64::from(lower) * data.unit,
            work,
        });
    };
    if data.weight.iter().any(|weight| *weight != 0) {
        breed.maker.shift(&mut starts);
    }
    lower = lower.min(breed.makespan);
    Ok(Solution {
        makespan: i64::from(data.makespan(&starts)) * data.unit,
        bound: i64::from(lower) * data.unit,
        cost: data.cost(&starts) * data.unit,
        optimal: breed.makespan <= lower,
        cost_optimal: false,
        work,
        starts: starts
            .iter()
            .map(|start| i64::from(*start) * data.unit)
            .collect(),
    })
}

const STEP: u64 = 5_000_000;
