//! One resource: what is certainly held at each time, and what follows from it.
//!
//! The time-table rule with explanations for one moment at a time (A. Schutt, T. Feydt, P. Stuckey
//! and M. Wallace, "Explaining the cumulative propagator", Constraints 16, 2011).

use super::state::{Lit, NONE, State, TRUE};

pub(crate) struct User {
    pub(crate) var: u32,
    pub(crate) duration: i32,
    pub(crate) demand: i32,
    /// From when until when it certainly runs, as last entered in `used`.
    from: i32,
    until: i32,
}

pub(crate) struct Cumulative {
    pub(crate) users: Vec<User>,
    capacity: Vec<i32>,
    used: Vec<i32>,
    dirty: Vec<u32>,
    is_dirty: Vec<bool>,
    pub(crate) work: u64,
}

/// A change of a bound that follows, or, with the variable [`NONE`], a contradiction.
pub(crate) struct Finding {
    pub(crate) var: u32,
    pub(crate) lower: bool,
    pub(crate) value: i32,
}

impl Cumulative {
    pub(crate) fn new(users: Vec<(u32, i32, i32)>, capacity: Vec<i32>) -> Cumulative {
        Cumulative {
            dirty: (0..users.len() as u32).collect(),
            is_dirty: vec![true; users.len()],
            users: users
                .into_iter()
                .map(|(var, duration, demand)| User {
                    var,
                    duration,
                    demand,
                    from: 0,
                    until: 0,
                })
                .collect(),
            used: vec![0; capacity.len()],
            capacity,
            work: 0,
        }
    }

    pub(crate) fn touch(&mut self, user: u32) {
        if !self.is_dirty[user as usize] {
            self.is_dirty[user as usize] = true;
            self.dirty.push(user);
        }
    }

    pub(crate) fn is_clean(&self) -> bool {
        self.dirty.is_empty()
    }

    /// Enters what has been taken back.
    pub(crate) fn settle(&mut self, state: &State) {
        if !self.dirty.is_empty() {
            self.sync(state);
            for at in self.dirty.drain(..) {
                self.is_dirty[at as usize] = false;
            }
        }
    }

    /// Enters what certainly runs; gives where more is held than before.
    fn sync(&mut self, state: &State) -> (i32, i32) {
        let (mut first, mut last) = (i32::MAX, i32::MIN);
        for at in &self.dirty {
            let user = &mut self.users[*at as usize];
            let (lo, hi) = (state.lo[user.var as usize], state.hi[user.var as usize]);
            let (from, until) = if hi < lo + user.duration {
                (hi, lo + user.duration)
            } else {
                (0, 0)
            };
            if (from, until) != (user.from, user.until) {
                for time in user.from..user.until {
                    if time < from || time >= until {
                        self.used[time as usize] -= user.demand;
                    }
                }
                for time in from..until {
                    if time < user.from || time >= user.until {
                        self.used[time as usize] += user.demand;
                        first = first.min(time);
                        last = last.max(time);
                    }
                }
                self.work += (until - from) as u64;
                (user.from, user.until) = (from, until);
            }
        }
        (first, last)
    }

    /// Brings everything up to date. Calls `find` for every bound that follows, with its reason;
    /// it says whether to go on. False after a contradiction.
    pub(crate) fn propagate(
        &mut self,
        state: &mut State,
        find: &mut dyn FnMut(&mut State, Finding, &[Lit]) -> bool,
        lits: &mut Vec<Lit>,
    ) -> bool {
        let (first, last) = self.sync(state);
        if first <= last {
            for time in first..=last {
                if self.used[time as usize] > self.capacity[time as usize] {
                    lits.clear();
                    let beyond = self.used[time as usize] - self.capacity[time as usize];
                    self.explain(state, time, beyond, NO_USER, lits);
                    let nothing = Finding {
                        var: NONE,
                        lower: true,
                        value: 0,
                    };
                    return find(state, nothing, lits);
                }
            }
        }
        let dirty = std::mem::take(&mut self.dirty);
        let mut fine = true;
        for at in 0..self.users.len() {
            let touched = std::mem::replace(&mut self.is_dirty[at], false);
            if !fine {
                continue;
            }
            let user = &self.users[at];
            let (lo, hi) = (state.lo[user.var as usize], state.hi[user.var as usize]);
            if lo == hi || !touched && (hi + user.duration <= first || lo > last) {
                continue;
            }
            fine = self.raise(at, state, find, lits) && self.lower(at, state, find, lits);
        }
        // What was found changes bounds again; these users are touched by whoever keeps the trail.
        self.dirty = dirty;
        self.dirty.clear();
        fine
    }

    fn raise(
        &mut self,
        at: usize,
        state: &mut State,
        find: &mut dyn FnMut(&mut State, Finding, &[Lit]) -> bool,
        lits: &mut Vec<Lit>,
    ) -> bool {
        let User {
            var,
            duration,
            demand,
            ..
        } = self.users[at];
        loop {
            let (lo, hi) = (state.lo[var as usize], state.hi[var as usize]);
            let end = (lo + duration).min(hi);
            self.work += (end - lo).max(0) as u64;
            let blocked = (lo..end)
                .rev()
                .find(|t| self.used[*t as usize] + demand > self.capacity[*t as usize]);
            let Some(time) = blocked else {
                return true;
            };
            lits.clear();
            let beyond = self.used[time as usize] + demand - self.capacity[time as usize];
            self.explain(state, time, beyond, at, lits);
            push(lits, state.ge(var, time - duration + 1));
            let finding = Finding {
                var,
                lower: true,
                value: time + 1,
            };
            if !find(state, finding, lits) {
                return false;
            }
        }
    }

    fn lower(
        &mut self,
        at: usize,
        state: &mut State,
        find: &mut dyn FnMut(&mut State, Finding, &[Lit]) -> bool,
        lits: &mut Vec<Lit>,
    ) -> bool {
        let User {
            var,
            duration,
            demand,
            ..
        } = self.users[at];
        loop {
            let (lo, hi) = (state.lo[var as usize], state.hi[var as usize]);
            let start = hi.max(lo + duration);
            self.work += (hi + duration - start).max(0) as u64;
            let blocked = (start..hi + duration)
                .find(|t| self.used[*t as usize] + demand > self.capacity[*t as usize]);
            let Some(time) = blocked else {
                return true;
            };
            lits.clear();
            let beyond = self.used[time as usize] + demand - self.capacity[time as usize];
            self.explain(state, time, beyond, at, lits);
            push(lits, state.le(var, time));
            let finding = Finding {
                var,
                lower: false,
                value: time - duration,
            };
            if !find(state, finding, lits) {
                return false;
            }
        }
    }

    /// Why so much is held at a time, where `beyond` is by how much that is too much: what can be
    /// left out is, the latest on the trail first.
    fn explain(&self, state: &State, time: i32, beyond: i32, but: usize, lits: &mut Vec<Lit>) {
        let mut spare = beyond - 1;
        let mut those: Vec<(u32, usize)> = Vec::new();
        for (at, user) in self.users.iter().enumerate() {
            if at != but && user.from <= time && time < user.until {
                those.push((state.age(user.var), at));
            }
        }
        those.sort_unstable_by(|a, b| b.cmp(a));
        for (_, at) in those {
            let user = &self.users[at];
            if user.demand <= spare {
                spare -= user.demand;
                continue;
            }
            push(lits, state.ge(user.var, time - user.duration + 1));
            push(lits, state.le(user.var, time));
        }
    }
}

const NO_USER: usize = usize::MAX;

fn push(lits: &mut Vec<Lit>, lit: Lit) {
    if lit != TRUE {
        lits.push(lit);
    }
}
