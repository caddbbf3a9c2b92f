//! What is free of every resource at every time.

use crate::data::{Data, LANES, lane};

/// The bit of each lane that must stay clear.
const HIGH: u64 = 0x8000_8000_8000_8000;

pub(crate) struct Board {
    words: usize,
    /// Times that are kept; from the last of them on, everything is as at the last.
    len: usize,
    /// By time, then word.
    free: Vec<u64>,
    empty: Vec<u64>,
}

impl Board {
    /// An empty board for schedules that end by `horizon`.
    pub(crate) fn new(data: &Data, horizon: i32) -> Board {
        let len = horizon.max(1) as usize;
        let mut empty = vec![0u64; len * data.words];
        for (resource, steps) in data.steps.iter().enumerate() {
            for (at, (from, capacity)) in steps.iter().enumerate() {
                let until = steps.get(at + 1).map_or(len, |next| next.0 as usize);
                for time in (*from as usize).min(len)..until.min(len) {
                    empty[time * data.words + resource / LANES] |= lane(*capacity, resource);
                }
            }
        }
        Board {
            words: data.words,
            len,
            free: empty.clone(),
            empty,
        }
    }

    pub(crate) fn clear(&mut self) {
        self.free.copy_from_slice(&self.empty);
    }

    fn fits(&self, demand: &[u64], time: usize) -> bool {
        let free = &self.free[time * self.words..][..self.words];
        // A lane that falls short borrows its high bit.
        free.iter()
            .zip(demand)
            .all(|(free, demand)| ((free | HIGH) - demand) & HIGH == HIGH)
    }

    /// The first start from `from` on at which everything is free for so long; nothing if that
    /// would end after the board. `looked` counts the times looked at.
    pub(crate) fn earliest(
        &self,
        demand: &[u64],
        duration: i32,
        from: i32,
        looked: &mut u64,
    ) -> Option<i32> {
        let (mut start, mut fine) = (from as usize, from as usize);
        loop {
            let end = start + duration as usize;
            if end > self.len {
                return None;
            }
            // From the end backward, so that what is in the way is jumped over at once.
            let blocked = (fine..end).rev().find(|time| !self.fits(demand, *time));
            *looked += (end - fine) as u64 + 1;
            let Some(blocked) = blocked else {
                return Some(start as i32);
            };
            start = blocked + 1;
            fine = end.max(start);
        }
    }

    /// The last start from which everything is free for so long, with the end at most `until`;
    /// nothing if that would be before `from`.
    pub(crate) fn latest(
        &self,
        demand: &[u64],
        duration: i32,
        from: i32,
        until: i32,
        looked: &mut u64,
    ) -> Option<i32> {
        let mut end = until.min(self.len as i32);
        let mut fine = end;
        loop {
            let start = end - duration;
            if start < from {
                return None;
            }
            let blocked = (start..fine).find(|time| !self.fits(demand, *time as usize));
            *looked += (fine - start) as u64 + 1;
            let Some(blocked) = blocked else {
                return Some(start);
            };
            end = blocked;
            fine = start.min(end);
        }
    }

    pub(crate) fn take(&mut self, demand: &[u64], start: i32, duration: i32) {
        self.change(demand, start, duration, |free, demand| *free -= demand);
    }

    pub(crate) fn give(&mut self, demand: &[u64], start: i32, duration: i32) {
        self.change(demand, start, duration, |free, demand| *free += demand);
    }

    fn change(&mut self, demand: &[u64], start: i32, duration: i32, by: impl Fn(&mut u64, u64)) {
        for time in start as usize..(start + duration) as usize {
            let free = &mut self.free[time * self.words..][..self.words];
            for (free, demand) in free.iter_mut().zip(demand) {
                by(free, *demand);
            }
        }
    }
}
