//! Trees of all groups together: prices for one group given the others, and rerouting.

use crate::grow::grow;
use crate::improve::{Desk, GAIN, Task, improve, respan};
use crate::instance::{Dice, Instance, Work};

/// One tree per group, and how many groups use each edge.
#[derive(Clone, Debug)]
pub(crate) struct State {
    pub trees: Vec<Vec<u32>>,
    used: Vec<u16>,
    pub cost: f64,
}

impl State {
    pub fn new(inst: &Instance) -> State {
        State {
            trees: vec![Vec::new(); inst.groups()],
            used: vec![0; inst.edges()],
            cost: 0.0,
        }
    }

    pub fn of(inst: &Instance, trees: Vec<Vec<u32>>) -> State {
        let mut state = State::new(inst);
        for (group, tree) in trees.into_iter().enumerate() {
            state.put(group, tree);
        }
        state.cost = inst.cost(&state.trees);
        state
    }

    pub fn take(&mut self, group: usize) -> Vec<u32> {
        let tree = std::mem::take(&mut self.trees[group]);
        for edge in &tree {
            self.used[*edge as usize] -= 1;
        }
        tree
    }

    pub fn put(&mut self, group: usize, tree: Vec<u32>) {
        for edge in &tree {
            self.used[*edge as usize] += 1;
        }
        self.trees[group] = tree;
    }

    /// Price of every edge for a group whose tree `old` has been taken out. The edges of `old` keep
    /// their price even if they were banned since, because no better solution needs them.
    pub fn prices(&self, inst: &Instance, group: usize, old: &[u32]) -> Vec<f64> {
        let price = |edge: u32| {
            let paid = self.used[edge as usize] > 0;
            inst.own(group, edge)
                + if paid {
                    0.0
                } else {
                    inst.shared[edge as usize]
                }
        };
        let open = |edge| {
            if inst.open(group, edge) {
                price(edge)
            } else {
                f64::INFINITY
            }
        };
        let mut prices: Vec<f64> = (0..inst.edges() as u32).map(open).collect();
        for edge in old {
            prices[*edge as usize] = price(*edge);
        }
        prices
    }
}

/// Routes every group in the given order. `skew` gives the price at which an edge is looked at
/// while growing, from the group, the edge, the group's own cost, and the shared cost still to be paid; what
/// is grown is then spanned anew at the true prices.
pub(crate) fn route_all(
    inst: &Instance,
    order: &[usize],
    skew: impl Fn(usize, u32, f64, f64) -> f64,
    dice: &mut Dice,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<State> {
    route_on(inst, State::new(inst), order, skew, (dice, desk, work))
}

/// The same where some groups have their trees already.
pub(crate) fn route_on(
    inst: &Instance,
    mut state: State,
    order: &[usize],
    skew: impl Fn(usize, u32, f64, f64) -> f64,
    (dice, desk, work): (&mut Dice, &mut Desk, &mut Work),
) -> Option<State> {
    for group in order {
        let price = state.prices(inst, *group, &[]);
        let seen: Vec<f64> = (price.iter().enumerate())
            .map(|(edge, price)| {
                let own = inst.own(*group, edge as u32);
                if price.is_finite() {
                    skew(*group, edge as u32, own, price - own)
                } else {
                    *price
                }
            })
            .collect();
        let terminals = &inst.terminals[*group];
        let start = terminals[dice.below(terminals.len())];
        let tree = grow(inst, &seen, start, terminals, &mut desk.reach, work)?;
        let task = Task {
            inst,
            price: &price,
            terminals,
        };
        let tree = respan(&task, tree, desk, work);
        state.put(*group, tree);
    }
    state.cost = inst.cost(&state.trees);
    Some(state)
}

/// Improves group after group until none gains or the work is used up.
pub(crate) fn polish(
    inst: &Instance,
    state: &mut State,
    dice: &mut Dice,
    desk: &mut Desk,
    work: &mut Work,
) {
    let mut order: Vec<usize> = (0..inst.groups()).collect();
    let mut idle = 0;
    let mut again = false;
    while idle < inst.groups() && !work.out() {
        dice.shuffle(&mut order);
        for group in &order {
            let gained = reroute(inst, state, *group, again, dice, desk, work);
            idle = if gained { 0 } else { idle + 1 };
            if idle >= inst.groups() || work.out() {
                break;
            }
        }
        again = true;
    }
    state.cost = inst.cost(&state.trees);
}

/// Improves one group, and if asked also grows it anew; true if it got cheaper.
fn reroute(
    inst: &Instance,
    state: &mut State,
    group: usize,
    anew: bool,
    dice: &mut Dice,
    desk: &mut Desk,
    work: &mut Work,
) -> bool {
    let old = state.take(group);
    let price = state.prices(inst, group, &old);
    let terminals = &inst.terminals[group];
    let task = Task {
        inst,
        price: &price,
        terminals,
    };
    let before = task.cost(&old);
    let mut best = improve(&task, old, desk, work);
    if anew && inst.groups() > 1 {
        let start = terminals[dice.below(terminals.len())];
        let grown = grow(inst, &price, start, terminals, &mut desk.reach, work);
        if let Some(tree) = grown {
            let tree = respan(&task, tree, desk, work);
            let tree = improve(&task, tree, desk, work);
            if task.cost(&tree) < task.cost(&best) * (1.0 - GAIN) {
                best = tree;
            }
        }
    }
    let gained = task.cost(&best) < before * (1.0 - GAIN);
    state.put(group, best);
    gained
}
