//! Trees made from edges that are known to be good, whatever has changed around them.

use crate::bits::Bits;
use crate::improve::Desk;
use crate::instance::{Dice, Instance, Work};
use crate::state::{State, route_on};
use crate::tidy::{Sets, nodes_of, prune};

/// For each group a tree that keeps to its known edges where they still lead somewhere and joins
/// what they leave out; edges that do not exist are passed over. `None` if a group cannot be
/// joined.
pub(crate) fn mend(
    inst: &Instance,
    known: &[Vec<u32>],
    dice: &mut Dice,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<State> {
    let order: Vec<usize> = (0..inst.groups()).collect();
    mend_in(inst, known, State::new(inst), &order, dice, desk, work)
}

/// The same, but trees that still join their group stay as they are.
pub(crate) fn mend_few(
    inst: &Instance,
    known: &[Vec<u32>],
    dice: &mut Dice,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<State> {
    let mut state = State::new(inst);
    let mut broken = Vec::new();
    for group in 0..inst.groups() {
        let tree = known.get(group).filter(|tree| joins(inst, group, tree));
        match tree {
            Some(tree) => {
                let terminals = &inst.terminals[group];
                state.put(group, prune(inst, tree.clone(), terminals, &mut desk.place));
            }
            None => broken.push(group),
        }
    }
    mend_in(inst, known, state, &broken, dice, desk, work)
}

/// Whether sorted edges are a tree that joins all terminals of a group.
fn joins(inst: &Instance, group: usize, edges: &[u32]) -> bool {
    let there = |edge: &u32| (*edge as usize) < inst.edges() && inst.open(group, *edge);
    if !edges.is_sorted_by(|a, b| a < b) || !edges.iter().all(there) {
        return false;
    }
    let terminals = &inst.terminals[group];
    let nodes = nodes_of(inst, edges, terminals);
    let place = |node: u32| nodes.partition_point(|other| *other < node) as u32;
    let mut sets = Sets::new(nodes.len());
    let no_ring = edges.iter().all(|edge| {
        let (a, b) = inst.ends(*edge);
        sets.join(place(a), place(b))
    });
    no_ring && edges.len() + 1 == nodes.len()
}

fn mend_in(
    inst: &Instance,
    known: &[Vec<u32>],
    state: State,
    order: &[usize],
    dice: &mut Dice,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<State> {
    let mut marked = vec![Bits::new(inst.edges()); inst.groups()];
    for (marks, edges) in marked.iter_mut().zip(known) {
        let there = edges.iter().filter(|edge| (**edge as usize) < inst.edges());
        there.for_each(|edge| marks.set(*edge));
    }
    let skew = |group: usize, edge: u32, own: f64, shared: f64| {
        if marked[group].get(edge) {
            0.0
        } else {
            own + shared
        }
    };
    route_on(inst, state, order, skew, (dice, desk, work))
}
