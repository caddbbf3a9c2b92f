//! Rounds of dividing within a search: better bounds, and now and then better trees.

use super::{Division, is_dense};
use crate::ascent::{Dual, Plan, ascend};
use crate::search::Search;
use crate::state::{State, route_all};

impl Search<'_> {
    /// Divides the shared costs, beginning with what the groups hold after an ascent.
    pub fn begin_dividing(&mut self, dual: &Dual) {
        if self.inst.groups() > 1 && !self.closed() {
            self.division = Division::new(
                &self.inst,
                dual,
                &self.best.trees,
                &mut self.desk.place,
                &mut self.work,
            );
            let bound = self
                .division
                .as_ref()
                .map_or(0.0, |division| division.bound);
            self.lift(bound);
        }
    }

    /// Rounds of dividing the shared costs anew; each also gives trees, which are improved now and
    /// then. In the end, edges that no better solution can use are banned.
    pub fn divide(&mut self, rounds: usize, until: u64, stop: &mut dyn FnMut(&Search) -> bool) {
        let Some(mut division) = self.division.take() else {
            return;
        };
        for _ in 0..rounds {
            if self.closed() || self.work.done >= until || stop(self) {
                break;
            }
            let trees = division.round(&self.inst, self.best.cost, &mut self.work);
            let Some(trees) = trees else { break };
            self.lift(division.bound);
            if division.rounds % TOP_UP == TOP_UP / 2 && is_dense(&self.inst) {
                self.top_up(&mut division);
            }
            let mut state = State::of(&self.inst, trees);
            if division.rounds % 10 == 9 || state.cost < self.best.cost {
                self.polish(&mut state, self.work.until(until));
            }
            self.offer(state);
        }
        self.fix_divided(&mut division);
        self.division = Some(division);
    }

    /// Whether rounds by the cuts seen so far pay: on problems of which all cuts can be held, until
    /// they hardly gain any more.
    pub fn gathers(&self, early: bool) -> bool {
        let fits = self.inst.parties() * self.inst.edges() <= GATHERED;
        let division = self.division.as_ref();
        early && fits && division.is_some_and(|division| !division.stalls())
    }

    /// Rounds by the cuts seen so far, each of which also gives trees.
    pub fn gather(&mut self, until: u64, stop: &mut dyn FnMut(&Search) -> bool) {
        let Some(mut division) = self.division.take() else {
            return;
        };
        while !self.closed() && self.work.done < until && !stop(self) && !division.stalls() {
            let Some(trees) = division.gather(&self.inst, &mut self.work) else {
                // Bans have cut off a terminal: there is nothing better, which fixing will tell.
                self.fix_divided(&mut division);
                break;
            };
            self.lift(division.bound);
            self.offer(State::of(&self.inst, trees));
            self.grow_used(&division, until);
            self.fix_divided(&mut division);
        }
        self.division = Some(division);
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
    fn grow_used(&mut self, division: &Division, until: u64) {
        let mut order: Vec<usize> = (0..self.inst.groups()).collect();
        self.dice.shuffle(&mut order);
        let mut work = self.work.until(until);
        let grown = route_all(
            &self.inst,
            &order,
            |group, edge, own, shared| (own + shared) * (1.0 - SURE * division.used(group, edge)),
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

    /// A climb that begins with the best parts and lets everybody reach for what is to spare.
    fn top_up(&mut self, division: &mut Division) {
        let mut plan = Plan::guided(&self.inst, &self.best.trees, &mut self.desk.place);
        plan.order = (0..self.inst.parties()).collect();
        plan.share = division.dense(&self.inst);
        let dual = ascend(&self.inst, &plan, &mut self.work);
        if dual.bound.is_finite() && dual.bound > division.bound {
            self.lift(dual.bound);
            division.adopt(&self.inst, &dual);
        }
        division.follow(&self.inst, &self.best.trees, &mut self.desk.place);
    }
}

/// Most edges times groups and unions for which cuts are held. Measured: beyond this, the work
/// goes further without them.
const GATHERED: usize = 60_000;
/// How much of its price an edge loses that is used in full.
const SURE: f64 = 0.98;
/// Rounds of dividing between climbs that use what is to spare.
const TOP_UP: usize = 10;
