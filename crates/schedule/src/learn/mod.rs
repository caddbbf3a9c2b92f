//! A search that learns from its dead ends: lazy clause generation (O. Ohrimenko, P. Stuckey and
//! M. Codish, "Propagation via lazy clause generation", Constraints 14, 2009; A. Schutt, T. Feydt
//! and P. Stuckey for this problem, 2011 and 2013).
//!
//! A variable is a start, its literals are `x <= v` and `x >= v`. Every change of a bound knows
//! why it came about; from the reasons of a contradiction comes a clause that keeps the search from
//! running into it again.

mod clauses;
mod cumulative;
mod heap;
mod state;

use crate::apart::apart;
use crate::data::Data;
use clauses::Clauses;
use cumulative::{Cumulative, Finding};
use state::{Entry, FALSE, Lit, NONE, Reason, State, TRUE, not};

/// How a part of the search ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum End {
    /// A schedule.
    Found(Vec<i32>),
    /// There is none under the assumption.
    None,
    /// Neither yet.
    Open,
}

/// A weighted sum of starts that must not be more than `most`.
struct Linear {
    terms: Vec<(u32, i64)>,
    most: i64,
}

/// Two tasks, and the variable that says which is first: 1 if it is `one`, 0 if `two`.
#[derive(Clone, Copy)]
struct Pair {
    one: u32,
    two: u32,
    order: u32,
}

pub(crate) struct Learner {
    state: State,
    clauses: Clauses,
    /// Variable of the makespan; the tasks come before it.
    end: u32,
    duration: Vec<i32>,
    next: Vec<Vec<(u32, i32)>>,
    prev: Vec<Vec<(u32, i32)>>,
    resources: Vec<Cumulative>,
    /// By variable: resource, user of it.
    uses: Vec<Vec<(u32, u32)>>,
    /// Tasks that can never run at the same time and may come in either order.
    pairs: Vec<Pair>,
    /// By variable: its pairs.
    pairs_of: Vec<Vec<u32>>,
    linear: Option<Linear>,
    /// The next change whose consequences are to be drawn.
    head: usize,
    conflict: Vec<Lit>,
    /// Where each start is tried first.
    wish: Vec<i32>,
    /// By change: the value that the conflict needs of it.
    need: Vec<i32>,
    limit: usize,
    dead: bool,
    pub(crate) work: u64,
    pub(crate) conflicts: u64,
}

const NO_NEED: i32 = i32::MIN;

/// Clauses kept at first; the number grows.
const FIRST_LIMIT: usize = 4000;

/// Whether so many tasks with so long a time fit into memory.
pub(crate) fn fits(data: &Data, horizon: i32) -> bool {
    let span = |at: usize| i64::from(horizon - data.tail[at] - data.head[at]).max(0);
    let atoms: i64 = (0..data.tasks).map(span).sum();
    let times = i64::from(horizon) * (data.users.len() as i64 + 1);
    atoms < 4_000_000 && times < 20_000_000
}

impl Learner {
    /// For schedules that end by `horizon`; nothing if even longest ways leave none.
    pub(crate) fn new(data: &Data, horizon: i32) -> Option<Learner> {
        let end = data.tasks as u32;
        let mut lo = data.head.clone();
        let mut hi: Vec<i32> = (0..data.tasks)
            .map(|at| (horizon - data.tail[at]).min(data.last[at]))
            .collect();
        let earliest = (0..data.tasks).map(|at| data.head[at] + data.tail[at]);
        lo.push(earliest.max().unwrap_or(0));
        hi.push(horizon);
        if lo.iter().zip(&hi).any(|(lo, hi)| lo > hi) {
            return None;
        }
        let mut next = data.next.clone();
        let mut prev = data.prev.clone();
        next.push(Vec::new());
        prev.push(Vec::new());
        for (at, duration) in data.duration.iter().enumerate() {
            // Behind a later task that covers it, the end needs no lag of its own.
            let covered = data.ahead[at]
                .iter()
                .any(|(after, least)| least + data.duration[*after as usize] >= *duration);
            if !covered || data.order.len() < data.tasks {
                next[at].push((end, *duration));
                prev[data.tasks].push((at as u32, *duration));
            }
        }
        let mut pairs = Vec::new();
        let mut pairs_of = vec![Vec::new(); data.tasks + 1];
        let (open, _) = apart(data);
        for (one, two) in open {
            let order = lo.len() as u32;
            for var in [one, two] {
                pairs_of[var as usize].push(pairs.len() as u32);
            }
            pairs_of.push(vec![pairs.len() as u32]);
            pairs.push(Pair { one, two, order });
            lo.push(0);
            hi.push(1);
            next.push(Vec::new());
            prev.push(Vec::new());
        }
        let mut uses = vec![Vec::new(); lo.len()];
        let state = State::new(lo, hi);
        let mut resources = Vec::new();
        for (resource, users) in data.users.iter().enumerate() {
            let capacity = capacities(&data.steps[resource], horizon);
            let users: Vec<(u32, i32, i32)> = users
                .iter()
                .map(|(task, demand)| (*task, data.duration[*task as usize], *demand))
                .collect();
            for (user, (task, _, _)) in users.iter().enumerate() {
                uses[*task as usize].push((resource as u32, user as u32));
            }
            resources.push(Cumulative::new(users, capacity));
        }
        let mut learner = Learner {
            clauses: Clauses::new(state.atoms()),
            pairs,
            pairs_of,
            end,
            duration: data.duration.iter().copied().chain([0]).collect(),
            next,
            prev,
            resources,
            uses,
            linear: None,
            head: 0,
            conflict: Vec::new(),
            wish: state.lo.clone(),
            need: Vec::new(),
            limit: FIRST_LIMIT,
            dead: false,
            work: 0,
            conflicts: 0,
            state,
        };
        learner.begin();
        Some(learner)
    }

    /// Draws the consequences of what holds from the beginning.
    fn begin(&mut self) {
        for var in 0..=self.end {
            self.dead |= !self.lags(var, true) || !self.lags(var, false);
        }
        self.dead |= !self.propagate();
    }

    /// Whether it is proven that there is no schedule.
    pub(crate) fn is_dead(&self) -> bool {
        self.dead
    }

    /// No schedule has a smaller makespan.
    pub(crate) fn bound(&self) -> i32 {
        self.state.lo[self.end as usize]
    }

    /// From now on only schedules that end by `until`.
    pub(crate) fn end_by(&mut self, until: i32) {
        self.state.back_to(0);
        self.after_undoing();
        let lit = self.state.le(self.end, until);
        self.dead |= !self.assert(lit, Reason::Choice) || !self.propagate();
    }

    /// From now on only schedules whose weighted sum of starts is at most so much.
    pub(crate) fn cost_at_most(&mut self, weight: &[i64], most: i64) {
        self.state.back_to(0);
        self.after_undoing();
        let terms = weight.iter().enumerate().filter(|(_, w)| **w != 0);
        self.linear = Some(Linear {
            terms: terms.map(|(at, weight)| (at as u32, *weight)).collect(),
            most,
        });
        self.dead |= !self.propagate();
    }

    /// Tries starts near these first.
    pub(crate) fn wish(&mut self, starts: &[i32], makespan: i32) {
        self.wish.clear();
        self.wish.extend_from_slice(starts);
        self.wish.push(makespan);
        for pair in &self.pairs {
            let first = starts[pair.one as usize] < starts[pair.two as usize];
            self.wish.push(i32::from(first));
        }
    }

    /// Searches for a schedule, which ends by `until` if that is given.
    pub(crate) fn search(&mut self, until: Option<i32>, conflicts: u64, active: bool) -> End {
        let end = if self.dead {
            End::None
        } else {
            self.descend(until, conflicts, active)
        };
        // What holds without a choice is all that others see.
        self.state.back_to(0);
        self.after_undoing();
        end
    }

    fn descend(&mut self, until: Option<i32>, conflicts: u64, active: bool) -> End {
        if self.clauses.list.len() > self.limit {
            self.limit += self.limit / 20;
            let state = &self.state;
            self.clauses
                .reduce(|lits| lits.iter().any(|lit| state.holds(*lit)));
        }
        let assumed = until.map_or(TRUE, |until| self.state.le(self.end, until));
        if assumed == FALSE || self.state.fails(assumed) {
            return End::None;
        }
        let last = self.conflicts + conflicts;
        loop {
            if !self.propagate() {
                self.conflicts += 1;
                if !self.learn() {
                    self.dead = true;
                    return End::None;
                }
                self.state.heap.decay();
                self.clauses.decay();
                continue;
            }
            if self.conflicts >= last {
                return End::Open;
            }
            if self.state.level() == 0 && assumed != TRUE {
                if self.state.fails(assumed) {
                    return End::None;
                }
                self.state.begin_level();
                self.assert(assumed, Reason::Choice);
                continue;
            }
            let Some(lit) = self.choice(active) else {
                let tasks = self.end as usize;
                return End::Found(self.state.lo[..tasks].to_vec());
            };
            self.state.begin_level();
            self.assert(lit, Reason::Choice);
        }
    }

    /// The next thing to try: of the literals that conflicts were about, the most active one that
    /// is open, else the earliest start that is.
    fn choice(&mut self, active: bool) -> Option<Lit> {
        while active && let Some(atom) = self.state.heap.pop() {
            let (var, v) = self.state.atom(atom);
            let at = var as usize;
            if self.state.lo[at] <= v && v < self.state.hi[at] {
                // It is needed again once this choice is taken back, which puts it in.
                let low = self.wish[at] <= v;
                return Some(if low { 2 * atom } else { 2 * atom + 1 });
            }
        }
        let open = (0..=self.end).filter(|var| {
            let at = *var as usize;
            self.state.lo[at] < self.state.hi[at]
        });
        let state = &self.state;
        let var = open.min_by_key(|var| {
            let at = *var as usize;
            // The makespan last: it follows from the rest.
            (*var == self.end, state.lo[at], state.hi[at])
        })?;
        Some(self.state.le(var, self.state.lo[var as usize]))
    }

    /// Makes a literal hold. False if it cannot, with the conflict noted.
    fn assert(&mut self, lit: Lit, reason: Reason) -> bool {
        if lit == TRUE || self.state.holds(lit) {
            return true;
        }
        if lit == FALSE {
            self.conflict.clear();
            return false;
        }
        let (var, v) = self.state.atom(lit / 2);
        let at = var as usize;
        let (lower, value) = if lit & 1 == 1 {
            (true, v + 1)
        } else {
            (false, v)
        };
        if lower && value > self.state.hi[at] || !lower && value < self.state.lo[at] {
            self.conflict.clear();
            return false;
        }
        self.state.set(var, lower, value, reason);
        true
    }

    /// Tells the resources what has been taken back, before anything new comes: otherwise what is
    /// held anew would look as if it had been held all along.
    fn after_undoing(&mut self) {
        self.head = self.head.min(self.state.trail.len());
        while let Some(var) = self.state.undone.pop() {
            for (resource, user) in &self.uses[var as usize] {
                self.resources[*resource as usize].touch(*user);
            }
        }
        for resource in &mut self.resources {
            let before = resource.work;
            resource.settle(&self.state);
            self.work += (resource.work - before) / 8;
        }
    }

    /// Draws all consequences. False after a contradiction, which is then in `conflict`.
    fn propagate(&mut self) -> bool {
        loop {
            while self.head < self.state.trail.len() {
                let entry = self.state.trail[self.head];
                self.head += 1;
                self.work += 1;
                for (resource, user) in &self.uses[entry.var as usize] {
                    self.resources[*resource as usize].touch(*user);
                }
                if !self.lags(entry.var, entry.lower)
                    || !self.watched(entry)
                    || !self.pairs(entry.var)
                {
                    return false;
                }
            }
            if !self.cumulatives() || !self.linear() {
                return false;
            }
            if self.head == self.state.trail.len() {
                return true;
            }
        }
    }

    fn lags(&mut self, var: u32, lower: bool) -> bool {
        let list = if lower {
            &self.next[var as usize]
        } else {
            &self.prev[var as usize]
        };
        self.work += list.len() as u64 / 2;
        let state = &mut self.state;
        for (other, least) in list {
            let at = *other as usize;
            if lower {
                let value = state.lo[var as usize] + least;
                if value > state.hi[at] {
                    self.conflict.clear();
                    push(&mut self.conflict, state.ge(var, value - least));
                    push(&mut self.conflict, state.le(*other, value - 1));
                    return false;
                }
                if value > state.lo[at] {
                    state.set(*other, true, value, Reason::Lag(var, *least));
                }
            } else {
                let value = state.hi[var as usize] - least;
                if value < state.lo[at] {
                    self.conflict.clear();
                    push(&mut self.conflict, state.le(var, value + least));
                    push(&mut self.conflict, state.ge(*other, value + 1));
                    return false;
                }
                if value < state.hi[at] {
                    state.set(*other, false, value, Reason::Lag(var, *least));
                }
            }
        }
        true
    }

    /// Clauses of which a watched literal has become false.
    fn watched(&mut self, entry: Entry) -> bool {
        let (least, most) = (entry.old.min(entry.new), entry.old.max(entry.new));
        for v in least..most {
            let le = self.state.le(entry.var, v);
            let fallen = if entry.lower { le } else { not(le) };
            if !self.clauses.watches[fallen as usize].is_empty() && !self.visit(fallen) {
                return false;
            }
        }
        true
    }

    fn visit(&mut self, fallen: Lit) -> bool {
        let mut list = std::mem::take(&mut self.clauses.watches[fallen as usize]);
        self.work += list.len() as u64;
        let (mut from, mut to) = (0, 0);
        let mut fine = true;
        while from < list.len() {
            let (clause, other) = list[from];
            from += 1;
            if self.state.holds(other) {
                list[to] = (clause, other);
                to += 1;
                continue;
            }
            let state = &self.state;
            let lits = self.clauses.get_mut(clause);
            if lits[0] == fallen {
                lits.swap(0, 1);
            }
            let first = lits[0];
            if first != other && state.holds(first) {
                list[to] = (clause, first);
                to += 1;
                continue;
            }
            let free = (2..lits.len()).find(|at| !state.fails(lits[*at]));
            if let Some(at) = free {
                lits.swap(1, at);
                let watch = lits[1];
                self.clauses.watches[watch as usize].push((clause, first));
                continue;
            }
            list[to] = (clause, first);
            to += 1;
            if self.state.fails(first) {
                self.conflict.clear();
                let lits = self.clauses.get(clause);
                self.conflict.extend(lits.iter().map(|lit| not(*lit)));
                self.clauses.bump(clause);
                fine = false;
                break;
            }
            self.assert(first, Reason::Clause(clause));
        }
        while from < list.len() {
            list[to] = list[from];
            from += 1;
            to += 1;
        }
        list.truncate(to);
        self.clauses.watches[fallen as usize] = list;
        fine
    }

    /// Pairs that only go in one order, and what follows from an order.
    fn pairs(&mut self, var: u32) -> bool {
        self.work += self.pairs_of[var as usize].len() as u64 / 2;
        for at in 0..self.pairs_of[var as usize].len() {
            let pair = self.pairs[self.pairs_of[var as usize][at] as usize];
            let order = pair.order as usize;
            if self.state.lo[order] < self.state.hi[order]
                && (!self.decide(pair.one, pair.two, pair.order, false)
                    || !self.decide(pair.two, pair.one, pair.order, true))
            {
                return false;
            }
            let fine = if self.state.lo[order] == 1 {
                let lit = self.state.ge(pair.order, 1);
                self.in_turn(pair.one, pair.two, lit)
            } else if self.state.hi[order] == 0 {
                let lit = self.state.le(pair.order, 0);
                self.in_turn(pair.two, pair.one, lit)
            } else {
                true
            };
            if !fine {
                return false;
            }
        }
        true
    }

    /// If `first` can no longer end before `second` starts, the order is the other.
    fn decide(&mut self, first: u32, second: u32, order: u32, one: bool) -> bool {
        let (a, b) = (first as usize, second as usize);
        let state = &mut self.state;
        let (latest, duration) = (state.hi[b], self.duration[a]);
        if state.lo[a] + duration <= latest {
            return true;
        }
        let lits = [
            state.ge(first, latest - duration + 1),
            state.le(second, latest),
        ];
        let finding = Finding {
            var: order,
            lower: one,
            value: i32::from(one),
        };
        find(state, &mut self.conflict, finding, &lits)
    }

    /// `first` ends before `second` starts, because `lit` holds.
    fn in_turn(&mut self, first: u32, second: u32, lit: Lit) -> bool {
        let (a, b) = (first as usize, second as usize);
        let duration = self.duration[a];
        let state = &mut self.state;
        let value = state.lo[a] + duration;
        if value > state.hi[b] {
            self.conflict.clear();
            push(&mut self.conflict, lit);
            push(&mut self.conflict, state.ge(first, state.lo[a]));
            push(&mut self.conflict, state.le(second, value - 1));
            return false;
        }
        if value > state.lo[b] {
            state.set(second, true, value, Reason::Turn(first, duration, lit));
        }
        let value = state.hi[b] - duration;
        // It is not below the earliest start: the ends were compared above.
        if value < state.hi[a] {
            state.set(first, false, value, Reason::Turn(second, duration, lit));
        }
        true
    }

    fn cumulatives(&mut self) -> bool {
        let mut lits = Vec::new();
        let conflict = &mut self.conflict;
        for resource in &mut self.resources {
            if resource.is_clean() {
                continue;
            }
            let before = resource.work;
            let fine = resource.propagate(
                &mut self.state,
                &mut |state, finding, lits| find(state, conflict, finding, lits),
                &mut lits,
            );
            self.work += (resource.work - before) / 8 + resource.users.len() as u64 / 8;
            if !fine {
                return false;
            }
        }
        true
    }

    fn linear(&mut self) -> bool {
        let Some(linear) = &self.linear else {
            return true;
        };
        let state = &mut self.state;
        self.work += linear.terms.len() as u64 / 2;
        let least = |state: &State, (var, weight): &(u32, i64)| {
            let at = *var as usize;
            let bound = if *weight > 0 {
                state.lo[at]
            } else {
                state.hi[at]
            };
            weight * i64::from(bound)
        };
        let sum: i64 = linear.terms.iter().map(|term| least(state, term)).sum();
        let spare = linear.most - sum;
        let lit = |state: &State, (var, weight): &(u32, i64)| {
            let at = *var as usize;
            if *weight > 0 {
                state.ge(*var, state.lo[at])
            } else {
                state.le(*var, state.hi[at])
            }
        };
        if spare < 0 {
            let lits = linear.terms.iter().map(|term| lit(state, term));
            self.conflict.clear();
            self.conflict.extend(lits.filter(|lit| *lit != TRUE));
            return false;
        }
        for term in &linear.terms {
            let (var, weight) = *term;
            let at = var as usize;
            let room = spare / weight.abs();
            if room >= i64::from(state.hi[at] - state.lo[at]) {
                continue;
            }
            let others = linear.terms.iter().filter(|other| other.0 != var);
            let lits: Vec<Lit> = others.map(|other| lit(state, other)).collect();
            let finding = Finding {
                var,
                lower: weight < 0,
                value: if weight > 0 {
                    state.lo[at] + room as i32
                } else {
                    state.hi[at] - room as i32
                },
            };
            if !find(state, &mut self.conflict, finding, &lits) {
                return false;
            }
        }
        true
    }

    /// The literals from which a change follows, as far as `value` is needed of it.
    fn explain(&mut self, at: u32, value: i32, out: &mut Vec<Lit>) {
        out.clear();
        let entry = self.state.trail[at as usize];
        match entry.reason {
            Reason::Choice => {}
            Reason::Lag(var, least) => {
                push(
                    out,
                    if entry.lower {
                        self.state.ge(var, value - least)
                    } else {
                        self.state.le(var, value + least)
                    },
                );
            }
            Reason::Turn(var, least, lit) => {
                push(out, lit);
                push(
                    out,
                    if entry.lower {
                        self.state.ge(var, value - least)
                    } else {
                        self.state.le(var, value + least)
                    },
                );
            }
            Reason::Stored(from, until) => {
                out.extend_from_slice(&self.state.store[from as usize..until as usize]);
            }
            Reason::Clause(clause) => {
                self.clauses.bump(clause);
                let lits = &self.clauses.get(clause)[1..];
                out.extend(lits.iter().map(|lit| not(*lit)));
            }
        }
    }

    /// Notes that a literal is needed. True if it holds because of a change on `level`.
    fn mark(&mut self, lit: Lit, level: u32, low: &mut Vec<u32>) -> bool {
        let Some(at) = self.state.cause(lit) else {
            return false;
        };
        let entry = self.state.trail[at as usize];
        if entry.level == 0 {
            return false;
        }
        self.state.heap.bump(lit / 2);
        let (_, v) = self.state.atom(lit / 2);
        let value = if entry.lower { v + 1 } else { v };
        let need = &mut self.need[at as usize];
        if *need == NO_NEED {
            *need = value;
            if entry.level == level {
                return true;
            }
            low.push(at);
        } else if entry.lower {
            *need = value.max(*need);
        } else {
            *need = value.min(*need);
        }
        false
    }

    fn lit_of(&self, at: u32, value: i32) -> Lit {
        let entry = &self.state.trail[at as usize];
        if entry.lower {
            self.state.ge(entry.var, value)
        } else {
            self.state.le(entry.var, value)
        }
    }

    /// Learns a clause from the conflict, goes back and draws its consequence. False if the
    /// conflict holds without any choice.
    fn learn(&mut self) -> bool {
        let conflict = std::mem::take(&mut self.conflict);
        let levels = conflict.iter().filter_map(|lit| {
            let at = self.state.cause(*lit)?;
            Some(self.state.trail[at as usize].level)
        });
        let level = levels.max().unwrap_or(0);
        if level == 0 {
            return false;
        }
        self.need.clear();
        self.need.resize(self.state.trail.len(), NO_NEED);
        let (mut low, mut reasons) = (Vec::new(), Vec::new());
        let mut open = 0;
        for lit in &conflict {
            open += usize::from(self.mark(*lit, level, &mut low));
        }
        self.conflict = conflict;
        let mut at = self.state.trail.len();
        let top = loop {
            at -= 1;
            let value = self.need[at];
            if value == NO_NEED || self.state.trail[at].level != level {
                continue;
            }
            open -= 1;
            if open == 0 {
                break self.lit_of(at as u32, value);
            }
            self.explain(at as u32, value, &mut reasons);
            for lit in &reasons {
                open += usize::from(self.mark(*lit, level, &mut low));
            }
            self.work += 1 + reasons.len() as u64;
        };
        let mut clause = vec![not(top)];
        let kept = self.shorten(&low, level, &mut reasons);
        let mut levels: Vec<u32> = Vec::new();
        let mut back = 0;
        for at in kept {
            let level = self.state.trail[at as usize].level;
            clause.push(not(self.lit_of(at, self.need[at as usize])));
            levels.push(level);
            if level >= back {
                back = level;
                let last = clause.len() - 1;
                clause.swap(1, last);
                levels.swap(0, last - 1);
            }
        }
        levels.sort_unstable();
        levels.dedup();
        self.state.back_to(back);
        self.after_undoing();
        let reason = if clause.len() > 1 {
            Reason::Clause(self.clauses.add(&clause, levels.len() as u32 + 1))
        } else {
            Reason::Choice
        };
        self.assert(clause[0], reason)
    }

    /// Leaves out what is implied by the rest.
    fn shorten(&mut self, low: &[u32], level: u32, reasons: &mut Vec<Lit>) -> Vec<u32> {
        let mut kept = Vec::with_capacity(low.len());
        let mut left_out = Vec::new();
        for at in low {
            let entry = self.state.trail[*at as usize];
            let mut implied = false;
            if !matches!(entry.reason, Reason::Choice) {
                self.explain(*at, self.need[*at as usize], reasons);
                self.work += reasons.len() as u64;
                // Reasons are earlier, so that nothing is left out in a circle.
                implied = reasons.iter().all(|lit| self.is_implied(*lit, level));
            }
            if implied {
                left_out.push(*at);
            } else {
                kept.push(*at);
            }
        }
        for at in left_out {
            self.need[at as usize] = NO_NEED;
        }
        // A later change of the same bound that is kept says more.
        kept.retain(|at| !self.is_covered(*at, self.state.trail[*at as usize], level));
        kept
    }

    fn is_covered(&self, at: u32, entry: Entry, level: u32) -> bool {
        // Chains are short; the latest comes first.
        let bound = if entry.lower {
            self.state.ge(entry.var, self.state.lo[entry.var as usize])
        } else {
            self.state.le(entry.var, self.state.hi[entry.var as usize])
        };
        let mut later = self.state.cause(bound);
        while let Some(place) = later {
            if place <= at {
                return false;
            }
            let it = &self.state.trail[place as usize];
            if self.need[place as usize] != NO_NEED && it.level < level {
                return true;
            }
            later = (it.before != NONE).then_some(it.before);
        }
        false
    }

    fn is_implied(&self, lit: Lit, level: u32) -> bool {
        let Some(at) = self.state.cause(lit) else {
            return true;
        };
        let entry = &self.state.trail[at as usize];
        if entry.level == 0 {
            return true;
        }
        let need = self.need[at as usize];
        let (_, v) = self.state.atom(lit / 2);
        need != NO_NEED && entry.level < level && if entry.lower { need > v } else { need <= v }
    }
}

/// Sets a bound that follows from literals. False if it contradicts the other bound, with the
/// conflict noted.
fn find(state: &mut State, conflict: &mut Vec<Lit>, finding: Finding, lits: &[Lit]) -> bool {
    let Finding { var, lower, value } = finding;
    let at = var as usize;
    if var == NONE {
        conflict.clear();
        conflict.extend_from_slice(lits);
        return false;
    }
    let against = if lower && value > state.hi[at] {
        state.le(var, value - 1)
    } else if !lower && value < state.lo[at] {
        state.ge(var, value + 1)
    } else {
        let news = if lower {
            value > state.lo[at]
        } else {
            value < state.hi[at]
        };
        if news {
            let from = state.store.len();
            let reason = state.push_reason(lits);
            let mut to = from;
            for at in from..state.store.len() {
                if state.store[at] != TRUE {
                    state.store[to] = state.store[at];
                    to += 1;
                }
            }
            state.store.truncate(to);
            let reason = match reason {
                Reason::Stored(from, _) => Reason::Stored(from, to as u32),
                other => other,
            };
            state.set(var, lower, value, reason);
        }
        return true;
    };
    conflict.clear();
    conflict.extend(lits.iter().copied().filter(|lit| *lit != TRUE));
    push(conflict, against);
    false
}

fn push(lits: &mut Vec<Lit>, lit: Lit) {
    if lit != TRUE {
        lits.push(lit);
    }
}

fn capacities(steps: &[(i32, i32)], horizon: i32) -> Vec<i32> {
    let mut capacity = vec![0; horizon.max(0) as usize];
    for (at, (from, amount)) in steps.iter().enumerate() {
        let until = steps.get(at + 1).map_or(horizon, |next| next.0);
        for time in *from..until.min(horizon) {
            capacity[time as usize] = *amount;
        }
    }
    capacity
}
