//! Plans from the relaxation: what it uses at least once is cut, the rest relaxed anew.

use crate::dice::Dice;
use crate::greedy::{Prices, best_fit};
use crate::instance::{Instance, Plan};
use crate::knapsack::Knapsack;
use crate::lp::{Rest, Simplex};
use crate::pool::Pool;
use crate::watch::Watch;

/// What of a pattern the relaxation uses beyond a whole number, from which on it goes with others.
const NEARLY: f64 = 0.8;

pub(crate) struct Tools<'a, 'b> {
    pub(crate) inst: &'a Instance,
    pub(crate) pool: Pool,
    pub(crate) knapsack: Knapsack,
    pub(crate) dice: Dice,
    pub(crate) watch: Watch<'b>,
}

impl Tools<'_, '_> {
    /// A plan for `rest` that costs less than `below`, if the dive finds one. `wild` permille of
    /// the choices are made by chance.
    pub(crate) fn dive(&mut self, rest: &Rest, below: i128, wild: usize) -> Option<Plan> {
        let inst = self.inst;
        let scale = inst.kinds.iter().map(|kind| kind.cost).max().unwrap_or(1) as f64;
        let mut rest = rest.clone();
        let mut plan: Plan = Vec::new();
        let mut spent = 0;
        loop {
            if rest.is_done() {
                return (spent < below).then_some(plan);
            }
            // More than this would be too much; costs are whole numbers.
            let budget = (below - 1 - spent) as f64 / scale;
            let enough = |low: f64, _: f64| low > budget * (1.0 + 1e-9) + 1e-9;
            let relaxed = Simplex::new(inst, &rest).solve(
                &mut self.pool,
                &mut self.knapsack,
                &mut self.watch,
                &enough,
            );
            if self.watch.is_out() || relaxed.short || relaxed.value > budget + 1e-6 {
                return None;
            }
            if let Some(end) = self.finish(&rest, &relaxed.worth, below - spent) {
                plan.extend(end);
                return Some(plan);
            }
            let whole: Vec<(usize, u64)> = relaxed
                .used
                .iter()
                .map(|(at, x)| (*at, (x + 1e-6) as u64))
                .filter(|(_, times)| *times > 0)
                .collect();
            let mut any = false;
            for (at, times) in whole {
                let pattern = self.pool.get(at).clone();
                let times = times.min(rest.times(&pattern));
                if times == 0 || self.dice.permille(wild / 4) {
                    continue;
                }
                any = true;
                rest.cut(&pattern, times);
                spent += inst.kinds[pattern.kind].cost * i128::from(times);
                plan.push((pattern, times));
            }
            if any {
                continue;
            }
            let at = self.choose(&relaxed.used, &rest, wild)?;
            // Others that are all but whole go with it, as long as they still fit.
            let mut many: Vec<(usize, f64)> = relaxed
                .used
                .iter()
                .map(|(at, x)| (*at, x - x.floor()))
                .filter(|(other, part)| *other != at && *part > NEARLY)
                .collect();
            many.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
            for at in std::iter::once(at).chain(many.into_iter().map(|(at, _)| at)) {
                let pattern = self.pool.get(at).clone();
                if rest.times(&pattern) > 0 {
                    rest.cut(&pattern, 1);
                    spent += inst.kinds[pattern.kind].cost;
                    plan.push((pattern, 1));
                }
            }
        }
    }

    fn choose(&mut self, used: &[(usize, f64)], rest: &Rest, wild: usize) -> Option<usize> {
        let mut best = None;
        let mut most = f64::NEG_INFINITY;
        for (at, x) in used {
            let part = x - x.floor();
            let noise = self.dice.below(1000) as f64 / 1000.0 * wild as f64 / 1000.0;
            // Of two as good, the one with the larger pieces.
            let large = self.pool.get(*at).rows.first().map_or(0, |row| row.0);
            let worth = part + noise - f64::from(large) * 1e-6;
            if worth > most && rest.times(self.pool.get(*at)) > 0 {
                (best, most) = (Some(*at), worth);
            }
        }
        best
    }

    /// Whether a plan made at once is good enough for the rest.
    fn finish(&mut self, rest: &Rest, worth: &[f64], below: i128) -> Option<Plan> {
        let inst = self.inst;
        let pieces: u64 = rest.demand.iter().sum();
        self.watch.spend(pieces);
        if let Some(plan) = best_fit(inst, rest)
            && inst.cost(&plan) < below
        {
            return Some(plan);
        }
        let mut prices = Prices::from(worth, inst);
        for _ in 0..2 {
            let plan = prices.plan(
                inst,
                rest,
                &mut self.knapsack,
                &mut self.dice,
                &mut self.watch,
                below,
            );
            if let Some(plan) = plan
                && inst.cost(&plan) < below
            {
                return Some(plan);
            }
        }
        None
    }
}
