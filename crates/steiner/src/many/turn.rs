//! Rounds of dividing within a search: better bounds, and now and then better trees.

use super::{Division, is_dense};
use crate::ascent::{Dual, Plan, ascend};
use crate::search::Search;
use crate::state::State;

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
        if !self.closed() {
            let most = self.most();
            let bound = division.fix(&mut self.inst, most, &mut self.work);
            if bound.is_finite() {
                self.lift(bound);
            } else {
                self.bound = self.best.cost;
            }
        }
        self.division = Some(division);
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

/// Rounds of dividing between climbs that use what is to spare.
const TOP_UP: usize = 10;
