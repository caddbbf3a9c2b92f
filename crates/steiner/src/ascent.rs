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
    /// Part of an edge's shared cost that a group may hold in the first round; empty: all.
    pub share: Vec<Vec<f64>>,
    /// How far a cut may outgrow the next smallest one, as a part of its size.
    pub slack: f64,
    /// One group after the other, forgetting what the former lifted: little memory, but no
    /// slacks afterwards.
    pub apart: bool,
}

impl Plan {
    pub fn new(inst: &Instance) -> Plan {
        // Eight bytes per arc and group.
        let room = inst.edges() * 2 * inst.groups() * 8;
        Plan {
            roots: inst.terminals.iter().map(|list| list[0]).collect(),
            order: (0..inst.groups()).collect(),
            share: Vec::new(),
            slack: if inst.nodes() > 4000 { 0.25 } else { 0.0 },
            apart: room > 200_000_000,
        }
    }
}

/// The outcome of an ascent.
#[derive(Clone, Debug)]
pub(crate) struct Dual {
    /// Lower bound without the instance's offset; infinite if a terminal cannot be reached.
    pub bound: f64,
    pub roots: Vec<u32>,
    /// Per group and arc, what its lifted cuts put on the arc; empty after a plan with `apart`.
    pub lifted: Vec<Vec<f64>>,
    /// Per edge, shared cost that no group holds.
    pub left: Vec<f64>,
}

impl Dual {
    /// How much dearer an arc is for a group than the lifted cuts account for.
    pub fn slack(&self, inst: &Instance, group: usize, arc: u32) -> f64 {
        let edge = arc / 2;
        if !inst.open(group, edge) {
            return f64::INFINITY;
        }
        let own = inst.own(group, edge);
        let (there, back) = (
            self.lifted[group][arc as usize],
            self.lifted[group][(arc ^ 1) as usize],
        );
        let held = (there - own).max(back - own).max(0.0);
        (own + held + self.left[edge as usize] - there).max(0.0)
    }
}

/// Climbs as planned.
pub(crate) fn ascend(inst: &Instance, plan: &Plan, work: &mut Work) -> Dual {
    let mut climb = Climb::new(inst, plan);
    let everyone: Vec<usize> = plan.order.clone();
    if plan.apart {
        for group in &everyone {
            climb.dual.lifted[*group] = vec![0.0; 2 * inst.edges()];
            climb.run(&[*group], false, work);
            climb.dual.lifted[*group] = Vec::new();
        }
        climb.dual.lifted.clear();
        return climb.dual;
    }
    for lifted in &mut climb.dual.lifted {
        *lifted = vec![0.0; 2 * inst.edges()];
    }
    if !plan.share.is_empty() {
        climb.run(&everyone, true, work);
    }
    climb.run(&everyone, false, work);
    climb.dual
}

struct Climb<'a, 'p> {
    inst: &'a Instance<'p>,
    plan: &'a Plan,
    dual: Dual,
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
    Root,
    Merged,
    Large,
    Stuck,
}

impl<'a, 'p> Climb<'a, 'p> {
    fn new(inst: &'a Instance<'p>, plan: &'a Plan) -> Climb<'a, 'p> {
        Climb {
            inst,
            plan,
            dual: Dual {
                bound: 0.0,
                roots: plan.roots.clone(),
                lifted: vec![Vec::new(); inst.groups()],
                left: inst.shared.clone(),
            },
            waiting: vec![Bits::new(inst.nodes()); inst.groups()],
            inside: vec![f64::INFINITY; inst.nodes()],
            members: Vec::new(),
            border: Vec::new(),
            queue: Queue::default(),
        }
    }

    /// Lifts cuts of the given groups, the smallest first, until every terminal hangs on its root.
    fn run(&mut self, groups: &[usize], shares: bool, work: &mut Work) {
        let mut heap = BinaryHeap::new();
        for (rank, group) in groups.iter().enumerate() {
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
            let group = groups[rank];
            let next = heap.peek().map_or(u32::MAX, |Reverse((size, _, _))| *size);
            let most = next.saturating_add((f64::from(next) * self.plan.slack) as u32);
            let end = self.lift(group, node, most, shares, work);
            if end == End::Large {
                heap.push(Reverse((self.members.len() as u32, rank, node)));
            } else {
                self.waiting[group].unset(node);
            }
            self.settle();
            if end == End::Stuck && !shares {
                self.dual.bound = f64::INFINITY;
                return;
            }
        }
    }

    /// Lifts the cut of nodes from which `node` can be reached without slack, growing it on the
    /// way, until it meets the root, meets another waiting terminal, or outgrows `most` nodes.
    fn lift(&mut self, group: usize, node: u32, most: u32, shares: bool, work: &mut Work) -> End {
        let mut height = 0.0;
        self.admit(group, node, height, shares, work);
        let end = loop {
            let Some((key, arc)) = self.queue.pop() else {
                break End::Stuck;
            };
            let from = self.inst.tail(arc);
            if self.inside[from as usize].is_finite() {
                continue;
            }
            height = f64::max(height, key);
            if from == self.plan.roots[group] {
                break End::Root;
            }
            if self.waiting[group].get(from) {
                break End::Merged;
            }
            if self.members.len() as u32 > most {
                break End::Large;
            }
            self.admit(group, from, height, shares, work);
        };
        if end == End::Stuck {
            return end;
        }
        self.dual.bound += height;
        self.book(group, height);
        end
    }

    fn admit(&mut self, group: usize, node: u32, height: f64, shares: bool, work: &mut Work) {
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
            self.queue.push(height + self.room(group, arc, shares), arc);
        }
    }

    /// How much more a cut may put on an arc.
    fn room(&self, group: usize, arc: u32, shares: bool) -> f64 {
        let edge = arc / 2;
        let own = self.inst.own(group, edge);
        let lifted = &self.dual.lifted[group];
        let (there, back) = (lifted[arc as usize], lifted[(arc ^ 1) as usize]);
        let held = (there - own).max(back - own).max(0.0);
        let mut left = self.dual.left[edge as usize];
        if shares {
            let most = self.plan.share[group][edge as usize] * self.inst.shared[edge as usize];
            left = left.min((most - held).max(0.0));
        }
        (own + held + left - there).max(0.0)
    }

    /// Books the lifting on the arcs that entered the cut while it was lifted.
    fn book(&mut self, group: usize, height: f64) {
        let Climb {
            inst,
            dual,
            border,
            inside,
            ..
        } = self;
        let lifted = &mut dual.lifted[group];
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
            let left = &mut dual.left[(*arc / 2) as usize];
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
