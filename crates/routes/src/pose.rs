//! The question put to the solver: the map's trenches, with fixed ones paid for already.
//!
//! A fixed trench is dug whatever it costs, so that its digging is set aside, and others share it for
//! nothing. For each line that it has to carry the pipe or wire in it is set aside too: the line gets edges
//! of its own along the trench that cost nothing, and has to reach all of its places.

use crate::LineKind;
use crate::fixed::lines_in;
use crate::roadmap::Roadmap;
use crate::sites::Wanted;
use job::Job;
use std::collections::BTreeMap;
use steiner::{Edge, Group, Problem};

/// A problem, and how its edges stand to the map's.
pub struct Posed {
    pub problem: Problem,
    /// What the fixed trenches cost, digging and lines; no solution pays it again.
    pub sunk: f64,
    /// Edges of the map; further edges of the problem run beside one.
    edges: usize,
    /// For each further edge, the map's edge that it runs beside, and the line it is for.
    beside: Vec<(u32, usize)>,
}

impl Posed {
    /// The problem of connecting some lines at these rates.
    pub fn new(
        job: &Job,
        map: &Roadmap<'_>,
        lines: &[Wanted],
        rate: &dyn Fn(&LineKind) -> f64,
    ) -> Self {
        let mut edges: Vec<Edge> = map
            .edges
            .iter()
            .map(|e| Edge {
                a: e.a,
                b: e.b,
                shared: if e.fixed { 0.0 } else { e.dig.max(0.0) },
                length: e.length,
            })
            .collect();
        let mut groups: Vec<Group> = lines
            .iter()
            .map(|line| Group {
                terminals: line.sites.iter().map(|s| *s as u32).collect(),
                rate: rate(&line.kind).max(0.0),
            })
            .collect();
        let fixed = map.edges.iter().filter(|e| e.fixed);
        let mut sunk: f64 = fixed.map(|e| e.dig.max(0.0)).sum();
        let mut beside = Vec::new();
        for (trench, along) in job.decisions.fixed.iter().zip(&map.fixed_edges) {
            for line in lines_in(trench, lines) {
                for edge in along {
                    let e = &map.edges[*edge as usize];
                    let (a, b) = (e.a, e.b);
                    groups[line].terminals.extend([a, b]);
                    sunk += groups[line].rate * e.length;
                    beside.push((*edge, line));
                    let (shared, length) = (0.0, 0.0);
                    edges.push(Edge {
                        a,
                        b,
                        shared,
                        length,
                    });
                }
            }
        }
        let mut problem = Problem::new(map.nodes.len(), edges, groups)
            .expect("edges join nodes of the map, and prices were checked to be finite");
        for (at, (_, line)) in beside.iter().enumerate() {
            let others = (0..lines.len()).filter(|other| other != line);
            others.for_each(|other| problem.forbid(other, (map.edges.len() + at) as u32));
        }
        Self {
            problem,
            sunk,
            edges: map.edges.len(),
            beside,
        }
    }

    /// Trees of the map as trees of the problem.
    pub fn known(&self, trees: &[Vec<u32>]) -> Vec<Vec<u32>> {
        let mut trees = trees.to_vec();
        for (at, (edge, line)) in self.beside.iter().enumerate() {
            let tree = &mut trees[*line];
            tree.retain(|other| other != edge);
            tree.push((self.edges + at) as u32);
        }
        trees.iter_mut().for_each(|tree| tree.sort_unstable());
        trees
    }

    /// Trees of the problem as trees of the map; of a fixed trench only what leads on to something.
    pub fn found(
        &self,
        map: &Roadmap<'_>,
        lines: &[Wanted],
        trees: Vec<Vec<u32>>,
    ) -> Vec<Vec<u32>> {
        if self.beside.is_empty() {
            return trees;
        }
        let on_map = |edge: u32| match (edge as usize).checked_sub(self.edges) {
            Some(further) => self.beside[further].0,
            None => edge,
        };
        let of_line = |(line, tree): (&Wanted, Vec<u32>)| {
            let mut tree: Vec<u32> = tree.into_iter().map(on_map).collect();
            tree.sort_unstable();
            tree.dedup();
            without_bare_ends(map, tree, &line.sites)
        };
        lines.iter().zip(trees).map(of_line).collect()
    }
}

/// Cuts off ends at which no component stands, again and again.
fn without_bare_ends(map: &Roadmap<'_>, mut tree: Vec<u32>, sites: &[usize]) -> Vec<u32> {
    loop {
        let mut meet: BTreeMap<u32, usize> = BTreeMap::new();
        let ends = |edge: &u32| {
            let e = &map.edges[*edge as usize];
            [e.a, e.b]
        };
        for node in tree.iter().flat_map(ends) {
            *meet.entry(node).or_default() += 1;
        }
        let before = tree.len();
        tree.retain(|edge| {
            ends(edge)
                .iter()
                .all(|node| meet[node] > 1 || sites.contains(&(*node as usize)))
        });
        if tree.len() == before {
            return tree;
        }
    }
}
