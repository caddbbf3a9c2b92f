//! Trees made from edges that are known to be good, whatever has changed around them.

use crate::bits::Bits;
use crate::improve::Desk;
use crate::instance::{Dice, Instance, Work};
use crate::state::{State, route_all};

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
    let mut marked = vec![Bits::new(inst.edges()); inst.groups()];
    for (marks, edges) in marked.iter_mut().zip(known) {
        let there = edges.iter().filter(|edge| (**edge as usize) < inst.edges());
        there.for_each(|edge| marks.set(*edge));
    }
    let order: Vec<usize> = (0..inst.groups()).collect();
    let skew = |group: usize, edge: u32, own: f64, shared: f64| {
        if marked[group].get(edge) {
            0.0
        } else {
            own + shared
        }
    };
    route_all(inst, &order, skew, dice, desk, work)
}
