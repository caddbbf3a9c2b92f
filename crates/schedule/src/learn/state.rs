//! Earliest and latest values, what changed them and why, and how to take that back.

use super::heap::Heap;

/// `x <= v` or its contrary, as a number: twice the place of the pair, and 1 for `x >= v + 1`.
pub(crate) type Lit = u32;

/// What always holds, and what never does.
pub(crate) const TRUE: Lit = u32::MAX - 1;
pub(crate) const FALSE: Lit = u32::MAX;

pub(crate) const NONE: u32 = u32::MAX;

/// Why a bound changed.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Reason {
    /// It was chosen.
    Choice,
    /// Every other literal of a clause is false.
    Clause(u32),
    /// The same side of another variable, so much away.
    Lag(u32, i32),
    /// The same as a lag, as long as a literal holds.
    Turn(u32, i32, Lit),
    /// A run of literals that all hold.
    Stored(u32, u32),
}

/// A change of a bound.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Entry {
    pub(crate) var: u32,
    /// Whether the lower bound rose; else the upper fell.
    pub(crate) lower: bool,
    pub(crate) old: i32,
    pub(crate) new: i32,
    /// The change before this of the same bound.
    pub(crate) before: u32,
    pub(crate) level: u32,
    pub(crate) reason: Reason,
}

pub(crate) struct State {
    pub(crate) lo: Vec<i32>,
    pub(crate) hi: Vec<i32>,
    root_lo: Vec<i32>,
    root_hi: Vec<i32>,
    base: Vec<u32>,
    var_of: Vec<u32>,
    last_lo: Vec<u32>,
    last_hi: Vec<u32>,
    pub(crate) trail: Vec<Entry>,
    pub(crate) levels: Vec<u32>,
    /// Literals of [`Reason::Stored`], and how many there were when each level began.
    pub(crate) store: Vec<Lit>,
    stored: Vec<u32>,
    pub(crate) heap: Heap,
    /// Variables whose bounds were taken back.
    pub(crate) undone: Vec<u32>,
}

impl State {
    pub(crate) fn new(lo: Vec<i32>, hi: Vec<i32>) -> State {
        let (mut base, mut var_of) = (Vec::new(), Vec::new());
        for (var, (lo, hi)) in lo.iter().zip(&hi).enumerate() {
            base.push(var_of.len() as u32);
            var_of.extend((*lo..*hi).map(|_| var as u32));
        }
        State {
            root_lo: lo.clone(),
            root_hi: hi.clone(),
            last_lo: vec![NONE; lo.len()],
            last_hi: vec![NONE; lo.len()],
            lo,
            hi,
            base,
            heap: Heap::new(var_of.len()),
            var_of,
            trail: Vec::new(),
            levels: Vec::new(),
            store: Vec::new(),
            stored: Vec::new(),
            undone: Vec::new(),
        }
    }

    /// Pairs of literals.
    pub(crate) fn atoms(&self) -> usize {
        self.var_of.len()
    }

    /// `x <= v`
    pub(crate) fn le(&self, var: u32, v: i32) -> Lit {
        let at = var as usize;
        if v >= self.root_hi[at] {
            TRUE
        } else if v < self.root_lo[at] {
            FALSE
        } else {
            2 * (self.base[at] + (v - self.root_lo[at]) as u32)
        }
    }

    /// `x >= v`
    pub(crate) fn ge(&self, var: u32, v: i32) -> Lit {
        not(self.le(var, v - 1))
    }

    /// Variable, and the value of `x <= v`.
    pub(crate) fn atom(&self, atom: u32) -> (u32, i32) {
        let var = self.var_of[atom as usize];
        let at = var as usize;
        (var, (atom - self.base[at]) as i32 + self.root_lo[at])
    }

    pub(crate) fn holds(&self, lit: Lit) -> bool {
        if lit >= TRUE {
            return lit == TRUE;
        }
        let (var, v) = self.atom(lit / 2);
        if lit & 1 == 0 {
            self.hi[var as usize] <= v
        } else {
            self.lo[var as usize] > v
        }
    }

    pub(crate) fn fails(&self, lit: Lit) -> bool {
        self.holds(not(lit))
    }

    pub(crate) fn level(&self) -> u32 {
        self.levels.len() as u32
    }

    /// The change that made a literal hold, which does; nothing if it held from the beginning.
    pub(crate) fn cause(&self, lit: Lit) -> Option<u32> {
        if lit >= TRUE {
            return None;
        }
        let (var, v) = self.atom(lit / 2);
        let lower = lit & 1 == 1;
        let mut at = if lower {
            self.last_lo[var as usize]
        } else {
            self.last_hi[var as usize]
        };
        while at != NONE {
            let entry = &self.trail[at as usize];
            let held = if lower { entry.old > v } else { entry.old <= v };
            if !held {
                return Some(at);
            }
            at = entry.before;
        }
        None
    }

    /// How late on the trail the bounds of a variable last changed.
    pub(crate) fn age(&self, var: u32) -> u32 {
        let age = |at: u32| if at == NONE { 0 } else { at + 1 };
        age(self.last_lo[var as usize]).max(age(self.last_hi[var as usize]))
    }

    pub(crate) fn begin_level(&mut self) {
        self.levels.push(self.trail.len() as u32);
        self.stored.push(self.store.len() as u32);
    }

    pub(crate) fn push_reason(&mut self, lits: &[Lit]) -> Reason {
        let from = self.store.len() as u32;
        self.store.extend_from_slice(lits);
        Reason::Stored(from, self.store.len() as u32)
    }

    /// Changes a bound that is not yet as tight; the caller has seen to it that it does not cross
    /// the other.
    pub(crate) fn set(&mut self, var: u32, lower: bool, new: i32, reason: Reason) {
        let at = var as usize;
        let (bound, last) = if lower {
            (&mut self.lo[at], &mut self.last_lo[at])
        } else {
            (&mut self.hi[at], &mut self.last_hi[at])
        };
        self.trail.push(Entry {
            var,
            lower,
            old: *bound,
            new,
            before: *last,
            level: self.levels.len() as u32,
            reason,
        });
        *bound = new;
        *last = self.trail.len() as u32 - 1;
    }

    /// Takes back every change above a level.
    pub(crate) fn back_to(&mut self, level: u32) {
        while self.levels.len() as u32 > level {
            let (Some(from), Some(stored)) = (self.levels.pop(), self.stored.pop()) else {
                return;
            };
            self.store.truncate(stored as usize);
            while self.trail.len() as u32 > from {
                let Some(entry) = self.trail.pop() else {
                    return;
                };
                let at = entry.var as usize;
                if entry.lower {
                    self.lo[at] = entry.old;
                    self.last_lo[at] = entry.before;
                } else {
                    self.hi[at] = entry.old;
                    self.last_hi[at] = entry.before;
                }
                self.undone.push(entry.var);
                let (least, most) = (entry.old.min(entry.new), entry.old.max(entry.new));
                for v in least..most {
                    let atom = self.base[at] + (v - self.root_lo[at]) as u32;
                    if self.heap.activity[atom as usize] > 0.0 {
                        self.heap.insert(atom);
                    }
                }
            }
        }
    }
}

pub(crate) fn not(lit: Lit) -> Lit {
    lit ^ 1
}
