//! Counting work, and asking now and then whether to go on.

use crate::instance::Work;
use crate::solve::Progress;
use std::ops::ControlFlow;

/// Work between two questions: a few milliseconds.
const STEP: u64 = 200_000;

/// The work counter of a run, with the caller's wish to break off.
pub(crate) struct Watch<'a> {
    pub work: Work<'static>,
    pub cost: f64,
    pub bound: f64,
    progress: &'a dyn Fn(Progress) -> ControlFlow<()>,
    stopped: bool,
    next: u64,
    /// Cost and bound of the whole, while a part is looked at.
    whole: Option<(f64, f64)>,
}

impl<'a> Watch<'a> {
    pub fn new(limit: u64, progress: &'a dyn Fn(Progress) -> ControlFlow<()>) -> Watch<'a> {
        Watch {
            work: Work::within(limit),
            cost: f64::INFINITY,
            bound: 0.0,
            progress,
            stopped: false,
            next: 0,
            whole: None,
        }
    }

    /// A counter for a part of the problem, with at most so much work.
    pub fn part(&self, work: u64) -> Watch<'a> {
        Watch {
            work: self.work.until(self.work.done + work),
            cost: f64::INFINITY,
            bound: 0.0,
            progress: self.progress,
            stopped: self.stopped,
            next: self.next,
            whole: self.whole.or(Some((self.cost, self.bound))),
        }
    }

    /// Goes on after a part.
    pub fn resume(&mut self, part: &Watch) {
        self.work.done = part.work.done;
        self.stopped = part.stopped;
        self.next = part.next;
    }

    /// Counts work; true if it is time to end.
    pub fn tick(&mut self, work: u64) -> bool {
        self.work.done += work;
        if self.work.done >= self.next && !self.stopped {
            self.ask();
        }
        self.out()
    }

    /// Asks at once.
    pub fn ask(&mut self) {
        self.next = self.work.done + STEP;
        let (cost, bound) = self.whole.unwrap_or((self.cost, self.bound));
        let now = Progress {
            work: self.work.done,
            cost,
            bound: bound.min(cost),
        };
        self.stopped |= (self.progress)(now).is_break();
    }

    pub fn out(&self) -> bool {
        self.stopped || self.work.out()
    }

    /// A counter for a step that cannot ask, ending early enough to ask again.
    pub fn slice(&self) -> Work<'static> {
        self.work.until(self.work.done + 5 * STEP)
    }
}
