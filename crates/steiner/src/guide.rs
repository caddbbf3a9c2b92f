//! Known trees as guides for an ascent.
//!
//! If trees are optimal and a bound meets their cost, then no lifted cut is entered twice by its
//! group's tree (complementary slackness). An ascent that puts off cuts which a good tree enters
//! twice gets a better bound than one that only goes by size; lowering such cuts afterwards is the
//! dual adjustment of M. Poggi de Aragao, E. Uchoa and R. F. Werneck, "Dual heuristics on the exact
//! solution of large Steiner problems", Electronic Notes in Discrete Mathematics 7, 2001 (from
//! memory).

use crate::grow::NONE;
use crate::instance::Instance;
use crate::tidy::prune;
use std::collections::VecDeque;

/// Per node of a tree, in order of node: the node before it on the way from the root.
pub(crate) type Guide = Vec<(u32, u32)>;

/// One guide per group and union.
pub(crate) fn guides(inst: &Instance, trees: &[Vec<u32>], place: &mut [u32]) -> Vec<Guide> {
    let mut guides = Vec::with_capacity(inst.parties());
    for party in 0..inst.parties() {
        let edges = match trees.get(party) {
            Some(tree) => tree.clone(),
            None => {
                let mut edges: Vec<u32> = (trees.iter().zip(&inst.union_of))
                    .filter(|(_, union)| **union == Some(party))
                    .flat_map(|(tree, _)| tree.iter().copied())
                    .collect();
                edges.sort_unstable();
                edges.dedup();
                let tree: Vec<u32> = (hang(inst, &edges, party).into_iter())
                    .filter_map(|(_, _, edge)| edge)
                    .collect();
                prune(inst, tree, &inst.terminals[party], place)
            }
        };
        let mut guide: Guide = (hang(inst, &edges, party).into_iter())
            .map(|(node, up, _)| (node, up))
            .collect();
        guide.sort_unstable();
        guides.push(guide);
    }
    guides
}

/// Nodes that the edges join to the party's root, breadth first, each with the node before it and
/// the edge between; the root with neither.
fn hang(inst: &Instance, edges: &[u32], party: usize) -> Vec<(u32, u32, Option<u32>)> {
    let mut ends: Vec<(u32, u32, u32)> = (edges.iter())
        .flat_map(|edge| {
            let (a, b) = inst.ends(*edge);
            [(a, b, *edge), (b, a, *edge)]
        })
        .collect();
    ends.sort_unstable();
    let mut seen = vec![false; ends.len()];
    let first = |node: u32| ends.partition_point(|end| end.0 < node);
    let root = inst.terminals[party][0];
    let mut order = vec![(root, NONE, None)];
    let mut open = VecDeque::from([root]);
    if let Some(mark) = seen.get_mut(first(root)) {
        *mark = true;
    }
    while let Some(node) = open.pop_front() {
        for (_, to, edge) in ends[first(node)..].iter().take_while(|end| end.0 == node) {
            let mark = &mut seen[first(*to)];
            if !std::mem::replace(mark, true) {
                order.push((*to, node, Some(*edge)));
                open.push_back(*to);
            }
        }
    }
    order
}
