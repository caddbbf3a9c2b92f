//! Dividing the shared costs among groups and unions.
//!
//! Once each group bears its own part of every shared cost, the groups no longer touch, and the
//! sum of their single bounds bounds the whole. [`joint`] finds such parts with cuts of all groups that
//! are lifted side by side; where all cuts can be held, [`pool`] betters them by steps along the cuts.
//! When branching, the parts are bettered step by step along a mean of the trees that the groups
//! choose (F. Barahona and R. Anbil, "The volume algorithm: producing primal solutions with a
//! subgradient method", Mathematical Programming 87, 2000), with the length of a step after B. T.
//! Polyak, "Minimization of unsmooth functionals", USSR Computational Mathematics and Mathematical
//! Physics 9, 1969 (from memory). What a group has to spare after its ascent is taken before anything
//! that it needs.
//!
//! Parts are kept for those edges only that a group came to hold or use, so that memory and time
//! follow what the groups reach, not groups times edges.

mod frame;
mod joint;
mod parts;
mod pool;
mod slate;
#[cfg(test)]
mod tests;
mod turn;
mod walk;

use crate::ascent::looseness;
use crate::bits::Bits;
use crate::guide::{Guide, guides};
use crate::instance::{Instance, Work};
pub(crate) use joint::Joint;
pub(crate) use parts::Party;
use parts::Step;
use rayon::prelude::*;
use slate::{Report, Slate};
use std::sync::Mutex;

/// A division of the shared costs, and the best one so far.
pub(crate) struct Division {
    parties: Vec<Party>,
    guides: Vec<Guide>,
    pub bound: f64,
    /// Length of a step, as a part of Polyak's.
    theta: f64,
    idle: u32,
    /// Rounds so far.
    pub rounds: usize,
    loose: f64,
    desk: Mutex<Vec<Slate>>,
}

/// Rounds without gain after which steps become shorter and begin again from the best parts.
const PATIENCE: u32 = 10;
/// First length of a step. Measured: longer ones lose what the first ascent gave.
const FIRST_STEP: f64 = 0.15;

impl Division {
    /// Goes on from parts that were good for a nearby problem.
    pub fn resume(inst: &Instance, parts: &[Party]) -> Division {
        let mut parties = parts.to_vec();
        parts::fit(inst, &mut parties);
        Division::of(inst, parties)
    }

    /// Goes on from cuts that are lifted side by side.
    pub fn after(inst: &Instance, joint: &Joint) -> Division {
        Division {
            bound: joint.bound,
            ..Division::of(inst, joint.parties(inst))
        }
    }

    /// Before any round.
    fn of(inst: &Instance, parties: Vec<Party>) -> Division {
        Division {
            parties,
            guides: Vec::new(),
            bound: 0.0,
            theta: FIRST_STEP,
            idle: 0,
            rounds: 0,
            loose: looseness(inst),
            desk: Mutex::default(),
        }
    }

    /// The best parts.
    pub fn best_parts(&self) -> Vec<Party> {
        let mut parties = self.parties.clone();
        parties.iter_mut().for_each(Party::back);
        parties
    }

    /// The best parts as a row over all edges per party.
    pub fn dense(&self, inst: &Instance) -> Vec<Vec<f64>> {
        (self.parties.iter())
            .map(|party| party.dense(inst.edges()))
            .collect()
    }

    /// Bans, per group and union, every edge whose use would cost more than `most` (without the
    /// instance's offset), by the slacks at the best parts; what is banned for a union is banned for
    /// its groups, since a union can be routed through any edge that one of its groups uses.
    /// Returns the bound; infinite if no solution is as cheap as `most`.
    pub fn fix(&mut self, inst: &mut Instance, most: f64, work: &mut Work) -> f64 {
        if self.bound < most * TOO_FAR {
            return self.bound;
        }
        let bounds: Vec<Option<f64>> = (self.parties.par_iter().enumerate())
            .map(|(group, party)| {
                let part = party.best(self.guide(group));
                self.with_slate(inst, |slate| slate.ascend(inst, group, part, self.loose))
            })
            .collect();
        let Some(bound) = bounds.into_iter().sum::<Option<f64>>() else {
            return f64::INFINITY;
        };
        let room = most - bound;
        if room < 0.0 {
            return f64::INFINITY;
        }
        let kept: Vec<(Vec<u32>, u64)> = (self.parties.par_iter().enumerate())
            .map(|(group, party)| {
                let part = party.best(self.guide(group));
                self.with_slate(inst, |slate| {
                    slate.within(inst, group, part, self.loose, room)
                })
            })
            .collect();
        let mut open = Vec::with_capacity(kept.len());
        for (kept, done) in &kept {
            work.done += done;
            let mut bits = Bits::new(inst.edges());
            kept.iter().for_each(|edge| bits.set(*edge));
            open.push(bits);
        }
        for (group, open_here) in open.iter().enumerate() {
            inst.banned[group].set_all_but(open_here);
            if let Some(union) = inst.union_of.get(group).copied().flatten() {
                inst.banned[group].set_all_but(&open[union]);
            }
        }
        bound
    }

    /// One round: bounds at the present parts, then a step to better ones that aims at `target`.
    /// Returns the trees of the groups, or `None` if a group cannot be joined.
    pub fn round(
        &mut self,
        inst: &Instance,
        target: f64,
        work: &mut Work,
    ) -> Option<Vec<Vec<u32>>> {
        self.rounds += 1;
        let mut reports = self.ask(inst, work)?;
        let bound: f64 = reports.iter().map(|report| report.bound).sum();
        self.idle = if bound > self.bound * (1.0 + 1e-5) {
            0
        } else {
            self.idle + 1
        };
        if bound >= self.bound {
            self.bound = bound;
            self.parties.iter_mut().for_each(Party::keep);
        }
        if self.idle > PATIENCE {
            self.idle = 0;
            self.theta *= 0.7;
            self.parties.iter_mut().for_each(Party::back);
        } else {
            let length = self.theta * (target - bound).max(0.0);
            work.done += parts::step(inst, &mut self.parties, &reports, &Step { length });
        }
        reports.truncate(inst.groups());
        Some(reports.into_iter().map(|report| report.tree).collect())
    }

    /// Lets good trees guide the ascents from now on.
    pub fn follow(&mut self, inst: &Instance, trees: &[Vec<u32>], place: &mut [u32]) {
        self.guides = guides(inst, trees, place);
    }

    fn guide(&self, party: usize) -> &[(u32, u32)] {
        self.guides.get(party).map_or(&[], Vec::as_slice)
    }

    /// Asks every group and union, side by side.
    fn ask(&self, inst: &Instance, work: &mut Work) -> Option<Vec<Report>> {
        let reports: Option<Vec<Report>> = (self.parties.par_iter().enumerate())
            .map(|(group, party)| {
                self.with_slate(inst, |slate| {
                    let part = party.now(self.guide(group));
                    slate.ask(inst, group, part, self.loose)
                })
            })
            .collect();
        let reports = reports?;
        work.done += reports.iter().map(|report| report.work).sum::<u64>();
        Some(reports)
    }

    fn with_slate<T>(&self, inst: &Instance, run: impl FnOnce(&mut Slate) -> T) -> T {
        let kept = self.desk.lock().map_or(None, |mut desk| desk.pop());
        let mut slate = kept.unwrap_or_else(|| Slate::new(inst));
        let answer = run(&mut slate);
        if let Ok(mut desk) = self.desk.lock() {
            desk.push(slate);
        }
        answer
    }
}

/// With a bound below this part of the best cost, hardly an edge can be ruled out.
const TOO_FAR: f64 = 0.95;
/// Whether there is room for rows over all edges for every group at once.
pub(crate) fn is_dense(inst: &Instance) -> bool {
    inst.parties() * inst.edges() <= 6_000_000
}
