//! Dividing the shared costs by the cuts seen so far.
//!
//! The cuts that ascents lifted make a linear program: trees in part, crossing every cut once, at
//! least cost. Its dual says how far to lift each cut and how to divide each shared cost, all at
//! once, where a step along the groups' trees only sees who used an edge. It is followed by
//! primal-dual steps (A. Chambolle and T. Pock, "A first-order primal-dual algorithm for convex
//! problems with applications to imaging", Journal of Mathematical Imaging and Vision 40, 2011),
//! each variable and cut with a step of its own (the same, "Diagonal preconditioning for first
//! order primal-dual algorithms in convex optimization", ICCV 2011; both from memory). The mean of
//! their uses may cross a cut that no ascent has lifted by less than once: largest flows find such
//! cuts, and they join the others. What the steps hold need not be feasible: each shared cost is divided
//! as the cuts need it, they are lowered until no arc bears more than its price, and an ascent goes on
//! from there, so that the bound never rests on the steps.

use super::frame::{Frame, Ties};
use crate::bits::Bits;
use crate::flow::Flows;
use crate::grow::NONE;
use crate::guide::Guide;
use crate::instance::Instance;
use rayon::prelude::*;
use std::collections::BTreeSet;

/// A set of arcs of which a group's tree needs one.
#[derive(Clone)]
pub(crate) struct Cut {
    pub arcs: Vec<u32>,
    /// How far it is lifted.
    pub lift: f64,
    /// The same in the mean of the last steps.
    pub mean: f64,
    /// Runs since it was last lifted at all.
    pub idle: u32,
}

/// Lifted cuts with which an ascent begins.
#[derive(Clone, Default)]
pub(crate) struct Start {
    /// The lifts together.
    pub bound: f64,
    /// Arcs, and what the lifts put on each.
    pub loads: Vec<(u32, f64)>,
}

/// Rounds without gain after which steps along the cuts are given up.
const PATIENCE: u32 = 8;
/// Cuts that by now are lifted by less than this part of a usual price are left out.
const LEAST: f64 = 0.002;
/// How much a step in prices weighs against one in uses, in usual prices. Of 1, 2 and 4, this bounded
/// most in the same time at 100 heads.
const WEIGHT: f64 = 2.0;

/// Uses below this are none.
const FAINT: f64 = 1e-3;
/// A cut that is crossed by so much is not broken: the steps are not that exact. Measured: with
/// nested cuts, or with some use of every arc, there are more and they bound no better.
const WHOLE: f64 = 0.95;

impl Cut {
    pub fn new(arcs: Vec<u32>, lift: f64) -> Cut {
        Cut {
            arcs,
            lift,
            mean: 0.0,
            idle: 0,
        }
    }
}

/// The cuts of all groups and unions, and where the steps have come to.
pub(crate) struct Pool {
    sides: Vec<Side>,
    /// Price of a usual edge: how much a step in prices weighs against one in uses.
    weight: f64,
    /// Cuts lifted by less are left out.
    least: f64,
    /// Best bound so far, and rounds without gain.
    best: f64,
    idle: u32,
}

/// What is known of one group or union.
pub(super) struct Side {
    pub cuts: Vec<Cut>,
    /// Per arc, how far the group uses it.
    pub uses: Vec<f64>,
    /// The same in the mean of the last steps.
    pub mean: Vec<f64>,
    /// Per edge, the group's part of its shared cost.
    pub part: Vec<f64>,
    /// Arcs that once bore more than their price.
    pub tight: Bits,
}

impl Pool {
    /// Begins with known trees and a division of the shared costs.
    pub fn new(inst: &Instance, guides: &[Guide], parts: Vec<Vec<f64>>) -> Pool {
        let sides = (parts.into_iter().enumerate())
            .map(|(party, part)| Side {
                cuts: Vec::new(),
                uses: uses(inst, guides.get(party).map_or(&[], Vec::as_slice)),
                mean: vec![0.0; 2 * inst.edges()],
                part,
                tight: Bits::new(2 * inst.edges()),
            })
            .collect();
        let usual = usual(inst);
        Pool {
            sides,
            weight: usual * WEIGHT,
            least: usual * LEAST,
            best: 0.0,
            idle: 0,
        }
    }

    /// Takes in cuts that an ascent lifted.
    pub fn add(&mut self, party: usize, cuts: Vec<Cut>) {
        let least = self.least;
        self.sides[party]
            .cuts
            .extend(cuts.into_iter().filter(|cut| cut.lift >= least));
    }

    /// Takes note of a bound that an ascent made of the steps.
    pub fn note(&mut self, bound: f64) {
        self.idle = if bound > self.best * (1.0 + 1e-4) {
            0
        } else {
            self.idle + 1
        };
        self.best = self.best.max(bound);
    }

    /// Whether the last rounds hardly gained.
    pub fn stalls(&self) -> bool {
        self.idle >= PATIENCE
    }

    /// How far a group uses an edge.
    pub fn used(&self, party: usize, edge: u32) -> f64 {
        let uses = &self.sides[party].uses;
        (uses[2 * edge as usize] + uses[2 * edge as usize + 1]).min(1.0)
    }

    /// So many steps; returns the work they took.
    pub fn run(&mut self, inst: &Instance, steps: usize) -> u64 {
        let mut frames: Vec<Frame> = (self.sides.par_iter_mut().enumerate())
            .map(|(party, side)| Frame::new(inst, party, side))
            .collect();
        let ties = Ties::new(inst, &mut frames);
        self.give_up(&frames, inst.edges());
        let mut old = Vec::new();
        for _ in 0..steps {
            let weight = self.weight;
            frames.par_iter_mut().for_each(|frame| frame.step(weight));
            ties.step(&mut frames, weight, &mut old);
        }
        let size: usize = frames.iter().map(|frame| frame.vars.len()).sum();
        for (side, frame) in self.sides.iter_mut().zip(frames) {
            frame.put_back(side);
        }
        (size * steps) as u64 / STEPS_A_LOOK
    }

    /// Adds cuts that the mean of the last steps crosses by less than once; returns the work they took.
    pub fn separate(&mut self, inst: &Instance) -> u64 {
        (self.sides.par_iter_mut().enumerate())
            .map(|(party, side)| {
                let (cuts, work) = side.broken(inst, party);
                side.cuts.extend(cuts);
                work
            })
            .sum()
    }

    /// Who has no cut across an edge holds nothing of it, if somebody else has one.
    fn give_up(&mut self, frames: &[Frame], edges: usize) {
        let mut claimed = vec![false; edges];
        for edge in frames.iter().flat_map(|frame| &frame.edges) {
            claimed[*edge as usize] = true;
        }
        for side in &mut self.sides {
            // Those in the frame get theirs back from it.
            for (part, _) in side.part.iter_mut().zip(&claimed).filter(|(_, c)| **c) {
                *part = 0.0;
            }
        }
    }

    /// Lifts near the mean of the last steps that are feasible together.
    pub fn starts(&mut self, inst: &Instance) -> Vec<Start> {
        let mut parts: Vec<Vec<f64>> = (self.sides.par_iter().enumerate())
            .map(|(party, side)| side.needs(inst, party))
            .collect();
        let mut sums = vec![0.0; inst.edges()];
        for part in &parts {
            sums.iter_mut()
                .zip(part)
                .for_each(|(sum, part)| *sum += part);
        }
        for part in &mut parts {
            for ((part, sum), shared) in part.iter_mut().zip(&sums).zip(&inst.shared) {
                if sum > shared {
                    *part *= shared / sum * (1.0 - SAFELY);
                }
            }
        }
        (self.sides.par_iter_mut().zip(parts).enumerate())
            .map(|(party, (side, part))| side.start(inst, party, &part))
            .collect()
    }
}

/// By how much more cuts are lowered than they need be, for what is lost in rounding.
const SAFELY: f64 = 1e-12;

/// The median of the shared costs that are not nothing.
pub(super) fn usual(inst: &Instance) -> f64 {
    let mut shared: Vec<f64> = inst.shared.iter().copied().filter(|s| *s > 0.0).collect();
    shared.sort_unstable_by(f64::total_cmp);
    shared.get(shared.len() / 2).copied().unwrap_or(1.0)
}

/// Steps pass over numbers in a row, many of them in the time of one look at an arc (measured).
const STEPS_A_LOOK: u64 = 6;

/// A guiding tree as uses of arcs.
fn uses(inst: &Instance, guide: &[(u32, u32)]) -> Vec<f64> {
    let mut uses = vec![0.0; 2 * inst.edges()];
    for (node, up) in guide {
        let links = inst.links.of(*node);
        if let Some(link) = links.iter().find(|link| link.to == *up) {
            uses[(link.arc ^ 1) as usize] = 1.0;
        }
    }
    uses
}

impl Side {
    /// Cuts that the mean of the uses crosses by less than once, none of them known.
    fn broken(&self, inst: &Instance, party: usize) -> (Vec<Cut>, u64) {
        let terminals = &inst.terminals[party];
        let mut known: BTreeSet<Vec<u32>> = (self.cuts.iter())
            .map(|cut| {
                let mut arcs = cut.arcs.clone();
                arcs.sort_unstable();
                arcs
            })
            .collect();
        let mut flows = Flows::new(inst);
        let shut: Vec<bool> = (0..2 * inst.edges() as u32)
            .map(|arc| !inst.open(party, arc / 2))
            .collect();
        let uses = (0..).zip(&self.mean).filter(|(_, uses)| **uses > FAINT);
        flows.load(uses.map(|(arc, uses)| (arc, *uses)), &shut, 0.0);
        let mut broken = Vec::new();
        for terminal in &terminals[1..] {
            for arcs in flows.cuts(inst, (terminals[0], *terminal), 1) {
                let crossed: f64 = arcs.iter().map(|arc| self.mean[*arc as usize]).sum();
                if crossed < WHOLE && known.insert(arcs.clone()) {
                    broken.push(Cut::new(arcs, 0.0));
                }
            }
        }
        (broken, flows.work)
    }

    /// What the cuts put on each arc.
    fn loads(&self, inst: &Instance, lifts: &[f64]) -> Vec<f64> {
        let mut loads = vec![0.0; 2 * inst.edges()];
        for (cut, lift) in self.cuts.iter().zip(lifts).filter(|(_, lift)| **lift > 0.0) {
            cut.arcs.iter().for_each(|arc| loads[*arc as usize] += lift);
        }
        loads
    }

    fn means(&self) -> Vec<f64> {
        self.cuts.iter().map(|cut| cut.mean).collect()
    }

    /// Per edge, the part of the shared cost that the cuts need to be feasible.
    fn needs(&self, inst: &Instance, party: usize) -> Vec<f64> {
        let loads = self.loads(inst, &self.means());
        let need = |edge: u32| {
            let at = 2 * edge as usize;
            let load = loads[at].max(loads[at + 1]);
            (load - inst.own(party, edge)).max(0.0)
        };
        (0..inst.edges() as u32)
            .map(|edge| {
                if inst.open(party, edge) {
                    need(edge)
                } else {
                    0.0
                }
            })
            .collect()
    }

    /// Lowers cuts until no arc bears more than its price: at one arc after the other, the one that
    /// bears most of its price first, since whatever is lowered there relieves others too.
    fn start(&mut self, inst: &Instance, party: usize, part: &[f64]) -> Start {
        let mut lifts = self.means();
        let loads = self.loads(inst, &lifts);
        let price = |arc: u32| inst.own(party, arc / 2) + part[arc as usize / 2];
        let mut over: Vec<(f64, u32)> = (0u32..)
            .zip(&loads)
            .filter(|(arc, load)| **load > price(*arc) && inst.open(party, arc / 2))
            .map(|(arc, load)| (price(arc) / load, arc))
            .collect();
        over.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut place = vec![NONE; loads.len()];
        for (at, (_, arc)) in (0u32..).zip(&over) {
            self.tight.set(*arc);
            place[*arc as usize] = at;
        }
        let mut crossing: Vec<Vec<u32>> = vec![Vec::new(); over.len()];
        for (at, cut) in (0u32..).zip(&self.cuts) {
            for arc in cut.arcs.iter().filter(|_| cut.mean > 0.0) {
                if let Some(list) = crossing.get_mut(place[*arc as usize] as usize) {
                    list.push(at);
                }
            }
        }
        for ((_, arc), cuts) in over.iter().zip(&crossing) {
            let load: f64 = cuts.iter().map(|cut| lifts[*cut as usize]).sum();
            let share = price(*arc) * (1.0 - SAFELY) / load;
            if share < 1.0 {
                cuts.iter().for_each(|cut| lifts[*cut as usize] *= share);
            }
        }
        let loads = (0u32..).zip(self.loads(inst, &lifts));
        Start {
            bound: lifts.iter().sum(),
            loads: loads
                .filter(|(arc, load)| *load > 0.0 && inst.open(party, arc / 2))
                .collect(),
        }
    }
}
