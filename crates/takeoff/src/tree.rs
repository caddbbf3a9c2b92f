//! One pipe line as a tree of reaches with directions and sizes.

use hydraulics::{Hydraulics, Pipe};
use job::{Job, Place};
use quantity::Length;
use routes::{Line, Network, NodeId};
use std::collections::BTreeMap;

/// Points nearer than this are one point when a direction is taken, metres.
const SAME_POINT: f64 = 1e-6;

/// A direction in the plane; not of unit length.
pub type Direction = (f64, f64);

/// The pipe of one stretch, seen away from the line's root.
pub struct Reach<'a> {
    pub pipe: &'a Pipe,
    /// Place of its size in its family, the smallest first.
    pub rank: usize,
    /// From the end nearer the root, without doubled points.
    pub path: Vec<Place>,
    pub length: Length,
}

/// A pipe line.
pub struct Tree<'a> {
    pub line: &'a Line,
    /// In an order in which each follows the one that feeds it.
    pub reaches: Vec<Reach<'a>>,
    into: BTreeMap<NodeId, usize>,
    out_of: BTreeMap<NodeId, Vec<usize>>,
}

impl<'a> Tree<'a> {
    pub fn new(job: &Job, network: &'a Network, water: &'a Hydraulics, line: usize) -> Self {
        let reaches: Vec<Reach> = water
            .pipes
            .iter()
            .filter(|pipe| pipe.line == line)
            .map(|pipe| Reach::new(job, network, pipe))
            .collect();
        let mut into = BTreeMap::new();
        let mut out_of: BTreeMap<NodeId, Vec<usize>> = BTreeMap::new();
        for (index, reach) in reaches.iter().enumerate() {
            into.insert(reach.pipe.to, index);
            out_of.entry(reach.pipe.from).or_default().push(index);
        }
        Self {
            line: &network.lines[line],
            reaches,
            into,
            out_of,
        }
    }

    /// The reach that feeds a node; none at the root.
    pub fn into(&self, node: NodeId) -> Option<&Reach<'a>> {
        self.into.get(&node).map(|&index| &self.reaches[index])
    }

    /// The reaches that a node feeds.
    pub fn out_of(&self, node: NodeId) -> impl Iterator<Item = &Reach<'a>> {
        self.out_of
            .get(&node)
            .into_iter()
            .flatten()
            .map(|&index| &self.reaches[index])
    }

    /// The number of the only reach that a node feeds, or of the first.
    pub fn number_out_of(&self, node: NodeId) -> Option<usize> {
        self.out_of.get(&node)?.first().copied()
    }

    /// The number of the reach that feeds a node.
    pub fn number_into(&self, node: NodeId) -> Option<usize> {
        self.into.get(&node).copied()
    }

    /// The numbers of the reaches that a node feeds.
    pub fn numbers_out_of(&self, node: NodeId) -> &[usize] {
        self.out_of.get(&node).map_or(&[], Vec::as_slice)
    }

    /// Every node of the line, the root first.
    pub fn nodes(&self) -> impl Iterator<Item = NodeId> {
        let root = self.reaches.first().map(|reach| reach.pipe.from);
        root.into_iter()
            .chain(self.reaches.iter().map(|reach| reach.pipe.to))
    }
}

impl<'a> Reach<'a> {
    fn new(job: &Job, network: &Network, pipe: &'a Pipe) -> Self {
        let stretch = network.stretch(pipe.stretch);
        let mut path = stretch.path_from(pipe.from);
        path.dedup_by(|b, a| a.distance(*b) < SAME_POINT);
        Self {
            pipe,
            rank: rank(job, pipe),
            path,
            length: stretch.length,
        }
    }

    /// Away from the end nearer the root, into the reach.
    pub fn sets_out(&self) -> Option<Direction> {
        match self.path.as_slice() {
            [a, b, ..] => Some(direction(*a, *b)),
            _ => None,
        }
    }

    /// Away from the far end, back into the reach.
    pub fn looks_back(&self) -> Option<Direction> {
        match self.path.as_slice() {
            [.., a, b] => Some(direction(*b, *a)),
            _ => None,
        }
    }

    /// Turns along the path: share of the length at which each is, and its angle in radians.
    pub fn turns(&self) -> Vec<(f64, f64)> {
        let total: f64 = self.path.windows(2).map(|w| w[0].distance(w[1])).sum();
        let mut along = 0.0;
        self.path
            .windows(3)
            .map(|w| {
                along += w[0].distance(w[1]);
                let turn = angle(direction(w[0], w[1]), direction(w[1], w[2]));
                (along / total, turn)
            })
            .collect()
    }
}

fn rank(job: &Job, pipe: &Pipe) -> usize {
    job.practice
        .pipe
        .get(&pipe.family)
        .and_then(|family| family.sizes.iter().position(|s| s.name == pipe.size))
        .unwrap_or(0)
}

fn direction(from: Place, to: Place) -> Direction {
    (to.x - from.x, to.y - from.y)
}

/// The angle between two directions, 0 to π.
pub fn angle(a: Direction, b: Direction) -> f64 {
    let cross = a.0 * b.1 - a.1 * b.0;
    let dot = a.0 * b.0 + a.1 * b.1;
    cross.abs().atan2(dot)
}
