//! Better choices by small moves: a machine more or less, a step of hire less.

use super::problem::{Chosen, Problem};

/// Which steps are open to each machine.
type Open = [(usize, usize)];

impl Problem {
    /// The best choice that moves lead to, from a known one or from the cheapest offers by hand, and
    /// how often all offers were looked at.
    pub(super) fn by_moves(&self, open: &Open, known: Option<Chosen>) -> (Option<Chosen>, usize) {
        let mut looked = 1;
        let hired: Vec<bool> = match &known {
            Some(known) => known.steps.iter().map(|step| *step > 0).collect(),
            None => open.iter().map(|(low, _)| *low > 0).collect(),
        };
        let mut best = known.or_else(|| self.cheapest(&hired, open));
        let mut hired = hired;
        loop {
            let mut better = None;
            for machine in 0..hired.len() {
                let (low, high) = open[machine];
                let mut set = hired.clone();
                set[machine] = !set[machine];
                if set[machine] && high == 0 || !set[machine] && low > 0 {
                    continue;
                }
                if set[machine] {
                    self.with_company(machine, open, &mut set);
                }
                looked += 2;
                let Some(now) = self
                    .cheapest(&set, open)
                    .map(|c| self.shorter(c, open, &mut looked))
                else {
                    continue;
                };
                let least = better.as_ref().or(best.as_ref());
                if least.is_none_or(|least: &Chosen| now.cost < least.cost) {
                    better = Some(now);
                }
            }
            match better {
                Some(now) => {
                    hired = now.steps.iter().map(|step| *step > 0).collect();
                    best = Some(now);
                }
                None => break,
            }
        }
        let best = best.map(|best| self.shorter(best, open, &mut looked));
        (best, looked)
    }

    /// What a machine works with, or is carried by, comes with it.
    fn with_company(&self, machine: usize, open: &Open, set: &mut [bool]) {
        for entry in self.rows.iter().flatten() {
            if entry.machines.contains(&Some(machine)) {
                for other in entry.machines.iter().flatten() {
                    set[*other] |= open[*other].1 > 0;
                }
            }
        }
    }

    /// Every stretch by its cheapest offer in a set of machines.
    fn cheapest(&self, hired: &[bool], open: &Open) -> Option<Chosen> {
        let picks = self.rows.iter().map(|row| {
            row.iter()
                .position(|entry| entry.machines.iter().flatten().all(|m| hired[*m]))
        });
        self.weigh(picks.collect(), open)
    }

    /// Takes steps of hire back by moving stretches to other offers at hand, as long as that gains.
    fn shorter(&self, mut best: Chosen, open: &Open, looked: &mut usize) -> Chosen {
        loop {
            let machines = (0..self.machines.len()).filter(|m| best.steps[*m] > 1);
            let mut tried = machines.filter_map(|machine| self.relieved(&best, machine, open));
            *looked += 1;
            match tried.find(|now| now.cost < best.cost) {
                Some(now) => best = now,
                None => return best,
            }
        }
    }

    /// The choice with one step less of a machine: those stretches leave it that lose least by the hour.
    fn relieved(&self, now: &Chosen, machine: usize, open: &Open) -> Option<Chosen> {
        let least = self.machines[machine].steps[now.steps[machine] - 1].hours;
        let mut hours = 0.0;
        let mut moves: Vec<(f64, usize, usize)> = Vec::new();
        for (stretch, (row, pick)) in self.rows.iter().zip(&now.picks).enumerate() {
            let Some(entry) = pick.map(|place| &row[place]) else {
                continue;
            };
            if !entry.machines.contains(&Some(machine)) {
                continue;
            }
            hours += entry.hours;
            let at_hand = |place: &usize| {
                let mut needed = row[*place].machines.iter().flatten();
                needed.all(|m| *m != machine && now.steps[*m] > 0)
            };
            if let Some(other) = (0..row.len()).find(at_hand) {
                let extra = row[other].cost - entry.cost;
                moves.push((extra / entry.hours.max(f64::MIN_POSITIVE), stretch, other));
            }
        }
        moves.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut picks = now.picks.clone();
        for (_, stretch, other) in moves {
            if hours <= least {
                break;
            }
            hours -= picks[stretch].map_or(0.0, |place| self.rows[stretch][place].hours);
            picks[stretch] = Some(other);
        }
        if hours > least {
            None
        } else {
            self.weigh(picks, open)
        }
    }
}
