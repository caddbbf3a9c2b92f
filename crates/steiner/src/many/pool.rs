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
//! cuts, and they join the others. What the steps hold need not be feasible: cuts are lowered until
//! no arc bears more than its price, and an ascent goes on from there, so that the bound never rests
//! on the steps.

use super::frame::{Frame, Ties};
use crate::bits::Bits;
use crate::flow::Flows;
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
const PATIENCE: u32 = 4;
/// Cuts lifted by less than this part of a usual price are left out. Measured: fewer cuts take less
/// time, but a tenth of them hardly bounds at all.
const LEAST: f64 = 0.005;

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
        let mut shared: Vec<f64> = inst.shared.iter().copied().filter(|s| *s > 0.0).collect();
        shared.sort_unstable_by(f64::total_cmp);
        let weight = shared.get(shared.len() / 2).copied().unwrap_or(1.0);
        Pool {
            sides,
            weight,
            least: weight * LEAST,
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
        let ties = Ties::new(inst, &frames);
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

    /// Lifts that fit what each party has of the shared costs.
    pub fn starts(&mut self, inst: &Instance) -> Vec<Start> {
        (self.sides.par_iter_mut().enumerate())
            .map(|(party, side)| side.start(inst, party))
            .collect()
    }
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

    /// Lowers every cut until no arc bears more than its price.
    fn start(&mut self, inst: &Instance, party: usize) -> Start {
        let mut loads = vec![0.0; 2 * inst.edges()];
        for cut in &self.cuts {
            cut.arcs
                .iter()
                .for_each(|arc| loads[*arc as usize] += cut.lift);
        }
        let scale: Vec<f64> = (loads.iter().enumerate())
            .map(|(arc, load)| {
                let price = inst.own(party, arc as u32 / 2) + self.part[arc / 2];
                if *load > price {
                    self.tight.set(arc as u32);
                    price / load
                } else {
                    1.0
                }
            })
            .collect();
        let mut start = Start::default();
        loads.fill(0.0);
        for cut in self.cuts.iter().filter(|cut| cut.lift > 0.0) {
            let least = (cut.arcs.iter())
                .filter(|arc| inst.open(party, **arc / 2))
                .map(|arc| scale[*arc as usize])
                .fold(1.0, f64::min);
            let lift = cut.lift * least * (1.0 - 1e-12);
            start.bound += lift;
            cut.arcs.iter().for_each(|arc| loads[*arc as usize] += lift);
        }
        start.loads = (loads.into_iter().enumerate())
            .filter(|(arc, load)| *load > 0.0 && inst.open(party, *arc as u32 / 2))
            .map(|(arc, load)| (arc as u32, load))
            .collect();
        start
    }
}
