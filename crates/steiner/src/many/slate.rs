//! Dual ascent for one group at a time, touching only the part of the graph that its cuts reach.

use super::pool::{Cut, Start};
use crate::bits::Bits;
use crate::cuts::{End, entered, limit};
use crate::grow::{NONE, Queue, Reach};
use crate::instance::Instance;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What a group made of its part of the shared costs.
pub(crate) struct Report {
    /// Lower bound on the group's tree at its own costs plus its part.
    pub bound: f64,
    /// A tree along edges without slack, sorted.
    pub tree: Vec<u32>,
    /// Per entry of the part, how much of it the lifted cuts left unused.
    pub spare: Vec<f64>,
    /// Arcs looked at.
    pub work: u64,
}

/// Room for one group's ascent, as large as the graph; clean between uses.
pub(crate) struct Slate {
    /// Per arc, cost less what the lifted cuts put on it; only where `stamp` is of this use.
    pub(super) slack: Vec<f64>,
    pub(super) price: Vec<f64>,
    stamp: Vec<u32>,
    now: u32,
    /// Edges of this use.
    touched: Vec<u32>,
    /// Per edge, what may be taken of its shared cost besides the part, where it is not barred; empty
    /// if nothing.
    left: Vec<f64>,
    barred: Bits,
    /// How far the cut was lifted when a node joined it; infinite outside.
    pub(super) inside: Vec<f64>,
    pub(super) waiting: Vec<bool>,
    pub(super) members: Vec<u32>,
    border: Vec<(u32, f64)>,
    free: Vec<u32>,
    queue: Queue,
    pub(super) reach: Reach,
    pub(super) work: u64,
    /// Per node of the guiding tree, the node before it; [`NONE`] elsewhere.
    up: Vec<u32>,
    /// Cuts lifted so far, if they are wanted.
    log: Option<Vec<Cut>>,
    /// How many members a cut had before it was lifted further, and how far.
    stages: Vec<(u32, f64)>,
    /// Per member of a cut, its place among them; [`NONE`] elsewhere.
    rank: Vec<u32>,
    /// Slack is counted in whole grains of this size, so that no cut is lifted by less; 0: as it is.
    grain: f64,
}

/// So much of a grain, missing or left over, is rounding.
const ROUNDED: f64 = 1e-6;

/// A group's part of the shared costs: edges in order, and the part of each.
#[derive(Clone, Copy)]
pub(crate) struct Part<'a> {
    pub edges: &'a [u32],
    pub part: &'a [f64],
    pub guide: &'a [(u32, u32)],
    pub start: &'a Start,
}

impl Slate {
    pub fn new(inst: &Instance) -> Slate {
        let (nodes, edges) = (inst.nodes(), inst.edges());
        Slate {
            slack: vec![0.0; 2 * edges],
            price: vec![0.0; edges],
            stamp: vec![0; edges],
            now: 0,
            touched: Vec::new(),
            left: Vec::new(),
            barred: Bits::new(0),
            inside: vec![f64::INFINITY; nodes],
            waiting: vec![false; nodes],
            members: Vec::new(),
            border: Vec::new(),
            free: Vec::new(),
            queue: Queue::default(),
            reach: Reach::new(nodes),
            work: 0,
            up: vec![NONE; nodes],
            log: None,
            stages: Vec::new(),
            rank: vec![NONE; nodes],
            grain: 0.0,
        }
    }

    /// Bound, tree and what is to spare; `None` if a terminal cannot be reached.
    pub fn ask(&mut self, inst: &Instance, group: usize, part: Part, loose: f64) -> Option<Report> {
        let bound = self.ascend(inst, group, part, loose)?;
        let tree = self.tree(inst, group)?;
        let spare = (part.edges.iter().zip(part.part))
            .map(|(edge, part)| {
                self.touch(inst, group, *edge);
                let at = 2 * *edge as usize;
                self.slack[at].min(self.slack[at + 1]).min(*part)
            })
            .collect();
        Some(Report {
            bound,
            tree,
            spare,
            work: self.work,
        })
    }

    /// Lifts cuts as [`crate::cuts::Cuts::ascend`] does; `None` if a terminal cannot be reached.
    pub fn ascend(&mut self, inst: &Instance, group: usize, part: Part, loose: f64) -> Option<f64> {
        self.start(inst, group, part);
        let terminals = &inst.terminals[group];
        let root = terminals[0];
        for node in &terminals[1..] {
            self.waiting[*node as usize] = true;
        }
        let mut heap: BinaryHeap<Reverse<(u32, u32)>> = terminals[1..]
            .iter()
            .map(|node| Reverse((1, *node)))
            .collect();
        for (node, up) in part.guide {
            self.up[*node as usize] = *up;
        }
        let mut bound = Some(part.start.bound);
        let mut late = Vec::new();
        let mut strict = !part.guide.is_empty();
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
            let end = self.lift(inst, group, root, node, limit(next, loose), strict);
            let size = self.members.len() as u32;
            let Some((end, height)) = end else {
                bound = None;
                break;
            };
            bound = bound.map(|bound| bound + height);
            match end {
                End::Joined => self.waiting[node as usize] = false,
                End::Crossed => late.push(Reverse((size, node))),
                End::Large | End::Stuck => heap.push(Reverse((size, node))),
            }
        }
        for (node, _) in part.guide {
            self.up[*node as usize] = NONE;
        }
        for node in terminals {
            self.waiting[*node as usize] = false;
        }
        bound
    }

    /// The same; with a grain, first by cuts that are lifted by whole grains, which are returned too.
    pub fn ascend_noting(
        &mut self,
        inst: &Instance,
        group: usize,
        part: Part,
        loose: f64,
        grain: Option<f64>,
    ) -> (Option<f64>, Vec<Cut>) {
        let Some(grain) = grain else {
            return (self.ascend(inst, group, part, loose), Vec::new());
        };
        (self.grain, self.log) = (grain, Some(Vec::new()));
        let bound = self.ascend(inst, group, part, loose);
        self.grain = 0.0;
        let cuts = self.log.take().unwrap_or_default();
        let Some(bound) = bound else {
            return (None, cuts);
        };
        let start = Start {
            bound,
            loads: self.loads(),
        };
        let work = self.work;
        let start = &start;
        let bound = self.ascend(inst, group, Part { start, ..part }, loose);
        self.work += work;
        (bound, cuts)
    }

    /// Lets ascents from now on take of what is left where it is not barred; returns what was left
    /// before.
    pub fn reach_for(&mut self, left: Vec<f64>, barred: Bits) -> Vec<f64> {
        self.barred = barred;
        std::mem::replace(&mut self.left, left)
    }

    /// What the lifted cuts put on arcs, in order of arc.
    pub fn loads(&mut self) -> Vec<(u32, f64)> {
        self.touched.sort_unstable();
        let mut loads = Vec::new();
        for edge in &self.touched {
            let price = self.price[*edge as usize];
            for arc in [2 * edge, 2 * edge + 1] {
                let load = price - self.slack[arc as usize];
                if load > 0.0 {
                    loads.push((arc, load));
                }
            }
        }
        loads
    }

    pub(super) fn start(&mut self, inst: &Instance, group: usize, part: Part) {
        self.work = 0;
        self.touched.clear();
        self.now = self.now.wrapping_add(1);
        if self.now == 0 {
            self.stamp.fill(0);
            self.now = 1;
        }
        for (edge, part) in part.edges.iter().zip(part.part) {
            self.touch(inst, group, *edge);
            let at = *edge as usize;
            self.price[at] += part;
            self.slack[2 * at] = self.price[at];
            self.slack[2 * at + 1] = self.price[at];
        }
        for (arc, load) in &part.start.loads {
            self.touch(inst, group, *arc / 2);
            let slack = &mut self.slack[*arc as usize];
            *slack = (*slack - load).max(0.0);
        }
    }

    pub(super) fn touch(&mut self, inst: &Instance, group: usize, edge: u32) {
        let at = edge as usize;
        if self.stamp[at] != self.now {
            self.stamp[at] = self.now;
            self.touched.push(edge);
            self.price[at] = if inst.open(group, edge) {
                let reaches = !self.left.is_empty() && !self.barred.get(edge);
                inst.own(group, edge) + if reaches { self.left[at] } else { 0.0 }
            } else {
                f64::INFINITY
            };
            self.slack[2 * at] = self.price[at];
            self.slack[2 * at + 1] = self.price[at];
        }
    }

    /// Lifts one cut; whether it met the root or another waiting terminal, and how far it was
    /// lifted; `None` if there is no way to the root.
    fn lift(
        &mut self,
        inst: &Instance,
        group: usize,
        root: u32,
        node: u32,
        most: u32,
        strict: bool,
    ) -> Option<(End, f64)> {
        self.members.clear();
        self.border.clear();
        self.free.clear();
        self.queue.clear();
        self.stages.clear();
        let mut height = 0.0;
        let mut crossings = entered(inst, &self.up, &self.inside, node);
        self.admit(inst, group, node, height);
        let end = loop {
            let next = match self.free.pop() {
                Some(arc) => Some((height, arc)),
                None => self.queue.pop(),
            };
            let Some((key, arc)) = next else { break None };
            let from = inst.tail(arc);
            if self.inside[from as usize].is_finite() {
                continue;
            }
            if strict && crossings > 1 && key > height {
                self.book(inst, height);
                break Some((End::Crossed, height));
            }
            if self.log.is_some() && key - height > ROUNDED * self.grain {
                self.stages.push((self.members.len() as u32, key - height));
            }
            height = f64::max(height, key);
            let joined = from == root || self.waiting[from as usize];
            if joined || self.members.len() as u32 > most {
                self.book(inst, height);
                break Some((if joined { End::Joined } else { End::Large }, height));
            }
            crossings += entered(inst, &self.up, &self.inside, from);
            self.admit(inst, group, from, height);
        };
        self.note(inst);
        for node in &self.members {
            self.inside[*node as usize] = f64::INFINITY;
        }
        end
    }

    /// Notes the cuts that were lifted on the way to the present members.
    fn note(&mut self, inst: &Instance) {
        let Some(log) = &mut self.log else { return };
        for (at, node) in self.members.iter().enumerate() {
            self.rank[*node as usize] = at as u32;
        }
        for (size, lift) in self.stages.drain(..) {
            let mut arcs = Vec::new();
            for node in &self.members[..size as usize] {
                let links = inst.links.of(*node).iter();
                let into = links
                    .filter(|link| self.rank[link.to as usize] >= size)
                    .map(|link| link.arc ^ 1)
                    .filter(|arc| self.slack[*arc as usize].is_finite());
                arcs.extend(into);
            }
            self.work += arcs.len() as u64;
            log.push(Cut::new(arcs, lift));
        }
        for node in &self.members {
            self.rank[*node as usize] = NONE;
        }
    }

    fn admit(&mut self, inst: &Instance, group: usize, node: u32, height: f64) {
        self.inside[node as usize] = height;
        self.members.push(node);
        let links = inst.links.of(node);
        self.work += links.len() as u64;
        for link in links {
            if self.inside[link.to as usize].is_finite() {
                continue;
            }
            let arc = link.arc ^ 1;
            self.touch(inst, group, link.edge());
            let mut slack = self.slack[arc as usize];
            if self.grain > 0.0 {
                slack = slack.min((slack / self.grain + ROUNDED).floor() * self.grain);
            }
            if slack > 0.0 {
                if slack.is_finite() {
                    self.border.push((arc, height));
                    self.queue.push(height + slack, arc);
                }
            } else {
                self.free.push(arc);
            }
        }
    }

    /// Books the lifting on the arcs that entered the cut while it was lifted.
    fn book(&mut self, inst: &Instance, height: f64) {
        // Rounding must not leave crumbs of slack, each of which would cost a round.
        let crumb = 1e-13 * height;
        for (arc, since) in &self.border {
            let until = self.inside[inst.tail(*arc) as usize].min(height);
            let slack = &mut self.slack[*arc as usize];
            *slack -= (until - since).max(0.0);
            if *slack <= crumb {
                *slack = 0.0;
            }
        }
    }
}
