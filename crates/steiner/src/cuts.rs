//! Dual ascent for one group at fixed prices (R. T. Wong, "A dual ascent approach for Steiner tree
//! problems on a directed graph", Mathematical Programming 28, 1984): lifts cuts that separate
//! terminals from the root, the smallest first, until every terminal hangs on the root by arcs
//! without slack.

use crate::bits::Bits;
use crate::grow::Queue;
use crate::instance::{Instance, Work};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Room for ascents on one graph, used again and again.
#[derive(Clone, Debug)]
pub(crate) struct Cuts {
    /// What the lifted cuts leave of each arc's price.
    pub slack: Vec<f64>,
    inside: Vec<f64>,
    members: Vec<u32>,
    /// Arcs that entered the cut in hand, and how far it was lifted when they did.
    border: Vec<(u32, f64)>,
    free: Vec<u32>,
    queue: Queue,
}

/// Why the lifting of a cut ended.
#[derive(PartialEq)]
enum End {
    Joined,
    Large,
    Stuck,
}

impl Cuts {
    pub fn new(inst: &Instance) -> Cuts {
        Cuts {
            slack: vec![0.0; 2 * inst.edges()],
            inside: vec![f64::INFINITY; inst.nodes()],
            members: Vec::new(),
            border: Vec::new(),
            free: Vec::new(),
            queue: Queue::default(),
        }
    }

    /// The bound at the given price per edge (infinite: not to be used); infinite if a terminal
    /// cannot be reached. A cut may outgrow the next smallest by `loose`, as a part of its size.
    pub fn ascend(
        &mut self,
        inst: &Instance,
        price: &[f64],
        root: u32,
        terminals: &[u32],
        loose: f64,
        work: &mut Work,
    ) -> f64 {
        for (edge, price) in price.iter().enumerate() {
            self.slack[2 * edge] = *price;
            self.slack[2 * edge + 1] = *price;
        }
        let mut waiting = Bits::new(inst.nodes());
        let mut heap = BinaryHeap::new();
        for node in terminals.iter().filter(|node| **node != root) {
            waiting.set(*node);
            heap.push(Reverse((1u32, *node)));
        }
        let mut bound = 0.0;
        while let Some(Reverse((_, node))) = heap.pop() {
            let next = heap.peek().map_or(u32::MAX, |Reverse((size, _))| *size);
            let most = next.saturating_add((f64::from(next) * loose) as u32);
            let (end, height) = self.lift(inst, node, root, &waiting, most, work);
            bound += height;
            match end {
                End::Large => heap.push(Reverse((self.members.len() as u32, node))),
                End::Joined => waiting.unset(node),
                End::Stuck => bound = f64::INFINITY,
            }
            self.settle();
        }
        bound
    }

    fn lift(
        &mut self,
        inst: &Instance,
        node: u32,
        root: u32,
        waiting: &Bits,
        most: u32,
        work: &mut Work,
    ) -> (End, f64) {
        let mut height = 0.0;
        self.admit(inst, node, height, work);
        let end = loop {
            let Some((key, arc)) = self.next(height) else {
                break End::Stuck;
            };
            let from = inst.tail(arc);
            if self.inside[from as usize].is_finite() {
                continue;
            }
            height = f64::max(height, key);
            if from == root || waiting.get(from) {
                break End::Joined;
            }
            if self.members.len() as u32 > most {
                break End::Large;
            }
            self.admit(inst, from, height, work);
        };
        if end != End::Stuck {
            self.book(inst, height);
        }
        (end, height)
    }

    fn next(&mut self, height: f64) -> Option<(f64, u32)> {
        match self.free.pop() {
            Some(arc) => Some((height, arc)),
            None => self.queue.pop(),
        }
    }

    fn admit(&mut self, inst: &Instance, node: u32, height: f64, work: &mut Work) {
        self.inside[node as usize] = height;
        self.members.push(node);
        let links = inst.links.of(node);
        work.done += links.len() as u64;
        for link in links {
            let arc = link.arc ^ 1;
            let slack = self.slack[arc as usize];
            if self.inside[link.to as usize].is_finite() || slack.is_infinite() {
                continue;
            }
            if slack > 0.0 {
                self.border.push((arc, height));
                self.queue.push(height + slack, arc);
            } else {
                self.free.push(arc);
            }
        }
    }

    fn book(&mut self, inst: &Instance, height: f64) {
        for (arc, since) in &self.border {
            let until = self.inside[inst.tail(*arc) as usize].min(height);
            let slack = &mut self.slack[*arc as usize];
            let less = *slack - (until - since).max(0.0);
            // Rounding must not leave crumbs of slack, each of which would cost a round.
            *slack = if less <= 1e-13 * height { 0.0 } else { less };
        }
    }

    fn settle(&mut self) {
        for node in self.members.drain(..) {
            self.inside[node as usize] = f64::INFINITY;
        }
        self.border.clear();
        self.free.clear();
        self.queue.clear();
    }
}
