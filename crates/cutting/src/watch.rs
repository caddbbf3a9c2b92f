//! How much has been done, and whether to go on.

use crate::solve::Progress;
use std::ops::ControlFlow;

pub(crate) struct Watch<'a> {
    pub(crate) work: u64,
    limit: u64,
    next: u64,
    stopped: bool,
    pub(crate) standing: Progress,
    progress: &'a dyn Fn(Progress) -> ControlFlow<()>,
}

/// Work between two looks at whether to stop.
const STEP: u64 = 2_000_000;

impl<'a> Watch<'a> {
    pub(crate) fn new(limit: u64, progress: &'a dyn Fn(Progress) -> ControlFlow<()>) -> Watch<'a> {
        Watch {
            work: 0,
            limit,
            next: STEP,
            stopped: false,
            standing: Progress::default(),
            progress,
        }
    }

    pub(crate) fn spend(&mut self, work: u64) {
        self.work += work;
        if self.work >= self.next {
            self.next = self.work + STEP;
            self.look();
        }
    }

    pub(crate) fn look(&mut self) {
        self.standing.work = self.work;
        self.stopped |= (self.progress)(self.standing).is_break();
    }

    pub(crate) fn is_out(&self) -> bool {
        self.stopped || self.work >= self.limit
    }
}
