//! Rounds of lifting cuts together within a search: better bounds, and now and then better trees.

use super::{Division, Joint};
use crate::instance::Instance;
use crate::search::{Search, is_small};
use crate::state::{State, route_all};

impl Search<'_> {
    /// Rounds of cuts lifted by all groups and unions side by side; in the end, the shared costs are
    /// divided as in the best of them, if that is better than before.
    pub fn lift_together(&mut self, until: u64, stop: &mut dyn FnMut(&Search) -> bool) {
        if self.inst.groups() < 2 {
            return;
        }
        let mut joint = self.joint.take().unwrap_or_else(|| {
            let keeps = holds_cuts(&self.inst);
            Joint::new(&self.inst, &self.best.trees, &mut self.desk.place, keeps)
        });
        let few = if holds_cuts(&self.inst) { FEW } else { 0 };
        while !self.closed() && !stop(self) {
            if self.work.done >= until && (self.work.out() || joint.rounds >= few) {
                break;
            }
            if joint.round(&self.inst, &mut self.work).is_none() {
                // Only better solutions were left in, so there is none.
                self.bound = self.best.cost;
                break;
            }
            self.lift(joint.bound);
            self.offer_along(&mut joint, until);
        }
        self.fix_after(&joint);
        self.joint = Some(joint);
    }

    /// Whether rounds by the cuts seen so far pay: on problems of which all cuts can be held, until
    /// they hardly gain any more.
    pub fn gathers(&self) -> bool {
        let joint = self.joint.as_ref();
        holds_cuts(&self.inst) && joint.is_some_and(|joint| !joint.stalls())
    }

    /// Whether branching pays: on the smallest problems, or where the bound is nearly there.
    pub fn branches(&self) -> bool {
        let near = self.bound > self.best.cost * NEARLY;
        let size = self.inst.parties() * self.inst.edges();
        is_small(&self.inst) && (near || size <= SMALLEST)
    }

    /// Rounds by the cuts seen so far, and trees grown where they use edges most.
    pub fn gather(&mut self, until: u64, stop: &mut dyn FnMut(&Search) -> bool) {
        let Some(mut joint) = self.joint.take() else {
            return;
        };
        while !self.closed() && self.work.done < until && !stop(self) && !joint.stalls() {
            if joint.gather(&self.inst, &mut self.work).is_none() {
                // Only better solutions were left in, so there is none.
                self.bound = self.best.cost;
                break;
            }
            self.lift(joint.bound);
            self.offer_along(&mut joint, until);
            self.grow_used(&joint, until);
            self.fix_after(&joint);
        }
        self.joint = Some(joint);
    }

    /// Trees along what a round left without slack, now and then improved; if they are the best so
    /// far, they guide the next rounds.
    fn offer_along(&mut self, joint: &mut Joint, until: u64) {
        if joint.trees.is_empty() {
            return;
        }
        let before = self.best.cost;
        let mut state = State::of(&self.inst, std::mem::take(&mut joint.trees));
        if joint.rounds.is_multiple_of(POLISHED) || state.cost < before {
            self.polish(&mut state, self.work.until(until));
        }
        self.offer(state);
        if self.best.cost < before {
            joint.follow(&self.inst, &self.best.trees, &mut self.desk.place);
        }
    }

    /// Divides the shared costs as in the best round of all so far, if that is better than before,
    /// and bans what no better solution can use.
    fn fix_after(&mut self, joint: &Joint) {
        let known = self
            .division
            .as_ref()
            .map_or(0.0, |division| division.bound);
        if joint.bound > known && !self.closed() {
            let mut division = Division::after(&self.inst, joint);
            division.follow(&self.inst, &self.best.trees, &mut self.desk.place);
            self.fix_divided(&mut division);
            self.division = Some(division);
        }
    }

    /// Bans what no better solution can use.
    fn fix_divided(&mut self, division: &mut Division) {
        if self.closed() {
            return;
        }
        let most = self.most();
        let bound = division.fix(&mut self.inst, most, &mut self.work);
        if bound.is_finite() {
            self.lift(bound);
        } else {
            self.bound = self.best.cost;
        }
    }

    /// Trees grown where the steps along the cuts use edges most, then improved.
    fn grow_used(&mut self, joint: &Joint, until: u64) {
        let mut order: Vec<usize> = (0..self.inst.groups()).collect();
        self.dice.shuffle(&mut order);
        let mut work = self.work.until(until);
        let grown = route_all(
            &self.inst,
            &order,
            |group, edge, own, shared| (own + shared) * (1.0 - SURE * joint.used(group, edge)),
            &mut self.dice,
            &mut self.desk,
            &mut work,
        );
        self.work.done = work.done;
        if let Some(mut state) = grown {
            self.polish(&mut state, self.work.until(until));
            self.offer(state);
        }
    }
}

/// Most edges times groups and unions for which branching pays in any case.
const SMALLEST: usize = 60_000;
/// Most edges times groups and unions for which cuts are held. Measured at twice as many (300 heads): 18
/// seconds of them lift a bound from 91 to 93 %.
const GATHERED: usize = 500_000;
/// Whether all cuts can be held.
fn holds_cuts(inst: &Instance) -> bool {
    inst.parties() * inst.edges() <= GATHERED
}

/// On larger problems, branching hardly lifts a bound below this part of the best cost.
const NEARLY: f64 = 0.97;
/// Rounds before steps along the cuts, which need to begin well.
const FEW: u32 = 7;
/// Rounds between two whose trees are improved.
const POLISHED: u32 = 4;
/// How much of its price an edge loses that is used in full.
const SURE: f64 = 0.98;
