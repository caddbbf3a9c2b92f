//! List scheduling: each task starts as soon as those before it are done and people and machine are free.
//!
//! Of the tasks that could start, the one of the lowest rank goes first, of equal ranks the first of the
//! list. A task takes as many of the free people as it can use and keeps them to its end. The finish is
//! not proved to be the earliest.

use job::MethodId;
use quantity::Duration;
use std::collections::BTreeSet;

/// Ends that lie nearer together than this are one moment, seconds.
const SAME_MOMENT: f64 = 1e-6;

/// A task to be placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Spec {
    /// People times hours.
    pub work: Duration,
    /// Fewest people at it; at most the crew.
    pub least: u32,
    /// Most people at it.
    pub most: u32,
    /// Machine that it holds.
    pub machine: Option<MethodId>,
    /// Lower goes first.
    pub rank: u32,
    /// Not before this.
    pub not_before: Duration,
    /// Indices of tasks that must be done before, all lower than its own.
    pub after: Vec<usize>,
}

/// When a task is done and by how many.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Placed {
    /// From the crew's first hour.
    pub start: Duration,
    /// How long it takes.
    pub hours: Duration,
    /// People at it.
    pub people: u32,
}

impl Placed {
    /// When it is done.
    pub fn end(&self) -> Duration {
        self.start + self.hours
    }
}

/// Places all tasks; `crew` people are there.
///
/// # Panics
/// If a task follows one that does not come before it in the list.
pub fn list(specs: &[Spec], crew: u32) -> Vec<Placed> {
    let mut site = Site::new(specs, crew);
    while !site.waiting.is_empty() {
        site.start_what_can();
        if !site.step() {
            break;
        }
    }
    site.placed
}

struct Site<'a> {
    specs: &'a [Spec],
    now: Duration,
    free: u32,
    /// Rank and index of what is not begun.
    waiting: BTreeSet<(u32, usize)>,
    running: Vec<usize>,
    done: Vec<bool>,
    placed: Vec<Placed>,
}

impl<'a> Site<'a> {
    fn new(specs: &'a [Spec], crew: u32) -> Self {
        for (index, spec) in specs.iter().enumerate() {
            assert!(
                spec.after.iter().all(|before| *before < index),
                "task {index} follows a later one"
            );
        }
        Self {
            specs,
            now: Duration::ZERO,
            free: crew,
            waiting: specs.iter().enumerate().map(|(i, s)| (s.rank, i)).collect(),
            running: Vec::new(),
            done: vec![false; specs.len()],
            placed: vec![Placed::default(); specs.len()],
        }
    }

    fn start_what_can(&mut self) {
        let waiting: Vec<(u32, usize)> = self.waiting.iter().copied().collect();
        for (rank, index) in waiting {
            if self.can_start(index) {
                self.waiting.remove(&(rank, index));
                self.start(index);
            }
        }
    }

    fn can_start(&self, index: usize) -> bool {
        let spec = &self.specs[index];
        let machine_is_free = || {
            let held = self.running.iter().map(|r| &self.specs[*r].machine);
            spec.machine.is_none() || held.into_iter().all(|machine| *machine != spec.machine)
        };
        self.free >= spec.least.max(1)
            && spec.not_before.to_s() <= self.now.to_s() + SAME_MOMENT
            && spec.after.iter().all(|before| self.done[*before])
            && machine_is_free()
    }

    fn start(&mut self, index: usize) {
        let spec = &self.specs[index];
        let people = spec.most.max(spec.least).max(1).min(self.free);
        self.free -= people;
        self.placed[index] = Placed {
            start: self.now,
            hours: spec.work / f64::from(people),
            people,
        };
        self.running.push(index);
    }

    /// Goes on to the next moment at which something ends or may begin; false if there is none.
    fn step(&mut self) -> bool {
        let ends = self.running.iter().map(|r| self.placed[*r].end());
        let begins = self
            .waiting
            .iter()
            .map(|(_, index)| self.specs[*index].not_before)
            .filter(|time| time.to_s() > self.now.to_s() + SAME_MOMENT);
        let Some(next) = ends.chain(begins).min_by(Duration::total_cmp) else {
            return false;
        };
        self.now = self.now.max(next);
        let ended = |r: &usize| self.placed[*r].end().to_s() <= self.now.to_s() + SAME_MOMENT;
        let (over, still): (Vec<usize>, Vec<usize>) = self.running.iter().partition(|r| ended(r));
        for index in over {
            self.done[index] = true;
            self.free += self.placed[index].people;
            // What follows starts when the last of a moment's ends is reached, not a hair before.
            self.now = self.now.max(self.placed[index].end());
        }
        self.running = still;
        true
    }
}
