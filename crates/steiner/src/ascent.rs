//! A lower bound by dual ascent on directed cuts (R. T. Wong, "A dual ascent approach for Steiner
//! tree problems on a directed graph", Mathematical Programming 28, 1984), carried over to groups
//! that share edges.
//!
//! The relaxation: each group sends arcs `y` from its root across every cut that separates a
//! terminal, and an edge is paid for (`x`) as much as any group uses it in both directions
//! together. Its dual lifts cuts: what the lifted cuts of a group put on an arc may exceed the
//! group's own cost of the edge by what the group holds of the edge's shared cost, and all that
//! the groups hold of one edge together stays within that shared cost. Whatever is lifted in this
//! way adds up to a bound.

use crate::bits::Bits;
use crate::cuts::Cuts;
use crate::grow::Queue;
use crate::instance::{Instance, Work};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// How to climb.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    /// Root of each group: any of its terminals.
    pub roots: Vec<u32>,
    /// Order in which groups come when their cuts are equally small.
    pub order: Vec<usize>,
    /// Shared cost per group and edge that the group may hold in the first round. Empty: no
    /// first round.
    pub share: Vec<Vec<f64>>,
    /// How far a cut may outgrow the next smallest one, as a part of its size.
    pub loose: f64,
}

impl Plan {
    pub fn new(inst: &Instance) -> Plan {
        Plan {
            roots: inst.terminals.iter().map(|list| list[0]).collect(),
            order: (0..inst.groups()).collect(),
            share: Vec::new(),
            loose: looseness(inst),
        }
    }
}

/// Large graphs trade a little of the bound for speed.
pub(crate) fn looseness(inst: &Instance) -> f64 {
    if inst.nodes() > 4000 { 0.5 } else { 0.0 }
}

/// The outcome of an ascent.
#[derive(Clone, Debug)]
pub(crate) struct Dual {
    /// Lower bound without the instance's offset; infinite if a terminal cannot be reached.
    pub bound: f64,
    pub roots: Vec<u32>,
    /// Per group and arc, how much dearer the arc is for the group than the lifted cuts account
    /// for; infinite where banned.
    pub slack: Vec<Vec<f64>>,
}

/// Climbs as planned.
pub(crate) fn ascend(inst: &Instance, plan: &Plan, work: &mut Work) -> Dual {
    let mut cuts = Cuts::new(inst);
    if inst.groups() == 1 {
        let price = prices(inst, 0, &inst.shared);
        let (root, terminals) = (plan.roots[0], &inst.terminals[0]);
        let bound = cuts.ascend(inst, &price, root, terminals, plan.loose, work);
        return Dual {
            bound,
            roots: plan.roots.clone(),
            slack: vec![cuts.slack],
        };
    }
    let mut climb = Climb::new(inst, plan);
    for (group, share) in plan.share.iter().enumerate() {
        let price = prices(inst, group, share);
        let (root, terminals) = (plan.roots[group], &inst.terminals[group]);
        climb.bound += cuts.ascend(inst, &price, root, terminals, plan.loose, work);
        climb.take_over(group, share, &price, &cuts.slack);
    }
    if climb.bound.is_finite() {
        climb.run(work);
    }
    let slack = (0..inst.groups())
        .map(|group| climb.slacks(group))
        .collect();
    Dual {
        bound: climb.bound,
        roots: plan.roots.clone(),
        slack,
    }
}

/// Price per edge for a group that has to bear the given part of the shared costs.
pub(crate) fn prices(inst: &Instance, group: usize, share: &[f64]) -> Vec<f64> {
    let price = |edge: u32| match inst.open(group, edge) {
        true => inst.own(group, edge) + share[edge as usize],
        false => f64::INFINITY,
    };
    (0..inst.edges() as u32).map(price).collect()
}

/// The second round: all groups together, each cut reaching for whatever shared cost is left.
struct Climb<'a, 'p> {
    inst: &'a Instance<'p>,
    plan: &'a Plan,
    bound: f64,
    /// Per group and arc, what its lifted cuts put on the arc.
    lifted: Vec<Vec<f64>>,
    /// Per edge, shared cost that no group holds.
    left: Vec<f64>,
    /// Terminals whose cut is still to be lifted, per group.
    waiting: Vec<Bits>,
    /// Cut in hand: whether a node is in it, and how far it was lifted when the node joined.
    inside: Vec<f64>,
    members: Vec<u32>,
    /// Arcs that entered the cut, and how far it was lifted when they did.
    border: Vec<(u32, f64)>,
    queue: Queue,
}

/// Why the lifting of a cut ended.
#[derive(PartialEq)]
enum End {
    Joined,
    Large,
    Stuck,
}

impl<'a, 'p> Climb<'a, 'p> {
    fn new(inst: &'a Instance<'p>, plan: &'a Plan) -> Climb<'a, 'p> {
        Climb {
            inst,
            plan,
            bound: 0.0,
            lifted: vec![vec![0.0; 2 * inst.edges()]; inst.groups()],
            left: inst.shared.clone(),
            waiting: vec![Bits::new(inst.nodes()); inst.groups()],
            inside: vec![f64::INFINITY; inst.nodes()],
            members: Vec::new(),
            border: Vec::new(),
            queue: Queue::default(),
        }
    }

    /// Books what a group's first round has lifted.
    fn take_over(&mut self, group: usize, share: &[f64], price: &[f64], slack: &[f64]) {
        for edge in (0..share.len()).filter(|edge| price[*edge].is_finite()) {
            let (there, back) = (
                price[edge] - slack[2 * edge],
                price[edge] - slack[2 * edge + 1],
            );
            self.lifted[group][2 * edge] = there;
            self.lifted[group][2 * edge + 1] = back;
            let own = price[edge] - share[edge];
            let held = (there.max(back) - own).max(0.0);
            self.left[edge] = (self.left[edge] - held).max(0.0);
        }
    }

    /// How much dearer each arc is for a group than the lifted cuts account for.
    fn slacks(&self, group: usize) -> Vec<f64> {
        let slack = |arc: u32| match self.inst.open(group, arc / 2) {
            true => self.room(group, arc),
            false => f64::INFINITY,
        };
        (0..2 * self.inst.edges() as u32).map(slack).collect()
    }

    /// Lifts cuts, the smallest first, until every terminal hangs on its root.
    fn run(&mut self, work: &mut Work) {
        let mut heap = BinaryHeap::new();
        for (rank, group) in self.plan.order.iter().enumerate() {
            let terminals = &self.inst.terminals[*group];
            for node in terminals
                .iter()
                .filter(|node| **node != self.plan.roots[*group])
            {
                self.waiting[*group].set(*node);
                heap.push(Reverse((1u32, rank, *node)));
            }
        }
        while let Some(Reverse((_, rank, node))) = heap.pop() {
            let group = self.plan.order[rank];
            let next = heap.peek().map_or(u32::MAX, |Reverse((size, _, _))| *size);
            let most = next.saturating_add((f64::from(next) * self.plan.loose) as u32);
            let end = self.lift(group, node, most, work);
            match end {
                End::Large => heap.push(Reverse((self.members.len() as u32, rank, node))),
                End::Joined => self.waiting[group].unset(node),
                End::Stuck => {
                    self.bound = f64::INFINITY;
                    return;
                }
            }
            self.settle();
        }
    }

    /// Lifts the cut of nodes from which `node` can be reached without slack, growing it on the
    /// way, until it meets the root, meets another waiting terminal, or outgrows `most` nodes.
    fn lift(&mut self, group: usize, node: u32, most: u32, work: &mut Work) -> End {
        let mut height = 0.0;
        self.admit(group, node, height, work);
        let end = loop {
            let Some((key, arc)) = self.queue.pop() else {
                break End::Stuck;
            };
            let from = self.inst.tail(arc);
            if self.inside[from as usize].is_finite() {
                continue;
            }
            height = f64::max(height, key);
            if from == self.plan.roots[group] || self.waiting[group].get(from) {
                break End::Joined;
            }
            if self.members.len() as u32 > most {
                break End::Large;
            }
            self.admit(group, from, height, work);
        };
        if end == End::Stuck {
            return end;
        }
        self.bound += height;
        self.book(group, height);
        end
    }

    fn admit(&mut self, group: usize, node: u32, height: f64, work: &mut Work) {
        self.inside[node as usize] = height;
        self.members.push(node);
        let links = self.inst.links.of(node);
        work.done += links.len() as u64;
        for link in links {
            let arc = link.arc ^ 1;
            if self.inside[link.to as usize].is_finite() || !self.inst.open(group, link.edge()) {
                continue;
            }
            self.border.push((arc, height));
            self.queue.push(height + self.room(group, arc), arc);
        }
    }

    /// How much more a cut may put on an arc.
    fn room(&self, group: usize, arc: u32) -> f64 {
        let edge = arc / 2;
        let own = self.inst.own(group, edge);
        let lifted = &self.lifted[group];
        let (there, back) = (lifted[arc as usize], lifted[(arc ^ 1) as usize]);
        let held = (there - own).max(back - own).max(0.0);
        (own + held + self.left[edge as usize] - there).max(0.0)
    }

    /// Books the lifting on the arcs that entered the cut while it was lifted.
    fn book(&mut self, group: usize, height: f64) {
        let Climb {
            inst,
            lifted,
            left,
            border,
            inside,
            ..
        } = self;
        let lifted = &mut lifted[group];
        for (arc, since) in border.iter() {
            let until = inside[inst.tail(*arc) as usize].min(height);
            let more = until - since;
            if more <= 0.0 {
                continue;
            }
            let own = inst.own(group, *arc / 2);
            let (there, back) = (lifted[*arc as usize], lifted[(*arc ^ 1) as usize]);
            let before = (there - own).max(back - own).max(0.0);
            let after = (there + more - own).max(back - own).max(0.0);
            lifted[*arc as usize] = there + more;
            let left = &mut left[(*arc / 2) as usize];
            *left = (*left - (after - before)).max(0.0);
        }
    }

    fn settle(&mut self) {
        for node in self.members.drain(..) {
            self.inside[node as usize] = f64::INFINITY;
        }
        self.border.clear();
        self.queue.clear();
    }
}
