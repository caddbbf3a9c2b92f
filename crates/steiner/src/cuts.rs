//! Lifting one cut: the step that a dual ascent repeats.

use crate::bits::Bits;
use crate::grow::{NONE, Queue};
use crate::instance::{Instance, Work};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What a group's lifted cuts leave free. The slack of an arc is its `base` plus the shared cost
/// of its edge that nobody holds.
#[derive(Clone, Debug)]
pub(crate) struct Ledger {
    pub root: u32,
    /// Per arc: own cost, plus what the group holds of the shared cost, less what the cuts put on
    /// the arc. Infinite where banned.
    pub base: Vec<f64>,
    /// Per edge, how much of the shared cost the group holds.
    pub held: Vec<f64>,
    /// Terminals whose cut is still to be lifted.
    pub waiting: Bits,
    /// Edges of whose shared cost the group may hold nothing; empty if there are none.
    pub barred: Option<Bits>,
    /// Per node of a guiding tree, the node before it; [`NONE`] elsewhere. Empty: no guide.
    pub up: Vec<u32>,
}

impl Ledger {
    /// Nothing lifted, at the given own cost per edge.
    pub fn new(inst: &Instance, group: usize, root: u32, own: impl Fn(u32) -> f64) -> Ledger {
        let cost = |edge| {
            if inst.open(group, edge) {
                own(edge)
            } else {
                f64::INFINITY
            }
        };
        let base = (0..2 * inst.edges() as u32)
            .map(|arc| cost(arc / 2))
            .collect();
        let mut ledger = Ledger {
            root,
            base,
            held: vec![0.0; inst.edges()],
            waiting: Bits::new(inst.nodes()),
            barred: None,
            up: Vec::new(),
        };
        ledger.wait(inst, group);
        ledger
    }

    /// Lets every terminal wait again.
    pub fn wait(&mut self, inst: &Instance, group: usize) {
        for node in inst.terminals[group]
            .iter()
            .filter(|node| **node != self.root)
        {
            self.waiting.set(*node);
        }
    }
}

/// Why the lifting of a cut ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum End {
    /// It met the root or another waiting terminal.
    Joined,
    /// The guiding tree enters it twice.
    Crossed,
    /// It outgrew its size.
    Large,
    /// There is no way to the root.
    Stuck,
}

/// Room for lifting cuts on one graph, used again and again.
#[derive(Clone, Debug)]
pub(crate) struct Cuts {
    /// How far the cut was lifted when a node joined it; infinite outside.
    inside: Vec<f64>,
    pub members: Vec<u32>,
    /// Arcs that entered the cut, and how far it was lifted when they did.
    border: Vec<(u32, f64)>,
    free: Vec<u32>,
    queue: Queue,
}

impl Cuts {
    pub fn new(inst: &Instance) -> Cuts {
        Cuts {
            inside: vec![f64::INFINITY; inst.nodes()],
            members: Vec::new(),
            border: Vec::new(),
            free: Vec::new(),
            queue: Queue::default(),
        }
    }

    /// Dual ascent for one group at fixed prices (R. T. Wong, Mathematical Programming 28, 1984):
    /// lifts the smallest cut first until every terminal hangs on the root. Returns the bound;
    /// infinite if a terminal cannot be reached.
    pub fn ascend(
        &mut self,
        inst: &Instance,
        ledger: &mut Ledger,
        left: &mut [f64],
        terminals: &[u32],
        loose: f64,
        work: &mut Work,
    ) -> f64 {
        let mut heap: BinaryHeap<Reverse<(u32, u32)>> = (terminals.iter())
            .filter(|node| **node != ledger.root)
            .map(|node| Reverse((1, *node)))
            .collect();
        let mut bound = 0.0;
        let mut late = Vec::new();
        let mut strict = !ledger.up.is_empty();
        loop {
            let Some(Reverse((_, node))) = heap.pop() else {
                if late.is_empty() {
                    break;
                }
                strict = false;
                heap.extend(late.drain(..));
                continue;
            };
            let next = heap.peek().map_or(u32::MAX, |Reverse((size, _))| *size);
            let how = (limit(next, loose), strict);
            let (end, height) = self.lift(inst, ledger, left, node, how, work);
            bound += height;
            match end {
                End::Large => heap.push(Reverse((self.members.len() as u32, node))),
                End::Joined => ledger.waiting.unset(node),
                End::Crossed => late.push(Reverse((self.members.len() as u32, node))),
                End::Stuck => return f64::INFINITY,
            }
        }
        bound
    }

    /// Lifts the cut of nodes from which `node` can be reached without slack, growing it on the
    /// way, until it meets the root, meets another waiting terminal, or outgrows `most` nodes.
    /// Returns how far it was lifted.
    pub fn lift(
        &mut self,
        inst: &Instance,
        ledger: &mut Ledger,
        left: &mut [f64],
        node: u32,
        (most, strict): (u32, bool),
        work: &mut Work,
    ) -> (End, f64) {
        self.settle();
        let mut height = 0.0;
        let mut crossings = self.crossed(inst, ledger, node);
        self.admit(inst, ledger, left, node, height, work);
        loop {
            let Some((key, arc)) = self.next(height) else {
                return (End::Stuck, 0.0);
            };
            let from = inst.tail(arc);
            if self.inside[from as usize].is_finite() {
                continue;
            }
            if strict && crossings > 1 && key > height {
                self.book(inst, ledger, left, height);
                return (End::Crossed, height);
            }
            height = f64::max(height, key);
            let joined = from == ledger.root || ledger.waiting.get(from);
            if joined || self.members.len() as u32 > most {
                self.book(inst, ledger, left, height);
                return (if joined { End::Joined } else { End::Large }, height);
            }
            crossings += self.crossed(inst, ledger, from);
            self.admit(inst, ledger, left, from, height, work);
        }
    }

    fn crossed(&self, inst: &Instance, ledger: &Ledger, node: u32) -> i32 {
        if ledger.up.is_empty() {
            return 0;
        }
        entered(inst, &ledger.up, &self.inside, node)
    }

    fn next(&mut self, height: f64) -> Option<(f64, u32)> {
        match self.free.pop() {
            Some(arc) => Some((height, arc)),
            None => self.queue.pop(),
        }
    }

    fn admit(
        &mut self,
        inst: &Instance,
        ledger: &Ledger,
        left: &[f64],
        node: u32,
        height: f64,
        work: &mut Work,
    ) {
        self.inside[node as usize] = height;
        self.members.push(node);
        let links = inst.links.of(node);
        work.done += links.len() as u64;
        for link in links {
            let arc = link.arc ^ 1;
            let barred = ledger
                .barred
                .as_ref()
                .is_some_and(|bits| bits.get(link.edge()));
            let left = if barred {
                0.0
            } else {
                left[link.edge() as usize]
            };
            let slack = ledger.base[arc as usize] + left;
            if slack.is_infinite() || self.inside[link.to as usize].is_finite() {
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

    /// Books the lifting on the arcs that entered the cut while it was lifted.
    fn book(&self, inst: &Instance, ledger: &mut Ledger, left: &mut [f64], height: f64) {
        // Rounding must not leave crumbs of slack, each of which would cost a round.
        let crumb = 1e-13 * height;
        for (arc, since) in &self.border {
            let until = self.inside[inst.tail(*arc) as usize].min(height);
            let more = until - since;
            let base = &mut ledger.base[*arc as usize];
            if more <= 0.0 {
                continue;
            }
            if more <= *base
                || ledger
                    .barred
                    .as_ref()
                    .is_some_and(|bits| bits.get(*arc / 2))
            {
                *base = (*base - more).max(0.0);
            } else {
                let beyond = more - *base;
                *base = 0.0;
                ledger.base[(*arc ^ 1) as usize] += beyond;
                ledger.held[(*arc / 2) as usize] += beyond;
                let left = &mut left[(*arc / 2) as usize];
                *left = if *left - beyond <= crumb {
                    0.0
                } else {
                    *left - beyond
                };
            }
            let base = &mut ledger.base[*arc as usize];
            if *base <= crumb {
                *base = 0.0;
            }
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

/// How many more times the guiding tree `up` enters a cut once `node` has joined those `inside`.
pub(crate) fn entered(inst: &Instance, up: &[u32], inside: &[f64], node: u32) -> i32 {
    let before = up[node as usize];
    if before == NONE {
        return 0;
    }
    let mut below: Vec<u32> = (inst.links.of(node).iter())
        .map(|link| link.to)
        .filter(|to| up[*to as usize] == node && inside[*to as usize].is_finite())
        .collect();
    // Parallel edges would count a node twice.
    below.sort_unstable();
    below.dedup();
    i32::from(inside[before as usize].is_infinite()) - below.len() as i32
}

/// How large a cut may become before the next smallest, of size `next`, has its turn.
pub(crate) fn limit(next: u32, loose: f64) -> u32 {
    next.saturating_add((f64::from(next) * loose) as u32)
}
