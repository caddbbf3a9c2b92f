//! The choice of machines and methods as numbers.

use super::tariff::Step;
use super::{Machine, Offer};
use quantity::Duration;

/// Machines that one offer needs at most: its own and what carries it.
pub(super) type Needed = [Option<usize>; 2];

/// An offer of a stretch: cents, hours, machines.
#[derive(Debug, Clone)]
pub(super) struct Entry {
    pub(super) offer: Offer,
    pub(super) cost: f64,
    pub(super) hours: f64,
    pub(super) machines: Needed,
}

/// A step of a tariff: cents, hours.
#[derive(Debug, Clone, Copy)]
pub(super) struct Priced {
    pub(super) cost: f64,
    pub(super) hours: f64,
}

/// A machine with its steps; step 0 is not to hire it, step `k` is `terms[k - 1]`.
#[derive(Debug, Clone)]
pub(super) struct Hireable {
    pub(super) steps: Vec<Priced>,
    pub(super) terms: Vec<Step>,
}

/// The choice of machines and methods as numbers.
pub(super) struct Problem {
    /// For every stretch its offers, from the cheapest on.
    pub(super) rows: Vec<Vec<Entry>>,
    pub(super) machines: Vec<Hireable>,
    /// Dearer than any choice, so that no stretch goes without a method that could have one.
    pub(super) conflict: f64,
}

/// A choice in full.
#[derive(Debug, Clone)]
pub(super) struct Chosen {
    /// For every stretch the place of its offer.
    pub(super) picks: Vec<Option<usize>>,
    /// The step of every machine.
    pub(super) steps: Vec<usize>,
    /// Cents.
    pub(super) cost: f64,
}

impl Problem {
    pub(super) fn new(offers: &[Vec<Offer>], machines: &[Machine]) -> Self {
        let rows: Vec<Vec<Entry>> = offers.iter().map(|row| entries(row, machines)).collect();
        let mut most = vec![0.0; machines.len()];
        for row in &rows {
            for (machine, most) in most.iter_mut().enumerate() {
                let uses = row.iter().filter(|e| e.machines.contains(&Some(machine)));
                *most += uses.map(|e| e.hours).fold(0.0, f64::max);
            }
        }
        let machines: Vec<Hireable> = machines
            .iter()
            .zip(most)
            .map(|(machine, most)| hireable(machine, Duration::h(most)))
            .collect();
        let dearest = |row: &Vec<Entry>| row.iter().map(|e| e.cost).fold(0.0, f64::max);
        let hire = |machine: &Hireable| machine.steps.last().map_or(0.0, |s| s.cost);
        let conflict =
            1.0 + rows.iter().map(dearest).sum::<f64>() + machines.iter().map(hire).sum::<f64>();
        Self {
            rows,
            machines,
            conflict,
        }
    }

    /// What picks cost with the hire that they need, if that lies within the steps open to each
    /// machine.
    pub(super) fn weigh(
        &self,
        picks: Vec<Option<usize>>,
        open: &[(usize, usize)],
    ) -> Option<Chosen> {
        let mut cost = 0.0;
        let mut hours: Vec<Option<f64>> = vec![None; self.machines.len()];
        for (row, pick) in self.rows.iter().zip(&picks) {
            let Some(place) = pick else {
                cost += if row.is_empty() { 0.0 } else { self.conflict };
                continue;
            };
            let entry = &row[*place];
            cost += entry.cost;
            for machine in entry.machines.iter().flatten() {
                *hours[*machine].get_or_insert(0.0) += entry.hours;
            }
        }
        let mut steps = Vec::with_capacity(hours.len());
        for (machine, hours) in hours.iter().enumerate() {
            let needed = hours.map_or(0, |hours| self.step_for(machine, hours));
            let (low, high) = open[machine];
            let step = needed.max(low);
            if step > high {
                return None;
            }
            cost += self.machines[machine].steps[step].cost;
            steps.push(step);
        }
        Some(Chosen { picks, steps, cost })
    }

    /// The cheapest step that covers some hours.
    pub(super) fn step_for(&self, machine: usize, hours: f64) -> usize {
        let steps = &self.machines[machine].steps;
        let fits = |step: &Priced| hours <= step.hours * (1.0 + 1e-9);
        let place = 1 + steps[1..].partition_point(|step| !fits(step));
        place.min(steps.len() - 1)
    }
}

fn entries(row: &[Offer], machines: &[Machine]) -> Vec<Entry> {
    let entry = |offer: &Offer| {
        let mut needed = machines
            .iter()
            .enumerate()
            .filter(|(_, machine)| machine.methods.contains(&offer.method))
            .map(|(machine, _)| machine);
        Entry {
            offer: *offer,
            cost: offer.cost.to_cents() as f64,
            hours: offer.hours.to_h(),
            machines: [needed.next(), needed.next()],
        }
    };
    let mut row: Vec<Entry> = row.iter().map(entry).collect();
    row.sort_by(|a, b| {
        let key = |e: &Entry| {
            (
                e.offer.cost,
                e.machines.iter().flatten().count(),
                e.offer.method,
            )
        };
        key(a).cmp(&key(b))
    });
    row
}

fn hireable(machine: &Machine, most: Duration) -> Hireable {
    let terms = machine.tariff.steps(most);
    let priced = terms.iter().map(|step| Priced {
        cost: step.cost.to_cents() as f64,
        hours: step.covers.to_h(),
    });
    let none = Priced {
        cost: 0.0,
        hours: 0.0,
    };
    Hireable {
        steps: std::iter::once(none).chain(priced).collect(),
        terms,
    }
}
