//! Trenches of an earlier network, taken into the map of a job that has changed a little.

use crate::Network;
use crate::roadmap::Roadmap;
use crate::sites::Wanted;
use geo::Coord;
use std::collections::BTreeMap;

/// For each wanted line, the edges of the map along which it was laid in an earlier network; what may
/// not run there any more is left out.
pub fn recall(map: &mut Roadmap<'_>, lines: &[Wanted], last: &Network) -> Vec<Vec<u32>> {
    let mut parts: Vec<((u32, u32), &[usize])> = Vec::new();
    for stretch in &last.stretches {
        let nodes: Vec<u32> = stretch
            .path
            .iter()
            .map(|at| map.add_node(Coord::from(*at)))
            .collect();
        for pair in nodes.windows(2).filter(|pair| pair[0] != pair[1]) {
            parts.push((
                (pair[0].min(pair[1]), pair[0].max(pair[1])),
                &stretch.carries,
            ));
        }
    }
    map.add_edges(parts.iter().map(|(pair, _)| *pair).collect());
    let pair = |e: &crate::roadmap::RoadEdge| (e.a.min(e.b), e.a.max(e.b));
    let numbers: BTreeMap<(u32, u32), u32> =
        (0..).zip(&map.edges).map(|(i, e)| (pair(e), i)).collect();
    let number_of = |line: usize| {
        let kind = &last.lines.get(line)?.kind;
        lines.iter().position(|wanted| wanted.kind == *kind)
    };
    let mut trees = vec![Vec::new(); lines.len()];
    for (pair, carries) in parts {
        let Some(edge) = numbers.get(&pair) else {
            continue;
        };
        for line in carries.iter().filter_map(|line| number_of(*line)) {
            trees[line].push(*edge);
        }
    }
    for tree in &mut trees {
        tree.sort_unstable();
        tree.dedup();
    }
    trees
}
