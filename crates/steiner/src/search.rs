//! One run of the solver: the best trees and the best bound so far, and the steps that better
//! them.

use crate::ascent::{Dual, Plan, ascend};
use crate::bits::Bits;
use crate::branch::Branching;
use crate::check::check;
use crate::fix::fix;
use crate::grow::grow;
use crate::improve::{Desk, Task, respan};
use crate::instance::{Dice, Instance, Work};
use crate::many::{Division, Joint};
use crate::mend::{mend, mend_few};
use crate::shake::shake;
use crate::state::{State, polish, route_all};
use crate::unit::round_up;

/// Everything the steps share.
pub(crate) struct Search<'p> {
    pub inst: Instance<'p>,
    pub best: State,
    /// Good and different solutions, cheapest first.
    pub pool: Vec<State>,
    pub bound: f64,
    pub unit: f64,
    pub dice: Dice,
    pub desk: Desk,
    pub work: Work<'p>,
    /// How the shared costs are divided among the groups; only with several groups.
    pub division: Option<Division>,
    /// Cuts lifted by all groups side by side; only with several groups.
    pub joint: Option<Joint>,
}

/// How many good solutions are kept for recombination.
const POOL: usize = 8;

impl<'p> Search<'p> {
    /// The first solution; `None` if a group cannot be joined.
    pub fn start(
        inst: Instance<'p>,
        unit: f64,
        seed: u64,
        mut work: Work<'p>,
    ) -> Option<Search<'p>> {
        let mut dice = Dice::new(seed);
        let mut desk = Desk::new(inst.nodes());
        let order = far_first(&inst);
        let best = route_all(
            &inst,
            &order,
            |_, _, own, shared| own + shared,
            &mut dice,
            &mut desk,
            &mut work,
        )?;
        Some(Search::of(inst, unit, best, (dice, desk, work)))
    }

    /// Begins with trees that are known and nothing else: what still joins its group stays as it is.
    pub fn resume(
        inst: Instance<'p>,
        unit: f64,
        seed: u64,
        mut work: Work<'p>,
        known: &[Vec<u32>],
    ) -> Option<Search<'p>> {
        let mut dice = Dice::new(seed);
        let mut desk = Desk::new(inst.nodes());
        let best = mend_few(&inst, known, &mut dice, &mut desk, &mut work)?;
        Some(Search::of(inst, unit, best, (dice, desk, work)))
    }

    fn of(
        inst: Instance<'p>,
        unit: f64,
        best: State,
        (dice, desk, work): (Dice, Desk, Work<'p>),
    ) -> Search<'p> {
        Search {
            pool: vec![best.clone()],
            inst,
            best,
            bound: 0.0,
            unit,
            dice,
            desk,
            work,
            division: None,
            joint: None,
        }
    }

    pub fn closed(&self) -> bool {
        self.bound >= self.best.cost * (1.0 - 1e-9)
    }

    /// Costs above this are not better than the best known solution.
    pub fn most(&self) -> f64 {
        better(self.best.cost, self.unit)
    }

    pub fn lift(&mut self, bound: f64) {
        self.bound = self
            .bound
            .max(round_up(bound, self.unit))
            .min(self.best.cost);
    }

    pub fn offer(&mut self, state: State) {
        if state.cost < self.best.cost {
            self.best = state.clone();
        }
        let at = self.pool.partition_point(|other| other.cost < state.cost);
        let same = self.pool.iter().any(|other| other.trees == state.trees);
        if !same {
            self.pool.insert(at, state);
            self.pool.truncate(POOL);
        }
    }

    /// Offers trees that are known, mended where they are none any more.
    pub fn begin_with(&mut self, known: &[Vec<u32>]) {
        let state = if check(self.inst.problem, known).is_ok() {
            Some(State::of(&self.inst, known.to_vec()))
        } else {
            mend(
                &self.inst,
                known,
                &mut self.dice,
                &mut self.desk,
                &mut self.work,
            )
        };
        state.into_iter().for_each(|state| self.offer(state));
    }

    /// Improves a solution group by group, as far as `work` goes, and counts what it took.
    pub fn polish(&mut self, state: &mut State, mut work: Work) {
        polish(&self.inst, state, &mut self.dice, &mut self.desk, &mut work);
        self.work.done = work.done;
    }

    /// Improves the best solution group by group.
    pub fn polish_best(&mut self, until: u64) {
        let mut state = self.best.clone();
        self.polish(&mut state, self.work.until(until));
        self.offer(state);
    }

    /// One ascent, with what follows from it: a better bound, fewer edges, and trees along the
    /// arcs without slack.
    pub fn climb(&mut self, plan: &Plan) -> Dual {
        let dual = ascend(&self.inst, plan, &mut self.work);
        if !dual.bound.is_finite() {
            // Only better solutions were left in, so there is none.
            self.bound = self.best.cost;
            return dual;
        }
        self.lift(dual.bound);
        if let Some(mut state) = along(
            &self.inst,
            &dual,
            &mut self.dice,
            &mut self.desk,
            &mut self.work,
        ) {
            self.polish(&mut state, self.work);
            self.offer(state);
        }
        let most = self.most();
        fix(
            &mut self.inst,
            &dual,
            most,
            &mut self.desk.reach,
            &mut self.work,
        );
        dual
    }

    /// A plan with other roots and another order.
    pub fn other_plan(&mut self) -> Plan {
        let mut plan = Plan::new(&self.inst);
        for (root, terminals) in plan.roots.iter_mut().zip(&self.inst.terminals) {
            *root = terminals[self.dice.below(terminals.len())];
        }
        self.dice.shuffle(&mut plan.order);
        if let Some(division) = self.division.as_ref().filter(|_| is_small(&self.inst)) {
            plan.share = division.dense(&self.inst);
        }
        plan
    }

    /// A fresh solution grown at disturbed prices, then improved at the true ones.
    pub fn restart(&mut self, steps: usize, until: u64) {
        let mut order: Vec<usize> = (0..self.inst.groups()).collect();
        self.dice.shuffle(&mut order);
        let skew = self.skew();
        let mut work = self.work.until(until);
        let state = route_all(
            &self.inst,
            &order,
            skew,
            &mut self.dice,
            &mut self.desk,
            &mut work,
        );
        let Some(mut state) = state else {
            self.work.done = work.done;
            return;
        };
        polish(
            &self.inst,
            &mut state,
            &mut self.dice,
            &mut self.desk,
            &mut work,
        );
        self.work.done = work.done;
        let state = shake(self, state, steps, until);
        self.offer(state);
    }

    /// Shakes the best solution.
    pub fn shake_best(&mut self, steps: usize, until: u64) {
        let state = shake(self, self.best.clone(), steps, until);
        self.offer(state);
    }

    /// Solves the problem on the edges of a few good solutions only.
    pub fn recombine(&mut self, until: u64) {
        if self.pool.len() < 2 {
            return;
        }
        let mut chosen: Vec<usize> = (0..self.pool.len()).collect();
        self.dice.shuffle(&mut chosen);
        chosen.truncate(2 + self.dice.below(3));
        chosen.sort_unstable();
        let mut inst = self.inst.clone();
        let mut used = Bits::new(inst.edges());
        for tree in chosen.iter().flat_map(|at| &self.pool[*at].trees) {
            tree.iter().for_each(|edge| used.set(*edge));
        }
        for bans in &mut inst.banned {
            (0..self.inst.edges() as u32)
                .filter(|e| !used.get(*e))
                .for_each(|e| bans.set(e));
        }
        let best = self.pool[chosen[0]].clone();
        let mut sub = Search {
            pool: vec![best.clone()],
            best,
            bound: 0.0,
            unit: self.unit,
            dice: self.dice.clone(),
            desk: Desk::new(inst.nodes()),
            work: self.work.until(until),
            division: None,
            joint: None,
            inst,
        };
        sub.settle(until);
        self.dice = sub.dice;
        self.work.done = sub.work.done;
        self.offer(State::of(&self.inst, sub.best.trees));
    }

    /// Ascents, then branching, on a small problem.
    fn settle(&mut self, until: u64) {
        self.climb(&Plan::groups(&self.inst));
        let third = self.work.done + until.saturating_sub(self.work.done) / 3;
        self.lift_together(third, &mut |_| false);
        for _ in 0..4 {
            if self.closed() || self.work.done >= until {
                return;
            }
            let plan = self.other_plan();
            self.climb(&plan);
        }
        if self.inst.groups() == 1 || is_small(&self.inst) {
            Branching::new(self).run(self, until, |_| false);
        }
    }

    /// Prices disturbed in one of three ways: noise on every edge; shared costs counted in part,
    /// as if others will come along; or edges of good solutions preferred.
    fn skew(&mut self) -> impl Fn(usize, u32, f64, f64) -> f64 + use<> {
        let kind = self.dice.below(3);
        let noise = self.dice.part() * 0.5;
        let part = if kind == 1 { self.dice.part() } else { 1.0 };
        let mut extra = vec![1.0; self.inst.edges()];
        if kind == 2 {
            extra.fill(1.5 + 2.0 * noise);
            let count = self.pool.len();
            let chosen = [self.dice.below(count), self.dice.below(count), 0];
            for tree in chosen.iter().flat_map(|at| &self.pool[*at].trees) {
                for edge in tree {
                    extra[*edge as usize] = 1.0;
                }
            }
        }
        for factor in &mut extra {
            *factor *= 1.0 + noise * self.dice.part();
        }
        move |_, edge, own, shared| (own + part * shared) * extra[edge as usize]
    }
}

/// Whether a row per group and edge is little enough to branch on.
pub(crate) fn is_small(inst: &Instance) -> bool {
    inst.parties() * inst.edges() <= SMALL
}

/// Branching on larger problems never came to an end.
const SMALL: usize = 200_000;

/// Costs above this are not better than `cost`.
pub(crate) fn better(cost: f64, unit: f64) -> f64 {
    if unit > 0.0 {
        cost - unit * 0.999
    } else {
        cost * (1.0 - 1e-11)
    }
}

/// Groups with much to join first: they pay for edges that the others then find paid.
fn far_first(inst: &Instance) -> Vec<usize> {
    let mut order: Vec<usize> = (0..inst.groups()).collect();
    order.sort_by_key(|group| std::cmp::Reverse(inst.terminals[*group].len()));
    order
}

/// Trees that keep to arcs without slack, for each group given the ones before.
pub(crate) fn along(
    inst: &Instance,
    dual: &Dual,
    dice: &mut Dice,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<State> {
    if dual.slack.is_empty() {
        return None;
    }
    let mut order: Vec<usize> = (0..inst.groups()).collect();
    dice.shuffle(&mut order);
    let mut state = State::new(inst);
    for group in order {
        let price = state.prices(inst, group, &[]);
        let tight = |edge: u32| {
            let slack = |arc: u32| dual.slack[group][arc as usize];
            slack(2 * edge).min(slack(2 * edge + 1)) <= 1e-9 * dual.bound
        };
        let seen: Vec<f64> = (price.iter().enumerate())
            .map(|(edge, price)| {
                if tight(edge as u32) {
                    *price
                } else {
                    f64::INFINITY
                }
            })
            .collect();
        let terminals = &inst.terminals[group];
        let tree = grow(
            inst,
            &seen,
            dual.roots[group],
            terminals,
            &mut desk.reach,
            work,
        )?;
        let task = Task {
            inst,
            price: &price,
            terminals,
        };
        state.put(group, respan(&task, tree, desk, work));
    }
    state.cost = inst.cost(&state.trees);
    Some(state)
}
