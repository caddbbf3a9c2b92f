//! Dividing the shared costs among the groups.
//!
//! Once each group bears its own part of every shared cost, the groups no longer touch, and the
//! sum of their single bounds bounds the whole. The parts are bettered step by step: what a group
//! does not hold goes to those that do, and groups whose trees use an edge come to bear more of it
//! (a subgradient step in the sense of M. Held, P. Wolfe and H. P. Crowder, "Validation of
//! subgradient optimization", Mathematical Programming 6, 1974).

use crate::ascent::{Dual, looseness};
use crate::cuts::{Cuts, Ledger};
use crate::grow::grow;
use crate::improve::Desk;
use crate::instance::{Instance, Work};

/// Parts of the shared costs, and the best parts so far.
pub(crate) struct Shares {
    /// Per group and edge; over all groups never more than the shared cost of the edge.
    pub part: Vec<Vec<f64>>,
    pub best: Vec<Vec<f64>>,
    pub bound: f64,
    /// Length of a step, as a part of the shared cost.
    pub step: f64,
    idle: u32,
    cuts: Cuts,
    /// Shared cost left to take: none, all of it is in the parts.
    none: Vec<f64>,
}

/// What one group made of its parts.
struct Report {
    bound: f64,
    /// Shared cost held, per edge.
    held: Vec<f32>,
    tree: Vec<u32>,
}

/// Steps without gain after which they become shorter.
const PATIENCE: u32 = 6;

impl Shares {
    /// Begins with what the groups hold after an ascent.
    pub fn new(inst: &Instance, dual: &Dual) -> Shares {
        Shares {
            bound: dual.bound,
            step: 0.5,
            ..Shares::resume(inst, &dual.held)
        }
    }

    /// Goes on from parts that were good for a nearby problem.
    pub fn resume(inst: &Instance, part: &[Vec<f64>]) -> Shares {
        let mut part = part.to_vec();
        for (edge, shared) in inst.shared.iter().enumerate() {
            let sum: f64 = part.iter().map(|part| part[edge]).sum();
            if sum > *shared {
                part.iter_mut().for_each(|part| part[edge] *= shared / sum);
            }
        }
        let best = part.clone();
        Shares {
            part,
            best,
            bound: 0.0,
            step: 0.2,
            idle: 0,
            cuts: Cuts::new(inst),
            none: vec![0.0; inst.edges()],
        }
    }

    /// One round: bounds at the present parts, then a step to better ones. Returns the trees, or
    /// `None` if a group cannot be joined.
    pub fn round(
        &mut self,
        inst: &Instance,
        roots: &[u32],
        desk: &mut Desk,
        work: &mut Work,
    ) -> Option<Vec<Vec<u32>>> {
        let mut reports = Vec::with_capacity(inst.groups());
        for (group, root) in roots.iter().enumerate() {
            let part = std::mem::take(&mut self.part[group]);
            let report = self.ask(inst, group, &part, *root, desk, work);
            self.part[group] = part;
            reports.push(report?);
        }
        let bound: f64 = reports.iter().map(|report| report.bound).sum();
        if bound > self.bound * (1.0 + 1e-6) {
            self.idle = 0;
        } else {
            self.idle += 1;
        }
        if bound > self.bound {
            self.bound = bound;
            self.best.clone_from(&self.part);
        }
        if self.idle > PATIENCE {
            self.idle = 0;
            self.step *= 0.6;
            self.part.clone_from(&self.best);
        }
        let mut used = vec![Vec::new(); inst.edges()];
        for (group, report) in reports.iter().enumerate() {
            for edge in &report.tree {
                used[*edge as usize].push(group);
            }
        }
        for (edge, users) in used.iter().enumerate() {
            self.divide(inst.shared[edge], edge, users, &reports);
        }
        Some(reports.into_iter().map(|report| report.tree).collect())
    }

    fn ask(
        &mut self,
        inst: &Instance,
        group: usize,
        part: &[f64],
        root: u32,
        desk: &mut Desk,
        work: &mut Work,
    ) -> Option<Report> {
        let price = |edge| inst.own(group, edge) + part[edge as usize];
        let mut ledger = Ledger::new(inst, group, root, price);
        let terminals = &inst.terminals[group];
        let none = &mut self.none;
        let bound = self
            .cuts
            .ascend(inst, &mut ledger, none, terminals, looseness(inst), work);
        if bound.is_infinite() {
            return None;
        }
        let mut seen = vec![f64::INFINITY; inst.edges()];
        let mut held = vec![0.0f32; seen.len()];
        for edge in (0..inst.edges()).filter(|edge| inst.open(group, *edge as u32)) {
            let least = ledger.base[2 * edge].min(ledger.base[2 * edge + 1]);
            held[edge] = (part[edge] - least).max(0.0) as f32;
            if least <= 0.0 {
                seen[edge] = price(edge as u32);
            }
        }
        let tree = grow(inst, &seen, root, terminals, &mut desk.reach, work)?;
        Some(Report { bound, held, tree })
    }

    /// Divides the shared cost of one edge anew.
    fn divide(&mut self, shared: f64, edge: usize, users: &[usize], reports: &[Report]) {
        if shared <= 0.0 {
            return;
        }
        let full = |group: usize, part: f64| {
            part > 0.0 && f64::from(reports[group].held[edge]) >= part * (1.0 - 1e-6)
        };
        let parts: Vec<f64> = self.part.iter().map(|part| part[edge]).collect();
        let takers: Vec<usize> = if users.is_empty() {
            (0..parts.len())
                .filter(|group| full(*group, parts[*group]))
                .collect()
        } else {
            users.to_vec()
        };
        if takers.is_empty() {
            return;
        }
        let mut next: Vec<f64> = Vec::with_capacity(parts.len());
        for (group, part) in parts.iter().enumerate() {
            next.push(part.min(f64::from(reports[group].held[edge])));
        }
        let rest = (shared - next.iter().sum::<f64>()).max(0.0);
        for group in &takers {
            next[*group] += rest / takers.len() as f64;
            if !users.is_empty() {
                next[*group] += self.step * shared / takers.len() as f64;
            }
        }
        trim(&mut next, shared);
        for (part, next) in self.part.iter_mut().zip(next) {
            part[edge] = next;
        }
    }
}

/// The nearest non-negative numbers that sum to `total` at most.
fn trim(parts: &mut [f64], total: f64) {
    let mut down: Vec<f64> = parts.to_vec();
    down.sort_unstable_by(|a, b| b.total_cmp(a));
    let (mut sum, mut cut) = (0.0, 0.0);
    for (at, part) in down.iter().enumerate() {
        sum += part;
        let level = (sum - total) / (at + 1) as f64;
        if level >= *part {
            break;
        }
        cut = level;
    }
    let cut = cut.max(0.0);
    for part in parts.iter_mut() {
        *part = (*part - cut).max(0.0);
    }
    let sum: f64 = parts.iter().sum();
    if sum > total && sum > 0.0 {
        parts.iter_mut().for_each(|part| *part *= total / sum);
    }
}
