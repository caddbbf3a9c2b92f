//! A lower bound on the cost of a job in which machines are hired by the step.
//!
//! Each machine gets a rent for an hour, its multiplier. By the rent every stretch takes its cheapest
//! offer; what a machine's hire costs is at least a straight line below its steps, whose slope is the
//! rent. The sum of both is at most the cost of any choice. The best rents are sought by subgradient
//! steps (Held and Karp's rule of the step's length, from memory).

use super::problem::{Entry, Problem};

/// Which steps of each machine's tariff are still open, both ends counted; step 0 is not to hire it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    pub(super) steps: Vec<(usize, usize)>,
    /// Offers by stretch and place that are out.
    pub(super) barred: Vec<(usize, usize)>,
}

/// What one set of rents says.
#[derive(Debug, Clone)]
pub(super) struct Relaxed {
    /// No choice within the node costs less, in cents.
    pub(super) bound: f64,
    /// For every stretch the place of its offer, if any is open.
    pub(super) picks: Vec<Option<usize>>,
    /// Hours that the picks give each machine.
    pub(super) hours: Vec<f64>,
    /// The steps on which the straight lines rest.
    pub(super) rests: Vec<usize>,
}

/// Rounds of rents at the first node, and at the others.
const FIRST_ROUNDS: usize = 60;
const ROUNDS: usize = 15;

impl Problem {
    /// The best bound found for a node, from some rents on, which are left at the best. `target` is
    /// the cost of a known choice; every relaxed choice is shown to `seen`.
    pub(super) fn relax(
        &self,
        node: &Node,
        rents: &mut Vec<f64>,
        target: f64,
        first: bool,
        seen: &mut dyn FnMut(&Relaxed) -> f64,
    ) -> Relaxed {
        let rounds = if first { FIRST_ROUNDS } else { ROUNDS };
        let mut target = target;
        let mut share = 1.0;
        let mut best = self.at(node, rents);
        target = target.min(seen(&best));
        let mut best_rents = rents.clone();
        for _ in 0..rounds {
            if best.bound > target - 1.0 {
                break;
            }
            let now = self.at(node, rents);
            target = target.min(seen(&now));
            let improved = now.bound > best.bound + 1e-6;
            let slopes: Vec<f64> = (0..rents.len())
                .map(|m| self.slope(&now, m, rents[m]))
                .collect();
            let length: f64 = slopes.iter().map(|s| s * s).sum();
            if improved {
                best = now.clone();
                best_rents.clone_from(rents);
            } else {
                share *= 0.8;
            }
            if length <= 0.0 {
                break;
            }
            let step = share * (target - now.bound).max(1.0) / length;
            for (rent, slope) in rents.iter_mut().zip(slopes) {
                *rent = (*rent + step * slope).max(0.0);
            }
        }
        *rents = best_rents;
        best
    }

    /// Hours missing or to spare of a machine at its rent; nothing to gain below a rent of nothing.
    fn slope(&self, now: &Relaxed, machine: usize, rent: f64) -> f64 {
        let slope = now.hours[machine] - self.machines[machine].steps[now.rests[machine]].hours;
        if rent <= 0.0 { slope.max(0.0) } else { slope }
    }

    fn at(&self, node: &Node, rents: &[f64]) -> Relaxed {
        let mut bound = 0.0;
        let mut hours = vec![0.0; rents.len()];
        let mut barred = node.barred.iter().peekable();
        let mut picks = Vec::with_capacity(self.rows.len());
        for (stretch, row) in self.rows.iter().enumerate() {
            let mut out: Vec<usize> = Vec::new();
            while let Some((_, place)) = barred.next_if(|b| b.0 == stretch) {
                out.push(*place);
            }
            let pick = self.pick(row, &out, node, rents);
            if let Some((place, cost)) = pick {
                bound += cost;
                for machine in row[place].machines.iter().flatten() {
                    hours[*machine] += row[place].hours;
                }
            } else if !row.is_empty() {
                bound += self.conflict;
            }
            picks.push(pick.map(|(place, _)| place));
        }
        let mut rests = Vec::with_capacity(rents.len());
        for (machine, rent) in rents.iter().enumerate() {
            let (least, step) = self.line_under(machine, node.steps[machine], *rent);
            bound += least;
            rests.push(step);
        }
        Relaxed {
            bound,
            picks,
            hours,
            rests,
        }
    }

    fn pick(
        &self,
        row: &[Entry],
        out: &[usize],
        node: &Node,
        rents: &[f64],
    ) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        for (place, entry) in row.iter().enumerate() {
            let open = entry
                .machines
                .iter()
                .flatten()
                .all(|m| node.steps[*m].1 > 0);
            if !open || out.contains(&place) {
                continue;
            }
            let rent: f64 = entry.machines.iter().flatten().map(|m| rents[*m]).sum();
            let cost = entry.cost + rent * entry.hours;
            if best.is_none_or(|(_, least)| cost < least) {
                best = Some((place, cost));
            }
        }
        best
    }

    /// The height at no work of the highest line of a slope that lies nowhere above a machine's
    /// steps, and the step on which it rests.
    fn line_under(&self, machine: usize, (low, high): (usize, usize), rent: f64) -> (f64, usize) {
        let steps = &self.machines[machine].steps[low..=high];
        let heights = steps.iter().map(|step| step.cost - rent * step.hours);
        let mut least = (f64::INFINITY, low);
        for (place, height) in heights.enumerate() {
            if height < least.0 {
                least = (height, low + place);
            }
        }
        least
    }
}
