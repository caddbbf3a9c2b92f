//! Which places of a map are joined by straight trenches.

use super::Roadmap;
use super::measure::{SLANT, exit};
use crate::mesh;
use geo::Coord;
use rstar::{RTree, primitives::GeomWithData};
use std::ops::ControlFlow;

/// How many places of open ground a component within a clearance is joined to.
const SPURS: usize = 10;
/// How many other components within clearances it is joined to.
const BESIDE: usize = 3;
/// How many of the nearest places are tried for that.
const LOOKED_AT: usize = 200;
/// Rings of the triangulation among all places, and among components and corners only.
const RINGS: usize = 2;

type NodeIndex = RTree<GeomWithData<[f64; 2], u32>>;

impl Roadmap<'_> {
    /// Joins nodes that lie within a clearance, such as a controller on a wall, to the open ground.
    pub(super) fn join_tucked(&mut self) {
        let tucked: Vec<u32> = (0..self.nodes.len() as u32)
            .filter(|i| !self.is_held(*i))
            .collect();
        for i in &tucked {
            if let Some(exit) = exit(self.ground, self.nodes[*i as usize]) {
                self.add_exit(exit);
            }
        }
        let open = self.index(|i| self.is_held(i as u32));
        let beside = self.index(|i| !self.is_held(i as u32));
        let mut out: Vec<Vec<u32>> = Vec::new();
        for i in &tucked {
            let mut ways = self.nearest_ways(*i, &open, SLANT);
            if ways.is_empty() {
                // The shortest way out goes through another clearance: a longer one has to do.
                ways = self.nearest_ways(*i, &open, f64::INFINITY);
            }
            ways.extend(
                self.nearest_ways(*i, &beside, SLANT)
                    .into_iter()
                    .take(BESIDE),
            );
            out.push(ways);
        }
        let ways = tucked.iter().zip(out);
        let pairs = ways.flat_map(|(i, ways)| ways.into_iter().map(|way| (*i, way)));
        let _ = self.add_slanting(
            pairs.collect(),
            f64::INFINITY,
            &|| ControlFlow::Continue(()),
        );
    }

    /// The nearest of some nodes to which a trench may run straight.
    fn nearest_ways(&self, from: u32, among: &NodeIndex, slant: f64) -> Vec<u32> {
        let at = self.nodes[from as usize];
        among
            .nearest_neighbor_iter(&[at.x, at.y])
            .take(LOOKED_AT)
            .map(|near| near.data)
            .filter(|near| {
                *near != from && { self.may_run(&self.end(from), &self.end(*near), slant) }
            })
            .take(SPURS)
            .collect()
    }

    pub(super) fn join_neighbours(&mut self, ask: &dyn Fn() -> ControlFlow<()>) -> ControlFlow<()> {
        let open: Vec<u32> = (0..self.nodes.len() as u32)
            .filter(|i| self.is_held(*i))
            .collect();
        let places: Vec<Coord> = open.iter().map(|i| self.nodes[*i as usize]).collect();
        let to_nodes = |pairs: Vec<(usize, usize)>, list: &[u32]| -> Vec<(u32, u32)> {
            pairs.into_iter().map(|(a, b)| (list[a], list[b])).collect()
        };
        let corners = self.ground.open().turning_corners().len();
        let key: Vec<u32> = open
            .iter()
            .copied()
            .filter(|i| (*i as usize) < self.sites + corners)
            .collect();
        let key_places: Vec<Coord> = key.iter().map(|i| self.nodes[*i as usize]).collect();
        let (near, far) = rayon::join(
            || mesh::neighbours(&places, RINGS),
            || mesh::neighbours(&key_places, RINGS + 1),
        );
        let mut pairs = to_nodes(near, &open);
        pairs.extend(to_nodes(far, &key));
        self.add_slanting(pairs, SLANT, ask)
    }

    fn index(&self, keep: impl Fn(usize) -> bool) -> NodeIndex {
        let kept = self.nodes.iter().enumerate().filter(|(i, _)| keep(*i));
        RTree::bulk_load(
            kept.map(|(i, n)| GeomWithData::new([n.x, n.y], i as u32))
                .collect(),
        )
    }
}
