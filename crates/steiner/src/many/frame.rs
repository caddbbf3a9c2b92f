//! Primal-dual steps along the cuts seen so far: what [`super::pool`] knows, without holes, one
//! frame for each group or union, and the shared costs that join them.

use super::parts::trim;
use super::pool::Side;
use crate::instance::Instance;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// Runs after which a cut that is not lifted any more is forgotten.
const IDLE: u32 = 2;

/// One party's part of the program, without holes.
pub(super) struct Frame {
    /// Arc of each variable, and the group's own cost of it.
    pub arcs: Vec<u32>,
    own: Vec<f64>,
    uses: Vec<f64>,
    /// The sum of the uses over so many steps.
    sum: Vec<f64>,
    steps: u32,
    /// Uses extrapolated, and what the cuts put on each.
    ahead: Vec<f64>,
    loads: Vec<f64>,
    /// One by the number of rows that a variable is in.
    pace: Vec<f64>,
    /// Per variable, its place among `edges`.
    edge_of: Vec<u32>,
    pub edges: Vec<u32>,
    part: Vec<f64>,
    /// Per edge, extrapolated uses both ways.
    both: Vec<f64>,
    /// Variables of each cut, one after the other. Cuts of the pool that are the same as far as the
    /// variables go are one cut here: of ascents at nearly the same prices, most are.
    first: Vec<u32>,
    pub vars: Vec<u32>,
    lifts: Vec<f64>,
    /// The sum of the lifts over so many steps.
    lift_sum: Vec<f64>,
    /// Per cut of the pool, the one of the frame.
    row_of: Vec<u32>,
}

/// Arcs that bear less than this part of their price, and never bore all, are left out of the steps.
const NEAR: f64 = 0.9;
const NO_VAR: u32 = u32::MAX;

impl Frame {
    pub fn new(inst: &Instance, party: usize, side: &Side) -> Frame {
        let mut arcs: Vec<u32> = (side.cuts.iter())
            .flat_map(|cut| cut.arcs.iter().copied())
            .collect();
        let mut var_of = vec![NO_VAR; 2 * inst.edges()];
        let mut loads = vec![0.0; 2 * inst.edges()];
        for cut in side.cuts.iter().filter(|cut| cut.lift > 0.0) {
            cut.arcs
                .iter()
                .for_each(|arc| loads[*arc as usize] += cut.lift);
        }
        for arc in &arcs {
            let at = *arc as usize;
            let price = inst.own(party, arc / 2) + side.part[at / 2];
            if inst.open(party, arc / 2)
                && (side.uses[at] > 0.0 || side.tight.get(*arc) || loads[at] >= price * NEAR)
            {
                var_of[at] = 0;
            }
        }
        arcs.clear();
        for (arc, var) in var_of.iter_mut().enumerate() {
            if *var != NO_VAR {
                *var = arcs.len() as u32;
                arcs.push(arc as u32);
            }
        }
        let mut edges: Vec<u32> = arcs.iter().map(|arc| arc / 2).collect();
        edges.dedup();
        let mut edge_of = Vec::with_capacity(arcs.len());
        let mut at = 0;
        for arc in &arcs {
            while edges[at] != arc / 2 {
                at += 1;
            }
            edge_of.push(at as u32);
        }
        let mut first = vec![0];
        let mut vars = Vec::new();
        let mut rows = vec![1u32; arcs.len()];
        let mut loads = vec![0.0; arcs.len()];
        let mut lifts: Vec<f64> = Vec::new();
        let mut row_of = Vec::with_capacity(side.cuts.len());
        let mut known: BTreeMap<Vec<u32>, u32> = BTreeMap::new();
        for cut in &side.cuts {
            let mut of_cut: Vec<u32> = (cut.arcs.iter())
                .map(|arc| var_of[*arc as usize])
                .filter(|var| *var != NO_VAR)
                .collect();
            of_cut.sort_unstable();
            for var in &of_cut {
                loads[*var as usize] += cut.lift;
            }
            let next = lifts.len() as u32;
            let row = match known.entry(of_cut) {
                Entry::Occupied(known) => *known.get(),
                Entry::Vacant(fresh) => {
                    for var in fresh.key() {
                        rows[*var as usize] += 1;
                    }
                    vars.extend_from_slice(fresh.key());
                    first.push(vars.len() as u32);
                    lifts.push(0.0);
                    *fresh.insert(next)
                }
            };
            lifts[row as usize] += cut.lift;
            row_of.push(row);
        }
        Frame {
            own: arcs.iter().map(|arc| inst.own(party, arc / 2)).collect(),
            uses: arcs.iter().map(|arc| side.uses[*arc as usize]).collect(),
            sum: vec![0.0; arcs.len()],
            steps: 0,
            ahead: vec![0.0; arcs.len()],
            pace: rows.iter().map(|rows| 1.0 / f64::from(*rows)).collect(),
            part: edges.iter().map(|edge| side.part[*edge as usize]).collect(),
            both: vec![0.0; edges.len()],
            lift_sum: vec![0.0; lifts.len()],
            lifts,
            row_of,
            arcs,
            loads,
            edge_of,
            edges,
            first,
            vars,
        }
    }

    /// Uses after the prices, then lifts after the uses.
    pub fn step(&mut self, weight: f64) {
        self.both.fill(0.0);
        self.steps += 1;
        for var in 0..self.arcs.len() {
            let edge = self.edge_of[var] as usize;
            let less = self.own[var] + self.part[edge] - self.loads[var];
            let old = self.uses[var];
            let new = (old - less * self.pace[var] / weight).max(0.0);
            self.uses[var] = new;
            self.sum[var] += new;
            self.ahead[var] = 2.0 * new - old;
            self.both[edge] += self.ahead[var];
        }
        self.loads.fill(0.0);
        for (at, lift) in self.lifts.iter_mut().enumerate() {
            let vars = &self.vars[self.first[at] as usize..self.first[at + 1] as usize];
            let crossed = crossed(&self.ahead, vars);
            *lift = (*lift + weight * (1.0 - crossed) / vars.len().max(1) as f64).max(0.0);
            self.lift_sum[at] += *lift;
            if *lift > 0.0 {
                vars.iter()
                    .for_each(|var| self.loads[*var as usize] += *lift);
            }
        }
    }

    pub fn put_back(self, side: &mut Side) {
        side.mean.fill(0.0);
        let steps = f64::from(self.steps.max(1));
        for ((arc, uses), sum) in self.arcs.iter().zip(&self.uses).zip(&self.sum) {
            side.uses[*arc as usize] = *uses;
            side.mean[*arc as usize] = sum / steps;
        }
        for (edge, part) in self.edges.iter().zip(&self.part) {
            side.part[*edge as usize] = *part;
        }
        let mut lifts = self.lifts;
        let mut sums = self.lift_sum;
        for (cut, row) in side.cuts.iter_mut().zip(self.row_of) {
            cut.lift = std::mem::take(&mut lifts[row as usize]);
            cut.mean = std::mem::take(&mut sums[row as usize]) / steps;
            cut.idle = if cut.lift > 0.0 { 0 } else { cut.idle + 1 };
        }
        side.cuts.retain(|cut| cut.idle < IDLE);
    }
}

/// Who has a say about which edge.
pub(super) struct Ties {
    /// Shared cost not held outside the frames, and the frames that reach for it: party, place of the edge.
    edges: Vec<(f64, Vec<(u32, u32)>)>,
}

impl Ties {
    pub fn new(inst: &Instance, frames: &mut [Frame]) -> Ties {
        let mut lists = vec![Vec::new(); inst.edges()];
        for (party, frame) in frames.iter().enumerate() {
            for (at, edge) in frame.edges.iter().enumerate() {
                lists[*edge as usize].push((party as u32, at as u32));
            }
        }
        let mut edges = Vec::new();
        for (shared, list) in inst.shared.iter().copied().zip(lists) {
            match *list {
                [] => {}
                // Nobody else reaches for it.
                [(party, at)] => frames[party as usize].part[at as usize] = shared,
                _ => edges.push((shared, list)),
            }
        }
        Ties { edges }
    }

    /// Parts after the uses, within the shared cost.
    pub fn step(&self, frames: &mut [Frame], weight: f64, parts: &mut Vec<f64>) {
        for (shared, list) in &self.edges {
            parts.clear();
            let mut sum = 0.0;
            for (party, at) in list {
                let frame = &frames[*party as usize];
                let at = *at as usize;
                let part = (frame.part[at] + 0.5 * weight * frame.both[at]).max(0.0);
                sum += part;
                parts.push(part);
            }
            if sum > *shared {
                trim(parts, *shared);
            }
            for ((party, at), part) in list.iter().zip(&*parts) {
                frames[*party as usize].part[*at as usize] = *part;
            }
        }
    }
}

/// The sum of some entries; four sums side by side, since each addition would wait for the one before.
fn crossed(ahead: &[f64], vars: &[u32]) -> f64 {
    let four = vars.chunks_exact(4);
    let rest: f64 = (four.remainder().iter())
        .map(|var| ahead[*var as usize])
        .sum();
    let mut sums = [0.0; 4];
    for vars in four {
        for (sum, var) in sums.iter_mut().zip(vars) {
            *sum += ahead[*var as usize];
        }
    }
    sums.iter().sum::<f64>() + rest
}
