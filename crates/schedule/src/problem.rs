//! What is to be scheduled.

use std::fmt;

/// Something that takes time and, while it runs, holds resources.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Task {
    /// How long it runs once started, without a break.
    pub duration: i64,
    /// How much it holds of each resource while it runs; resources not named here are not needed.
    pub demands: Vec<u32>,
    /// It starts no earlier. Time begins at 0.
    pub release: i64,
    /// It is finished by then, if given.
    pub deadline: Option<i64>,
    /// What each unit of time costs by which it starts later; negative where late is better.
    ///
    /// A weight of the finish is the same weight: start and finish differ by the duration.
    pub weight: i64,
}

impl Task {
    /// A task without times to keep and without weight.
    pub fn new(duration: i64, demands: Vec<u32>) -> Task {
        Task {
            duration,
            demands,
            ..Task::default()
        }
    }
}

/// Something of which only so much is there at a time.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Resource {
    /// How much is there from time 0 on.
    pub capacity: u32,
    /// From each of these times on there is this much instead; in order of time.
    pub changes: Vec<(i64, u32)>,
}

impl Resource {
    /// A resource of which there is always the same.
    pub fn new(capacity: u32) -> Resource {
        Resource {
            capacity,
            changes: Vec::new(),
        }
    }
}

/// `start of after >= start of before + least`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lag {
    /// Number of the task that is counted from.
    pub before: usize,
    /// Number of the task that is held back.
    pub after: usize,
    /// From start to start; the duration of `before` for an ordinary precedence.
    pub least: i64,
}

impl Lag {
    /// `after` starts at least so long after the start of `before`.
    pub fn at_least(before: usize, after: usize, least: i64) -> Lag {
        Lag {
            before,
            after,
            least,
        }
    }

    /// `after` starts at most so long after the start of `before`.
    pub fn at_most(before: usize, after: usize, most: i64) -> Lag {
        Lag {
            before: after,
            after: before,
            least: most.saturating_neg(),
        }
    }
}

/// Tasks, resources and what holds between tasks; checked when made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    pub(crate) tasks: Vec<Task>,
    pub(crate) resources: Vec<Resource>,
    pub(crate) lags: Vec<Lag>,
}

/// The largest capacity and demand.
pub const MOST_CAPACITY: u32 = 32_767;

/// No time, duration or lag may be larger, nor their sum: a table is kept of all times.
pub const MOST_TIME: i64 = 20_000_000;

/// The largest weight, either way.
pub const MOST_WEIGHT: i64 = 1_000_000;

/// Why something is no problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ProblemError {
    /// A duration or release is negative.
    Negative {
        /// Number of the task.
        task: usize,
    },
    /// A lag names a task that there is not.
    NoSuchTask {
        /// Number of the lag.
        lag: usize,
    },
    /// A task asks for a resource that there is not.
    NoSuchResource {
        /// Number of the task.
        task: usize,
    },
    /// The changes of a resource are not in order of time, or begin before 0.
    Unordered {
        /// Number of the resource.
        resource: usize,
    },
    /// A capacity or demand is above [`MOST_CAPACITY`].
    TooMuch,
    /// Times or weights add up to more than [`MOST_TIME`] or are above [`MOST_WEIGHT`].
    TooLong,
}

impl fmt::Display for ProblemError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ProblemError::Negative { task } => {
                write!(
                    f,
                    "task {task}: duration and release must not be below zero"
                )
            }
            ProblemError::NoSuchTask { lag } => {
                write!(f, "lag {lag} names a task that is not there")
            }
            ProblemError::NoSuchResource { task } => {
                write!(f, "task {task} asks for a resource that is not there")
            }
            ProblemError::Unordered { resource } => {
                write!(
                    f,
                    "resource {resource}: give its changes in order of time, from 0 on"
                )
            }
            ProblemError::TooMuch => {
                write!(f, "a capacity or demand is above {MOST_CAPACITY}")
            }
            ProblemError::TooLong => write!(
                f,
                "all times together must stay below {MOST_TIME}, weights below {MOST_WEIGHT}"
            ),
        }
    }
}

impl std::error::Error for ProblemError {}

impl Problem {
    /// Checks the parts and puts them together.
    ///
    /// # Errors
    ///
    /// See [`ProblemError`]. That no schedule exists is no error here: [`solve`](crate::solve)
    /// finds that out.
    pub fn new(
        tasks: Vec<Task>,
        resources: Vec<Resource>,
        lags: Vec<Lag>,
    ) -> Result<Problem, ProblemError> {
        let mut total = 0i64;
        let mut add = |time: i64| total = total.saturating_add(time.saturating_abs());
        for (at, task) in tasks.iter().enumerate() {
            if task.duration < 0 || task.release < 0 {
                return Err(ProblemError::Negative { task: at });
            }
            if task.demands.iter().skip(resources.len()).any(|d| *d > 0) {
                return Err(ProblemError::NoSuchResource { task: at });
            }
            if task.demands.iter().any(|d| *d > MOST_CAPACITY) {
                return Err(ProblemError::TooMuch);
            }
            if task.weight.saturating_abs() > MOST_WEIGHT {
                return Err(ProblemError::TooLong);
            }
            add(task.duration);
        }
        for (at, resource) in resources.iter().enumerate() {
            let times = resource.changes.iter().map(|change| change.0);
            if !times.clone().is_sorted() || times.clone().any(|time| time < 0) {
                return Err(ProblemError::Unordered { resource: at });
            }
            let amounts = resource.changes.iter().map(|change| change.1);
            if amounts
                .chain([resource.capacity])
                .any(|c| c > MOST_CAPACITY)
            {
                return Err(ProblemError::TooMuch);
            }
            add(times.max().unwrap_or(0));
        }
        for (at, lag) in lags.iter().enumerate() {
            if lag.before >= tasks.len() || lag.after >= tasks.len() {
                return Err(ProblemError::NoSuchTask { lag: at });
            }
            add(lag.least);
        }
        add(tasks.iter().map(|task| task.release).max().unwrap_or(0));
        let deadlines = tasks.iter().filter_map(|task| task.deadline);
        if total > MOST_TIME || deadlines.map(i64::saturating_abs).any(|d| d > MOST_TIME) {
            return Err(ProblemError::TooLong);
        }
        Ok(Problem {
            tasks,
            resources,
            lags,
        })
    }

    /// The tasks.
    pub fn tasks(&self) -> &[Task] {
        &self.tasks
    }

    /// The resources.
    pub fn resources(&self) -> &[Resource] {
        &self.resources
    }

    /// What holds between tasks.
    pub fn lags(&self) -> &[Lag] {
        &self.lags
    }
}
