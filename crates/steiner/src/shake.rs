//! Small disturbances: a few neighbouring paths of one tree are taken out and joined again at
//! disturbed prices, and the surroundings improved. A result is kept if it is no worse than the
//! one some steps ago (E. K. Burke and Y. Bykov, "The late acceptance hill-climbing heuristic",
//! European Journal of Operational Research 258, 2017).

use crate::improve::{Task, add_nodes, respan};
use crate::instance::Dice;
use crate::rip::{Near, Paths, paths, rejoin, rip_all};
use crate::search::Search;
use crate::state::State;
use crate::tidy::nodes_of;

/// How many steps ago.
const LATE: usize = 24;

/// Steps in a row from the given solution on; returns the best one met.
pub(crate) fn shake(search: &mut Search, from: State, steps: usize, until: u64) -> State {
    let mut best = from.clone();
    let mut state = from;
    let mut late = [state.cost; LATE];
    for step in 0..steps {
        if search.work.done >= until || search.work.out() || search.closed() {
            break;
        }
        let group = search.dice.below(search.inst.groups());
        let old = state.take(group);
        let price = state.prices(&search.inst, group, &old);
        search.work.done += price.len() as u64 / 8;
        let new = disturb(search, group, &price, &old);
        let worth = |tree: &[u32]| tree.iter().map(|edge| price[*edge as usize]).sum::<f64>();
        let cost = match &new {
            Some(tree) => state.cost - worth(&old) + worth(tree),
            None => f64::INFINITY,
        };
        let keep = cost <= late[step % LATE] || cost <= state.cost;
        state.put(group, new.filter(|_| keep).unwrap_or(old));
        if keep {
            state.cost = cost;
        }
        late[step % LATE] = state.cost;
        if state.cost < best.cost * (1.0 - 1e-12) {
            best.clone_from(&state);
        }
    }
    best.cost = search.inst.cost(&best.trees);
    best
}

fn disturb(search: &mut Search, group: usize, price: &[f64], old: &[u32]) -> Option<Vec<u32>> {
    let Search {
        inst,
        dice,
        desk,
        work,
        ..
    } = search;
    let task = Task {
        inst,
        price,
        terminals: &inst.terminals[group],
    };
    let tree_near = Near::new(inst, old, task.terminals, &mut desk.spot);
    let out = neighbours(&paths(&task, &tree_near, &desk.spot), dice);
    let amount = dice.part();
    let noisy: Vec<f64> = price
        .iter()
        .map(|price| price * (1.0 + amount * dice.part()))
        .collect();
    let loud = Task {
        price: &noisy,
        ..task
    };
    let tree = rejoin(&loud, old, &tree_near, &out, f64::INFINITY, desk, work);
    tree_near.release(&mut desk.spot);
    let tree = respan(&task, tree?, desk, work);
    let tree = respan(&task, tree, desk, work);
    let changed: Vec<u32> = (tree.iter().filter(|edge| old.binary_search(edge).is_err()))
        .chain(old.iter().filter(|edge| tree.binary_search(edge).is_err()))
        .copied()
        .collect();
    let near = nodes_of(inst, &changed, &[]);
    let tree = add_nodes(&task, tree, desk, work);
    let tree = rip_all(&task, tree, Some(&near), desk, work);
    Some(rip_all(&task, tree, Some(&near), desk, work))
}

/// The edges of some paths that hang together, sorted; none if there are no paths.
fn neighbours(all: &Paths, dice: &mut Dice) -> Vec<u32> {
    if all.paths.is_empty() {
        return Vec::new();
    }
    let first = dice.below(all.paths.len());
    let many = 2 + dice.below(8);
    let mut chosen = vec![first];
    let mut at = 0;
    while at < chosen.len() && chosen.len() < many {
        let ends = all.paths[chosen[at]].ends;
        let beside = (0..all.paths.len())
            .filter(|path| ends.iter().any(|end| all.paths[*path].ends.contains(end)));
        for path in beside {
            if !chosen.contains(&path) && chosen.len() < many {
                chosen.push(path);
            }
        }
        at += 1;
    }
    let mut out: Vec<u32> = chosen
        .iter()
        .flat_map(|path| all.paths[*path].edges.iter().copied())
        .collect();
    out.sort_unstable();
    out
}
