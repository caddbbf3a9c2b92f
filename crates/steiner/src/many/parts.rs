//! The parts themselves: who holds how much of which shared cost, and the step to other parts.

use super::pool::Start;
use super::slate::{Part, Report};
use crate::instance::Instance;
use std::sync::Arc;

/// What one group or union holds: rows of the same length, ordered by edge.
#[derive(Clone, Default)]
pub(crate) struct Party {
    pub edges: Vec<u32>,
    pub now: Vec<f64>,
    best: Vec<f64>,
    /// How often its trees used the edge of late.
    mean: Vec<f64>,
    /// Lifted cuts that fit the present parts, and such that fit the best.
    start: Arc<Start>,
    best_start: Arc<Start>,
}

/// How far to go: the step along the mean gains this much where it is straight.
pub(crate) struct Step {
    pub length: f64,
}

/// Weight of the trees so far against those of one round.
const KEEP: f64 = 0.7;

/// Uses rarer than this are forgotten.
const RARE: f64 = 1e-3;

/// Begins with what groups and unions hold and the lifted cuts that fit it; unions get all that is
/// left.
pub(crate) fn of_lifted<'a>(
    inst: &Instance,
    lifted: impl Iterator<Item = (&'a [u32], &'a [f64], Start)>,
) -> Vec<Party> {
    let mut left = inst.shared.clone();
    let mut parties: Vec<Party> = lifted
        .map(|(edges, held, start)| {
            let mut party = Party::default();
            for (edge, held) in edges.iter().zip(held) {
                party.push(*edge, *held);
                let left = &mut left[*edge as usize];
                *left = (*left - held).max(0.0);
            }
            party.start = Arc::new(start);
            party.best_start = party.start.clone();
            party
        })
        .collect();
    let unions = inst.parties() - inst.groups();
    for union in &mut parties[inst.groups()..] {
        let old = std::mem::take(union);
        let mut at = 0;
        for (edge, left) in left.iter().enumerate() {
            let held = if old.edges.get(at) == Some(&(edge as u32)) {
                at += 1;
                old.now[at - 1]
            } else {
                0.0
            };
            if held + left > 0.0 {
                // Sums must stay within the shared cost however they are added up.
                let more = left / unions as f64 * (1.0 - 1e-12);
                union.push(edge as u32, held + more);
            }
        }
        union.start = old.start;
        union.best_start = old.best_start;
    }
    parties
}

impl Party {
    fn push(&mut self, edge: u32, part: f64) {
        self.edges.push(edge);
        self.now.push(part);
        self.best.push(part);
        self.mean.push(0.0);
    }

    /// The present parts, edge by edge.
    pub fn now<'a>(&'a self, guide: &'a [(u32, u32)]) -> Part<'a> {
        Part {
            edges: &self.edges,
            part: &self.now,
            guide,
            start: &self.start,
        }
    }

    /// The best parts, edge by edge.
    pub fn best<'a>(&'a self, guide: &'a [(u32, u32)]) -> Part<'a> {
        Part {
            guide,
            edges: &self.edges,
            part: &self.best,
            start: &self.best_start,
        }
    }

    /// The best parts as a row over all edges.
    pub fn dense(&self, edges: usize) -> Vec<f64> {
        let mut row = vec![0.0; edges];
        for (edge, part) in self.edges.iter().zip(&self.best) {
            row[*edge as usize] = *part;
        }
        row
    }

    /// Notes the present parts as the best.
    pub fn keep(&mut self) {
        self.best.clone_from(&self.now);
        self.best_start = self.start.clone();
    }

    /// Goes back to the best parts.
    pub fn back(&mut self) {
        self.now.clone_from(&self.best);
        self.start = self.best_start.clone();
    }

    /// Counts the edges of a tree, and makes entries for those that have none; `spare` keeps in
    /// line with them.
    fn count(&mut self, inst: &Instance, tree: &[u32], spare: &mut Vec<f64>) {
        self.mean.iter_mut().for_each(|mean| *mean *= KEEP);
        let mut fresh = Vec::new();
        let mut at = 0;
        for edge in tree
            .iter()
            .filter(|edge| inst.shared[**edge as usize] > 0.0)
        {
            while at < self.edges.len() && self.edges[at] < *edge {
                at += 1;
            }
            if at < self.edges.len() && self.edges[at] == *edge {
                self.mean[at] += 1.0 - KEEP;
            } else {
                fresh.push(*edge);
            }
        }
        if !fresh.is_empty() {
            self.widen(&fresh, spare);
        }
    }

    fn widen(&mut self, fresh: &[u32], spare: &mut Vec<f64>) {
        let old = std::mem::take(self);
        self.best_start = old.best_start.clone();
        let old_spare = std::mem::take(spare);
        let mut fresh = fresh.iter().copied().peekable();
        for (at, (edge, old_spare)) in old.edges.iter().zip(old_spare).enumerate() {
            while let Some(new) = fresh.next_if(|new| new < edge) {
                self.push_used(new, spare);
            }
            self.edges.push(*edge);
            self.now.push(old.now[at]);
            self.best.push(old.best[at]);
            self.mean.push(old.mean[at]);
            spare.push(old_spare);
        }
        fresh.for_each(|new| self.push_used(new, spare));
    }

    /// An edge that a tree used for the first time.
    fn push_used(&mut self, edge: u32, spare: &mut Vec<f64>) {
        self.edges.push(edge);
        self.now.push(0.0);
        self.best.push(0.0);
        self.mean.push(1.0 - KEEP);
        spare.push(0.0);
    }
}

/// Lowers parts where together they are more than the shared cost.
pub(crate) fn fit(inst: &Instance, parties: &mut [Party]) {
    let mut sums = vec![0.0; inst.edges()];
    for party in &*parties {
        for (edge, now) in party.edges.iter().zip(&party.now) {
            sums[*edge as usize] += now;
        }
    }
    for party in parties {
        let mut lowered = false;
        for (edge, now) in party.edges.iter().zip(&mut party.now) {
            let (sum, shared) = (sums[*edge as usize], inst.shared[*edge as usize]);
            if sum > shared {
                lowered = true;
                *now *= shared / sum * (1.0 - 1e-15);
            }
        }
        if lowered {
            party.start = Arc::default();
        }
        party.keep();
    }
}

/// One entry of a party, found by its edge.
#[derive(Clone, Copy)]
struct Claim {
    party: u32,
    at: u32,
    part: f64,
    mean: f64,
    spare: f64,
}

/// All entries, edge by edge.
struct Claims {
    first: Vec<u32>,
    list: Vec<Claim>,
}

impl Claims {
    fn new(edges: usize, parties: &[Party], spare: &[Vec<f64>]) -> Claims {
        let mut first = vec![0u32; edges + 1];
        for edge in parties.iter().flat_map(|party| &party.edges) {
            first[*edge as usize + 1] += 1;
        }
        for at in 0..edges {
            first[at + 1] += first[at];
        }
        let none = Claim {
            party: 0,
            at: 0,
            part: 0.0,
            mean: 0.0,
            spare: 0.0,
        };
        let mut next = first.clone();
        let mut list = vec![none; first[edges] as usize];
        for (number, party) in parties.iter().enumerate() {
            for (at, edge) in party.edges.iter().enumerate() {
                let place = &mut next[*edge as usize];
                list[*place as usize] = Claim {
                    party: number as u32,
                    at: at as u32,
                    part: party.now[at],
                    mean: party.mean[at],
                    spare: spare[number][at],
                };
                *place += 1;
            }
        }
        Claims { first, list }
    }

    fn of(&self, edge: usize) -> &[Claim] {
        &self.list[self.first[edge] as usize..self.first[edge + 1] as usize]
    }
}

/// A step to other parts; returns the work it took.
pub(crate) fn step(inst: &Instance, parties: &mut [Party], reports: &[Report], step: &Step) -> u64 {
    let mut spare: Vec<Vec<f64>> = reports.iter().map(|report| report.spare.clone()).collect();
    for ((party, report), spare) in parties.iter_mut().zip(reports).zip(&mut spare) {
        party.count(inst, &report.tree, spare);
        party.start = Arc::default();
    }
    let claims = Claims::new(inst.edges(), parties, &spare);
    let norm: f64 = (0..inst.edges()).map(|edge| unrest(claims.of(edge))).sum();
    let length = step.length / norm.max(f64::MIN_POSITIVE);
    let mut next = Vec::new();
    for edge in 0..inst.edges() {
        let claims = claims.of(edge);
        if claims.is_empty() {
            continue;
        }
        divide(inst.shared[edge], claims, length, &mut next);
        for (claim, next) in claims.iter().zip(&next) {
            parties[claim.party as usize].now[claim.at as usize] = *next;
        }
    }
    claims.list.len() as u64
}

/// Square of the step's direction on one edge: uses less their mean.
fn unrest(claims: &[Claim]) -> f64 {
    let active = || {
        claims
            .iter()
            .filter(|claim| claim.mean > RARE || claim.part > 0.0)
    };
    let count = active().count();
    if count < 2 {
        return 0.0;
    }
    let mean = active().map(|claim| claim.mean).sum::<f64>() / count as f64;
    active().map(|claim| (claim.mean - mean).powi(2)).sum()
}

/// New parts of one shared cost.
fn divide(shared: f64, claims: &[Claim], length: f64, next: &mut Vec<f64>) {
    next.clear();
    next.extend(claims.iter().map(|claim| {
        claim.part
            + if claim.mean > RARE {
                length * claim.mean
            } else {
                0.0
            }
    }));
    let sum: f64 = next.iter().sum();
    if sum <= shared {
        let uses: f64 = claims.iter().map(|claim| claim.mean).sum();
        if uses > RARE {
            for (next, claim) in next.iter_mut().zip(claims) {
                *next += (shared - sum) * claim.mean / uses;
            }
        }
        return;
    }
    let spare: f64 = claims.iter().map(|claim| claim.spare).sum();
    if spare > 0.0 {
        let take = ((sum - shared) / spare).min(1.0);
        for (next, claim) in next.iter_mut().zip(claims) {
            *next -= claim.spare * take;
        }
    }
    trim(next, shared);
}

/// The nearest non-negative numbers that sum to `total` at most.
pub(super) fn trim(parts: &mut [f64], total: f64) {
    parts.iter_mut().for_each(|part| *part = part.max(0.0));
    loop {
        let over = parts.iter().sum::<f64>() - total;
        if over <= 0.0 {
            return;
        }
        let count = parts.iter().filter(|part| **part > 0.0).count();
        let by = over / count as f64;
        // Where a part is less than that, the others have to give more.
        let last = parts.iter().all(|part| *part <= 0.0 || *part >= by);
        parts
            .iter_mut()
            .for_each(|part| *part = (*part - by).max(0.0));
        if last {
            break;
        }
    }
    let sum: f64 = parts.iter().sum();
    if sum > total {
        parts
            .iter_mut()
            .for_each(|part| *part *= total / sum * (1.0 - 1e-15));
    }
}
