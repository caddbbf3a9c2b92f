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
use crate::cuts::{Cuts, End, Ledger, limit};
use crate::grow::NONE;
use crate::guide::{Guide, guides};
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
    /// Per group, edges of whose shared cost it may hold nothing. Empty: no such edges.
    pub barred: Vec<Bits>,
    /// Known trees that guide the cuts, per group and union. Empty: none.
    pub guides: Vec<Guide>,
    /// How far a cut may outgrow the next smallest one, as a part of its size.
    pub loose: f64,
}

impl Plan {
    /// Groups only, and guided by trees: where others have paid for an edge that a group does not
    /// use, its use would cost the group nothing more, so the group should hold none of its cost
    /// (complementary slackness, if the trees were optimal and the bound met them).
    pub fn guided(inst: &Instance, trees: &[Vec<u32>], place: &mut [u32]) -> Plan {
        let mut used = Bits::new(inst.edges());
        trees.iter().flatten().for_each(|edge| used.set(*edge));
        let barred = (trees.iter())
            .map(|tree| {
                let mut barred = used.clone();
                tree.iter().for_each(|edge| barred.unset(*edge));
                barred
            })
            .collect();
        Plan {
            barred,
            guides: guides(inst, trees, place),
            ..Plan::groups(inst)
        }
    }

    /// Groups only, without the unions.
    pub fn groups(inst: &Instance) -> Plan {
        Plan {
            order: (0..inst.groups()).collect(),
            ..Plan::new(inst)
        }
    }

    pub fn new(inst: &Instance) -> Plan {
        Plan {
            roots: inst.terminals.iter().map(|list| list[0]).collect(),
            order: (0..inst.parties()).collect(),
            share: Vec::new(),
            barred: Vec::new(),
            guides: Vec::new(),
            loose: looseness(inst),
        }
    }
}

/// Large graphs trade a little of the bound for speed.
pub(crate) fn looseness(inst: &Instance) -> f64 {
    if inst.nodes() > 20_000 { 1.0 } else { 0.25 }
}

/// The outcome of an ascent.
#[derive(Clone, Debug)]
pub(crate) struct Dual {
    /// Lower bound without the instance's offset; infinite if a terminal cannot be reached.
    pub bound: f64,
    pub roots: Vec<u32>,
    /// Per group and arc, how much dearer the arc is for the group than the lifted cuts account
    /// for; infinite where banned. Empty if there was not the memory for it.
    pub slack: Vec<Vec<f64>>,
    /// Per group, the edges of whose shared cost it holds some, ascending, and how much; empty with
    /// one group.
    pub held: Vec<Vec<(u32, f64)>>,
}

/// Groups whose ledgers would take more bytes than this together are taken in lots.
const ROOM: usize = 300_000_000;

/// Climbs as planned.
pub(crate) fn ascend(inst: &Instance, plan: &Plan, work: &mut Work) -> Dual {
    let mut climb = Climb {
        inst,
        plan,
        bound: 0.0,
        ledgers: Vec::new(),
        left: inst.shared.clone(),
        cuts: Cuts::new(inst),
    };
    let lot = (ROOM / (24 * inst.edges().max(1))).max(1);
    let mut dual = Dual {
        bound: 0.0,
        roots: plan.roots.clone(),
        slack: vec![Vec::new(); inst.parties()],
        held: vec![Vec::new(); inst.parties()],
    };
    for groups in plan.order.chunks(lot) {
        climb.ledgers = vec![None; inst.parties()];
        for group in groups {
            climb.open(*group, work);
        }
        climb.run(groups, work);
        dual.bound = climb.bound;
        if dual.bound.is_infinite() {
            return dual;
        }
        for (group, ledger) in climb.ledgers.iter_mut().enumerate() {
            if let Some(ledger) = ledger.take() {
                dual.held[group] = holdings(&ledger.held);
                dual.slack[group] = ledger.base;
            }
        }
        if groups.len() < plan.order.len() {
            dual.slack = vec![Vec::new(); inst.parties()];
        }
    }
    if plan.order.iter().any(|group| dual.slack[*group].is_empty()) {
        dual.slack.clear();
    }
    for slack in &mut dual.slack {
        for (arc, slack) in slack.iter_mut().enumerate() {
            *slack += climb.left[arc / 2];
        }
    }
    dual
}

/// What one group has lifted: the bound of it, arcs and what it puts on them, and what the group
/// holds of shared costs, both in order.
pub(crate) struct Book {
    pub bound: f64,
    pub loads: Vec<(u32, f64)>,
    pub held: Vec<(u32, f64)>,
}

/// Goes on from what groups have lifted before, `left` being what is left of the shared costs. `None`
/// if a terminal cannot be reached.
pub(crate) fn go_on(
    inst: &Instance,
    plan: &Plan,
    left: Vec<f64>,
    mut books: Vec<Book>,
    work: &mut Work,
) -> Option<(Vec<f64>, Vec<Book>)> {
    let mut climb = Climb {
        inst,
        plan,
        bound: 0.0,
        ledgers: Vec::new(),
        left,
        cuts: Cuts::new(inst),
    };
    let lot = (ROOM / (24 * inst.edges().max(1))).max(1);
    for groups in plan.order.chunks(lot) {
        climb.ledgers = vec![None; inst.parties()];
        for group in groups {
            let own = |edge| inst.own(*group, edge);
            let mut ledger = Ledger::new(inst, *group, plan.roots[*group], own);
            guide(plan, inst, *group, &mut ledger);
            let book = &books[*group];
            for (edge, held) in &book.held {
                ledger.held[*edge as usize] = *held;
                let at = 2 * *edge as usize;
                ledger.base[at..at + 2]
                    .iter_mut()
                    .for_each(|base| *base += held);
            }
            for (arc, load) in &book.loads {
                let base = &mut ledger.base[*arc as usize];
                *base = (*base - load).max(0.0);
            }
            climb.ledgers[*group] = Some(ledger);
        }
        climb.run(groups, work);
        if climb.bound.is_infinite() {
            return None;
        }
        for group in groups {
            if let Some(ledger) = climb.ledgers[*group].take() {
                let book = &mut books[*group];
                book.loads.clear();
                for (arc, base) in (0u32..).zip(&ledger.base) {
                    let price = inst.own(*group, arc / 2) + ledger.held[arc as usize / 2];
                    if *base < price {
                        book.loads.push((arc, price - base));
                    }
                }
            }
        }
        books[groups[0]].bound += std::mem::take(&mut climb.bound);
    }
    Some((climb.left, books))
}

/// The entries of a row that are not nothing: a group holds little of a large graph.
fn holdings(held: &[f64]) -> Vec<(u32, f64)> {
    let holds = (0u32..).zip(held.iter().copied());
    holds.filter(|(_, held)| *held > 0.0).collect()
}

/// Gives a ledger the group's guide, if the plan has any.
fn guide(plan: &Plan, inst: &Instance, group: usize, ledger: &mut Ledger) {
    ledger.barred = plan.barred.get(group).cloned();
    if let Some(guide) = plan.guides.get(group) {
        ledger.up = vec![NONE; inst.nodes()];
        for (node, up) in guide {
            ledger.up[*node as usize] = *up;
        }
    }
}

/// All groups together, each cut reaching for whatever shared cost is left.
struct Climb<'a, 'p> {
    inst: &'a Instance<'p>,
    plan: &'a Plan,
    bound: f64,
    ledgers: Vec<Option<Ledger>>,
    /// Per edge, shared cost that no group holds.
    left: Vec<f64>,
    cuts: Cuts,
}

impl Climb<'_, '_> {
    /// Opens a group's ledger; if the plan gives it a share, uses that first.
    fn open(&mut self, group: usize, work: &mut Work) {
        let Climb { inst, plan, .. } = *self;
        let own = |edge| inst.own(group, edge);
        let share = plan.share.get(group).filter(|_| inst.parties() > 1);
        let Some(share) = share else {
            let mut ledger = Ledger::new(inst, group, plan.roots[group], own);
            guide(plan, inst, group, &mut ledger);
            self.ledgers[group] = Some(ledger);
            return;
        };
        let price = |edge| own(edge) + share[edge as usize];
        let mut ledger = Ledger::new(inst, group, plan.roots[group], price);
        guide(plan, inst, group, &mut ledger);
        let mut none = vec![0.0; inst.edges()];
        let terminals = &inst.terminals[group];
        self.bound += self
            .cuts
            .ascend(inst, &mut ledger, &mut none, terminals, plan.loose, work);
        for (edge, share) in share.iter().enumerate() {
            let base = &mut ledger.base[2 * edge..2 * edge + 2];
            let held = (share - base[0].min(base[1])).max(0.0);
            base.iter_mut()
                .for_each(|base| *base = (*base - share + held).max(0.0));
            ledger.held[edge] = held;
            self.left[edge] = (self.left[edge] - held).max(0.0);
        }
        ledger.wait(inst, group);
        self.ledgers[group] = Some(ledger);
    }

    /// Lifts cuts, the smallest first, until every terminal hangs on its root.
    fn run(&mut self, groups: &[usize], work: &mut Work) {
        let mut heap = BinaryHeap::new();
        for (rank, group) in groups.iter().enumerate() {
            let terminals = self.inst.terminals[*group].iter();
            let others = terminals.filter(|node| **node != self.plan.roots[*group]);
            heap.extend(others.map(|node| Reverse((1u32, rank, *node))));
        }
        let Climb {
            inst,
            plan,
            bound,
            ledgers,
            left,
            cuts,
        } = self;
        let mut late = Vec::new();
        let mut strict = !plan.guides.is_empty();
        loop {
            let Some(Reverse((_, rank, node))) = heap.pop() else {
                if late.is_empty() {
                    break;
                }
                strict = false;
                heap.extend(late.drain(..));
                continue;
            };
            if work.broken_off() {
                break;
            }
            let next = heap.peek().map_or(u32::MAX, |Reverse((size, _, _))| *size);
            let Some(ledger) = &mut ledgers[groups[rank]] else {
                continue;
            };
            let most = (limit(next, plan.loose), strict);
            let (end, height) = cuts.lift(inst, ledger, left, node, most, work);
            *bound += height;
            match end {
                End::Large => heap.push(Reverse((cuts.members.len() as u32, rank, node))),
                End::Joined => ledger.waiting.unset(node),
                End::Crossed => late.push(Reverse((cuts.members.len() as u32, rank, node))),
                End::Stuck => {
                    *bound = f64::INFINITY;
                    return;
                }
            }
        }
    }
}
