//! The public face: one call from problem to schedule and bound.

use crate::bound::bound;
use crate::breed::Breed;
use crate::data::Data;
use crate::learn::{End, Learner, fits};
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
    let weighted = data.weight.iter().any(|weight| *weight != 0);
    let mut hunt = Hunt {
        lower: bound(&data).min(data.horizon),
        breed: Breed::new(&data, data.horizon, limits.seed),
        data: &data,
        learner: None,
        impossible: false,
        learned: 0,
        limit: limits.work,
        stopped: false,
        progress,
    };
    hunt.breed.seed();
    // Where costs count too, half of the work is theirs.
    let until = if weighted {
        limits.work / 2
    } else {
        limits.work
    };
    hunt.run(until);
    let Some(mut starts) = hunt.breed.best.take() else {
        let bound = i64::from(hunt.lower) * data.unit;
        let work = hunt.work();
        return Err(if hunt.impossible {
            NoSchedule::Impossible
        } else {
            NoSchedule::NotFound { bound, work }
        });
    };
    let mut cost_optimal = !weighted;
    if weighted {
        hunt.breed.maker.shift(&mut starts);
        cost_optimal = hunt.cheapen(&mut starts);
    }
    let makespan = data.makespan(&starts);
    let lower = hunt.lower.min(makespan);
    let optimal = makespan <= lower;
    Ok(Solution {
        makespan: i64::from(makespan) * data.unit,
        bound: i64::from(lower) * data.unit,
        cost: data.cost(&starts) * data.unit,
        optimal,
        cost_optimal: optimal && cost_optimal,
        work: hunt.work(),
        starts: starts.iter().map(|s| i64::from(*s) * data.unit).collect(),
    })
}

struct Hunt<'a> {
    data: &'a Data,
    lower: i32,
    breed: Breed<'a>,
    learner: Option<Learner>,
    /// Whether it is proven that there is no schedule.
    impossible: bool,
    /// Work of learners that are gone.
    learned: u64,
    limit: u64,
    stopped: bool,
    progress: &'a dyn Fn(Progress) -> ControlFlow<()>,
}

impl Hunt<'_> {
    fn work(&self) -> u64 {
        let learner = self.learner.as_ref().map_or(0, |learner| learner.work);
        self.breed.maker.work + LEARNING * (learner + self.learned)
    }

    fn look(&mut self) {
        let unit = self.data.unit;
        let best = self.breed.best.as_ref();
        let standing = Progress {
            work: self.work(),
            makespan: best.map(|_| i64::from(self.breed.makespan) * unit),
            bound: i64::from(self.lower) * unit,
        };
        self.stopped |= (self.progress)(standing).is_break();
    }

    fn is_over(&self, until: u64) -> bool {
        self.stopped || self.impossible || self.breed.makespan <= self.lower || self.work() >= until
    }

    /// Breeding, searching for something shorter, and refuting from below, in turn.
    fn run(&mut self, until: u64) {
        let mut slice = FIRST_SLICE;
        // A way that brought nothing the last time gets half as much as the others, once it has
        // had its chance.
        let mut brought = [true; 3];
        for turn in 0usize.. {
            self.look();
            if self.is_over(until) {
                return;
            }
            let before = (self.breed.makespan, self.lower);
            let way = turn % 3;
            let idle = !brought[way] && slice > 10 * FIRST_SLICE;
            let share = if idle { slice / 2 } else { slice };
            let share = share.min(until - self.work());
            match way {
                0 => self.breed(share),
                1 => self.learn(share, false),
                _ => self.learn(share, true),
            }
            // Breeding is never halved: it is what large problems live on.
            brought[way] = way == 0 || before != (self.breed.makespan, self.lower);
            if way == 2 {
                slice += slice / 4;
            }
        }
    }

    fn breed(&mut self, share: u64) {
        let until = self.breed.maker.work + share;
        while self.breed.maker.work < until && !self.is_over(u64::MAX) {
            let step = until.min(self.breed.maker.work + STEP);
            self.breed.run(step, self.lower);
            self.look();
            if self.data.order.len() < self.data.tasks || self.data.tasks < 2 {
                return;
            }
        }
    }

    /// Lets the learner search for something shorter, or with `below`, for something as short as
    /// the bound.
    fn learn(&mut self, share: u64, below: bool) {
        let data = self.data;
        let known = self.breed.best.is_some();
        if self.learner.is_none() {
            let horizon = if known {
                self.breed.makespan - 1
            } else {
                data.horizon
            };
            if !fits(data, horizon) {
                return;
            }
            self.learner = Learner::new(data, horizon);
            if self.learner.is_none() {
                self.close(known);
                return;
            }
        }
        let mut known_to_learner = i32::MAX;
        let start = self.work();
        for round in 1u64.. {
            let learner = self.learner.as_mut().expect("it was just made");
            if self.breed.best.is_some() && self.breed.makespan < known_to_learner {
                known_to_learner = self.breed.makespan;
                learner.end_by(self.breed.makespan - 1);
                if let Some(best) = &self.breed.best {
                    learner.wish(best, self.breed.makespan - 1);
                }
            }
            self.lower = self.lower.max(learner.bound());
            if learner.is_dead() {
                self.close(self.breed.best.is_some());
                return;
            }
            let until = below.then_some(self.lower);
            match learner.search(until, RUN * luby(round), true) {
                End::Found(starts) => self.breed.admit(starts),
                End::None if !below || learner.is_dead() => {
                    self.close(self.breed.best.is_some());
                    return;
                }
                End::None => self.lower += 1,
                End::Open => {}
            }
            self.look();
            if self.is_over(u64::MAX) || self.work() >= start + share {
                return;
            }
        }
    }

    /// Nothing shorter is left to be found.
    fn close(&mut self, known: bool) {
        if known {
            self.lower = self.breed.makespan;
        } else {
            self.impossible = true;
        }
    }

    /// Looks for schedules of the same makespan that cost less. True if there are none any more.
    fn cheapen(&mut self, starts: &mut Vec<i32>) -> bool {
        let data = self.data;
        let makespan = data.makespan(starts);
        if let Some(learner) = self.learner.take() {
            self.learned += learner.work;
        }
        if !fits(data, makespan) {
            return false;
        }
        self.learner = Learner::new(data, makespan);
        let Some(learner) = &mut self.learner else {
            return false;
        };
        learner.cost_at_most(&data.weight, data.cost(starts) - 1);
        learner.wish(starts, makespan);
        for round in 1u64.. {
            self.look();
            if self.stopped || self.work() >= self.limit {
                return false;
            }
            let learner = self.learner.as_mut().expect("it was just made");
            match learner.search(None, RUN * luby(round), true) {
                End::None => return true,
                End::Open => {}
                End::Found(mut found) => {
                    self.breed.maker.shift(&mut found);
                    learner.cost_at_most(&data.weight, data.cost(&found) - 1);
                    learner.wish(&found, makespan);
                    *starts = found;
                }
            }
        }
        false
    }
}

/// How far to go between two restarts: 1, 1, 2, 1, 1, 2, 4, … (M. Luby, A. Sinclair and
/// D. Zuckerman, "Optimal speedup of Las Vegas algorithms", 1993); `at` from 1.
fn luby(at: u64) -> u64 {
    let mut at = at;
    loop {
        let bits = u64::BITS - at.leading_zeros();
        if at == (1 << bits) - 1 {
            return 1 << (bits - 1);
        }
        at -= (1 << (bits - 1)) - 1;
    }
}

/// Times looked at between two looks at whether to stop.
const STEP: u64 = 2_000_000;
/// Work of the first turn of each kind.
const FIRST_SLICE: u64 = 3_000_000;
/// Conflicts between two restarts, times the sequence above.
const RUN: u64 = 60;
/// Times looked at while breeding that take as long as one step of learning.
const LEARNING: u64 = 8;
