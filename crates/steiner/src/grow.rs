//! Growing a tree from one node by always joining the nearest terminal (H. Takahashi and
//! A. Matsuyama, "An approximate solution for the Steiner problem in graphs", Math. Japonica 24,
//! 1980), in a single pass over the graph.

use crate::instance::{Instance, Work};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Marks "no number" wherever a node, an arc or a place is expected.
pub(crate) const NONE: u32 = u32::MAX;

/// A queue of nodes (or arcs), nearest first, ties by number. Costs are never negative, and the
/// bits of such floats sort like the floats themselves.
#[derive(Clone, Debug, Default)]
pub(crate) struct Queue(BinaryHeap<Reverse<(u64, u32)>>);

impl Queue {
    pub fn push(&mut self, key: f64, item: u32) {
        self.0.push(Reverse((key.max(0.0).to_bits(), item)));
    }

    pub fn pop(&mut self) -> Option<(f64, u32)> {
        self.0
            .pop()
            .map(|Reverse((bits, item))| (f64::from_bits(bits), item))
    }

    pub fn clear(&mut self) {
        self.0.clear();
    }
}

/// Distances from a growing set of nodes, kept between uses so that only what was touched has to
/// be cleared.
#[derive(Clone, Debug)]
pub(crate) struct Reach {
    pub dist: Vec<f64>,
    /// The arc by which a node was reached.
    pub by: Vec<u32>,
    touched: Vec<u32>,
    pub queue: Queue,
}

impl Reach {
    pub fn new(nodes: usize) -> Reach {
        Reach {
            dist: vec![f64::INFINITY; nodes],
            by: vec![NONE; nodes],
            touched: Vec::new(),
            queue: Queue::default(),
        }
    }

    pub fn clear(&mut self) {
        for node in self.touched.drain(..) {
            self.dist[node as usize] = f64::INFINITY;
            self.by[node as usize] = NONE;
        }
        self.queue.clear();
    }

    pub fn offer(&mut self, node: u32, dist: f64, by: u32) {
        if dist < self.dist[node as usize] {
            if self.dist[node as usize].is_infinite() {
                self.touched.push(node);
            }
            self.dist[node as usize] = dist;
            self.by[node as usize] = by;
            self.queue.push(dist, node);
        }
    }

    /// The nearest node not yet handled at its present distance.
    pub fn next(&mut self) -> Option<(f64, u32)> {
        loop {
            let (dist, node) = self.queue.pop()?;
            if dist <= self.dist[node as usize] {
                return Some((dist, node));
            }
        }
    }

    pub fn spread(&mut self, inst: &Instance, price: &[f64], node: u32, work: &mut Work) {
        let dist = self.dist[node as usize];
        let links = inst.links.of(node);
        work.done += links.len() as u64;
        for link in links {
            self.offer(link.to, dist + price[link.edge() as usize], link.arc);
        }
    }
}

/// A tree that joins all `terminals`, grown from `start` at the given price per edge (infinite:
/// not to be used). `None` if some terminal cannot be reached.
pub(crate) fn grow(
    inst: &Instance,
    price: &[f64],
    start: u32,
    terminals: &[u32],
    reach: &mut Reach,
    work: &mut Work,
) -> Option<Vec<u32>> {
    reach.clear();
    let mut waiting = vec![false; inst.nodes()];
    let mut left = 0;
    for node in terminals.iter().filter(|node| **node != start) {
        waiting[*node as usize] = true;
        left += 1;
    }
    let mut inside = vec![false; inst.nodes()];
    inside[start as usize] = true;
    reach.offer(start, 0.0, NONE);
    let mut tree = Vec::new();
    while left > 0 {
        let (_, node) = reach.next()?;
        if waiting[node as usize] {
            left -= join(inst, node, reach, &mut inside, &mut waiting, &mut tree);
        }
        reach.spread(inst, price, node, work);
    }
    tree.sort_unstable();
    Some(tree)
}

/// Adds the path by which `node` was reached; returns how many waiting terminals it joined.
fn join(
    inst: &Instance,
    node: u32,
    reach: &mut Reach,
    inside: &mut [bool],
    waiting: &mut [bool],
    tree: &mut Vec<u32>,
) -> usize {
    let mut joined = 0;
    let mut at = node;
    while !inside[at as usize] {
        inside[at as usize] = true;
        joined += usize::from(std::mem::take(&mut waiting[at as usize]));
        let arc = reach.by[at as usize];
        tree.push(arc / 2);
        reach.offer(at, 0.0, arc);
        at = inst.tail(arc);
    }
    joined
}
