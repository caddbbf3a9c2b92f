//! Schedules along an order of tasks, and the pushing of all tasks to the right and back.

use crate::board::Board;
use crate::data::Data;

/// A maker of schedules; keeps the board from one to the next.
pub(crate) struct Maker<'a> {
    pub(crate) data: &'a Data,
    board: Board,
    horizon: i32,
    /// Times looked at so far.
    pub(crate) work: u64,
    ranked: Vec<u32>,
    held: Vec<i32>,
}

impl<'a> Maker<'a> {
    pub(crate) fn new(data: &'a Data, horizon: i32) -> Maker<'a> {
        Maker {
            data,
            board: Board::new(data, horizon),
            horizon,
            work: 0,
            ranked: Vec::new(),
            held: Vec::new(),
        }
    }

    fn demand(&self, task: usize) -> &'a [u64] {
        let data = self.data;
        &data.packed[task * data.words..][..data.words]
    }

    fn from(&self, task: usize, starts: &[i32]) -> i32 {
        let behind = self.data.behind[task].iter();
        let from = behind.map(|(before, least)| starts[*before as usize] + least);
        from.fold(self.data.head[task], i32::max)
    }

    /// Starts every task, in an order that the lags allow, as early as the ones before it let it.
    /// False if one finds no place.
    pub(crate) fn serial(&mut self, order: &[u32], starts: &mut [i32]) -> bool {
        self.board.clear();
        for task in order {
            let task = *task as usize;
            let from = self.from(task, starts);
            let (demand, duration) = (self.demand(task), self.data.duration[task]);
            let found = self.board.earliest(demand, duration, from, &mut self.work);
            let Some(start) = found else {
                return false;
            };
            starts[task] = start;
            self.board.take(demand, start, duration);
        }
        true
    }

    /// Goes through time and starts, whenever something may start, what comes first in rank (low
    /// is first). False if something finds no place.
    pub(crate) fn parallel(&mut self, rank: &[i64], starts: &mut [i32]) -> bool {
        let data = self.data;
        self.board.clear();
        let mut open: Vec<usize> = data.behind.iter().map(Vec::len).collect();
        // Tasks of which all before have a start, with the earliest their own lags allow.
        let mut ready: Vec<(u32, i32)> = (0..data.tasks as u32)
            .filter(|task| open[*task as usize] == 0)
            .map(|task| (task, data.head[task as usize]))
            .collect();
        let mut time = 0;
        while !ready.is_empty() {
            ready.sort_unstable_by_key(|(task, _)| (rank[*task as usize], *task));
            let mut at = 0;
            let mut later = NO_TIME;
            while at < ready.len() {
                let (task, from) = ready[at];
                let task = task as usize;
                let duration = data.duration[task];
                let place = self.board.earliest(
                    self.demand(task),
                    duration,
                    from.max(time),
                    &mut self.work,
                );
                match place {
                    None => return false,
                    Some(start) if start > time => {
                        // Nothing that starts later opens a place before this one.
                        later = later.min(start);
                        at += 1;
                    }
                    Some(start) => {
                        ready.remove(at);
                        starts[task] = start;
                        self.board.take(self.demand(task), start, duration);
                        let before = ready.len();
                        for (after, _) in &data.ahead[task] {
                            let after = *after as usize;
                            open[after] -= 1;
                            if open[after] == 0 {
                                ready.push((after as u32, self.from(after, starts)));
                            }
                        }
                        if ready.len() > before {
                            ready.sort_unstable_by_key(|(task, _)| (rank[*task as usize], *task));
                            at = 0;
                        }
                    }
                }
            }
            time = later;
        }
        true
    }

    /// Pushes every task as late as the end allows, the latest first, then every task as early as
    /// it goes, the earliest first: never a longer schedule, often a shorter one (Valls, Ballestín
    /// and Quintanilla, "Justification and RCPSP: a technique that pays", EJOR 165, 2005).
    pub(crate) fn justify(&mut self, starts: &mut [i32]) -> bool {
        let data = self.data;
        let end = data.makespan(starts).min(self.horizon);
        self.ranked.clear();
        self.ranked.extend(0..data.tasks as u32);
        self.held.clear();
        self.held.extend_from_slice(starts);
        let held = &self.held;
        let places = self.places();
        self.ranked.sort_unstable_by_key(|task| {
            let at = *task as usize;
            // By ends, unless something may end before what it waits for.
            let end = if data.plain { data.duration[at] } else { 0 };
            (-(held[at] + end), -held[at], -places(at))
        });
        let order = std::mem::take(&mut self.ranked);
        let fine = self.backward(&order, starts, end);
        self.ranked = order;
        fine && self.settle(starts)
    }

    fn places(&self) -> impl Fn(usize) -> i64 + use<> {
        // Tasks without duration may share their times with those that they wait for.
        let mut place = vec![0i64; self.data.tasks];
        for (at, task) in self.data.order.iter().enumerate() {
            place[*task as usize] = at as i64;
        }
        move |task| place[task]
    }

    fn backward(&mut self, order: &[u32], starts: &mut [i32], end: i32) -> bool {
        let data = self.data;
        self.board.clear();
        for task in order {
            let task = *task as usize;
            let duration = data.duration[task];
            let ahead = data.ahead[task].iter();
            let until = ahead.map(|(after, least)| starts[*after as usize] - least + duration);
            let until = until.fold(end.min(data.last[task] + duration), i32::min);
            let demand = self.demand(task);
            let found = self
                .board
                .latest(demand, duration, data.head[task], until, &mut self.work);
            let Some(start) = found else {
                return false;
            };
            starts[task] = start;
            self.board.take(demand, start, duration);
        }
        true
    }

    /// Every task as early as it goes, in the order of the starts.
    pub(crate) fn settle(&mut self, starts: &mut [i32]) -> bool {
        let mut order = std::mem::take(&mut self.ranked);
        self.by_start(starts, &mut order);
        let fine = self.serial(&order, starts);
        self.ranked = order;
        fine
    }

    /// The tasks in the order of their starts.
    pub(crate) fn by_start(&self, starts: &[i32], order: &mut Vec<u32>) {
        order.clear();
        // Those that start together keep the order of the lags.
        order.extend_from_slice(&self.data.order);
        order.sort_by_key(|task| starts[*task as usize]);
    }

    /// Moves single tasks to where they cost least, the others staying, until none moves.
    pub(crate) fn shift(&mut self, starts: &mut [i32]) {
        let data = self.data;
        let end = data.makespan(starts);
        self.board.clear();
        for (task, start) in starts.iter().enumerate() {
            self.board
                .take(self.demand(task), *start, data.duration[task]);
        }
        for _ in 0..MOST_ROUNDS {
            let mut moved = false;
            for task in 0..data.tasks {
                let (weight, duration) = (data.weight[task], data.duration[task]);
                if weight == 0 {
                    continue;
                }
                let demand = self.demand(task);
                self.board.give(demand, starts[task], duration);
                let prev = data.prev[task].iter();
                let from = prev.map(|(before, least)| starts[*before as usize] + least);
                let from = from.fold(data.head[task], i32::max);
                let next = data.next[task].iter();
                let until = next.map(|(after, least)| starts[*after as usize] - least);
                let until = until.fold(data.last[task].min(end - duration), i32::min);
                let place = if weight > 0 {
                    self.board.earliest(demand, duration, from, &mut self.work)
                } else {
                    self.board
                        .latest(demand, duration, from, until + duration, &mut self.work)
                };
                let place = place.unwrap_or(starts[task]);
                moved |= place != starts[task];
                starts[task] = place;
                self.board.take(demand, place, duration);
            }
            if !moved {
                return;
            }
        }
    }
}

const NO_TIME: i32 = i32::MAX;

const MOST_ROUNDS: usize = 50;
