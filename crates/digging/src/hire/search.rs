//! Branch and bound over the steps of hire, and over single offers where steps alone do not decide.

use super::bound::{Node, Relaxed};
use super::problem::{Chosen, Problem};

/// Offers looked at before the search stops with a gap.
const MOST_LOOKS: usize = 40_000_000;

/// A cent, less what sums may be off by rounding.
const CENT: f64 = 0.9;

/// What the search came to.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub(super) best: Option<Chosen>,
    /// No choice costs less, in cents.
    pub(super) bound: f64,
    /// Nodes that were looked at.
    pub(super) nodes: usize,
}

impl Problem {
    /// The cheapest choice within the steps that are open to each machine.
    pub(super) fn solve(&self, open: Vec<(usize, usize)>) -> Found {
        let offers: usize = self.rows.iter().map(Vec::len).sum();
        let mut search = Search {
            problem: self,
            open: open.clone(),
            best: None,
            looks: 0,
            a_look: offers.max(1),
        };
        let root = Node {
            steps: open,
            barred: Vec::new(),
        };
        let mut stack = vec![(root, vec![0.0; self.machines.len()], f64::NEG_INFINITY)];
        let mut nodes = 0;
        let mut left_open = f64::INFINITY;
        while let Some((node, mut rents, known)) = stack.pop() {
            if search.is_beaten(known) {
                continue;
            }
            if search.looks > MOST_LOOKS {
                left_open = left_open.min(known);
                continue;
            }
            nodes += 1;
            let relaxed = search.relax(&node, &mut rents, nodes == 1);
            let bound = relaxed.bound.max(known);
            if search.is_beaten(bound) {
                continue;
            }
            let Some((first, second)) = self.branches(&node, &relaxed, &rents) else {
                continue;
            };
            stack.push((second, rents.clone(), bound));
            stack.push((first, rents, bound));
        }
        let cost = search.best.as_ref().map_or(f64::INFINITY, |best| best.cost);
        Found {
            bound: left_open.min(cost),
            best: search.best,
            nodes,
        }
    }

    /// A node in two, the half with the relaxed choice first; nothing where it is decided.
    fn branches(&self, node: &Node, relaxed: &Relaxed, rents: &[f64]) -> Option<(Node, Node)> {
        match self.loosest(node, relaxed, rents) {
            Some(machine) => Some(self.split(node, machine, relaxed.hours[machine])),
            None => self.split_stretch(node, relaxed, rents),
        }
    }

    /// The machine whose hire is most underrated by its straight line.
    fn loosest(&self, node: &Node, relaxed: &Relaxed, rents: &[f64]) -> Option<usize> {
        let mut best: Option<(f64, usize)> = None;
        for (machine, hireable) in self.machines.iter().enumerate() {
            let (low, high) = node.steps[machine];
            if low == high {
                continue;
            }
            let hours = relaxed.hours[machine];
            let needed = if hours > 0.0 {
                self.step_for(machine, hours)
            } else {
                0
            };
            let rests = hireable.steps[relaxed.rests[machine]];
            let line = rests.cost - rents[machine] * rests.hours + rents[machine] * hours;
            let gap = hireable.steps[needed.clamp(low, high)].cost - line;
            if best.is_none_or(|(most, _)| gap > most) {
                best = Some((gap, machine));
            }
        }
        best.map(|(_, machine)| machine)
    }

    fn split(&self, node: &Node, machine: usize, hours: f64) -> (Node, Node) {
        let (low, high) = node.steps[machine];
        let needed = if hours > 0.0 {
            self.step_for(machine, hours)
        } else {
            0
        };
        let at = match low {
            0 => 0,
            low => needed.clamp(low, high - 1),
        };
        let part = |steps: (usize, usize)| {
            let mut part = node.clone();
            part.steps[machine] = steps;
            part
        };
        let (lower, upper) = (part((low, at)), part((at + 1, high)));
        if needed <= at {
            (lower, upper)
        } else {
            (upper, lower)
        }
    }

    /// Forces or bars the offer of the stretch that is nearest to another one.
    fn split_stretch(&self, node: &Node, relaxed: &Relaxed, rents: &[f64]) -> Option<(Node, Node)> {
        let mut best: Option<(f64, usize, usize)> = None;
        let mut places = Vec::new();
        for (stretch, row) in self.rows.iter().enumerate() {
            let Some(pick) = relaxed.picks[stretch] else {
                continue;
            };
            let reduced = |place: usize| {
                let entry = &row[place];
                let rent: f64 = entry.machines.iter().flatten().map(|m| rents[*m]).sum();
                entry.cost + rent * entry.hours
            };
            places.clear();
            places.extend((0..row.len()).filter(|place| {
                let used = row[*place].machines.iter().flatten();
                *place != pick
                    && used.clone().all(|m| node.steps[*m].1 > 0)
                    && !node.barred.contains(&(stretch, *place))
            }));
            let nearest = places.iter().map(|place| reduced(*place) - reduced(pick));
            let Some(gap) = nearest.min_by(f64::total_cmp) else {
                continue;
            };
            if best.is_none_or(|(least, ..)| gap < least) {
                best = Some((gap, stretch, pick));
            }
        }
        let (_, stretch, pick) = best?;
        let bar = |places: &mut dyn Iterator<Item = usize>| {
            let mut part = node.clone();
            part.barred.extend(places.map(|place| (stretch, place)));
            part.barred.sort_unstable();
            part.barred.dedup();
            part
        };
        let others = &mut (0..self.rows[stretch].len()).filter(|place| *place != pick);
        Some((bar(others), bar(&mut std::iter::once(pick))))
    }
}

struct Search<'a> {
    problem: &'a Problem,
    open: Vec<(usize, usize)>,
    best: Option<Chosen>,
    looks: usize,
    a_look: usize,
}

impl Search<'_> {
    /// Whether nothing under a bound can be cheaper by a cent than what is known.
    fn is_beaten(&self, bound: f64) -> bool {
        let best = self.best.as_ref();
        best.is_some_and(|best| bound > best.cost - CENT)
    }

    fn relax(&mut self, node: &Node, rents: &mut Vec<f64>, first: bool) -> Relaxed {
        let target = self
            .best
            .as_ref()
            .map_or(self.problem.conflict, |best| best.cost);
        let problem = self.problem;
        problem.relax(node, rents, target, first, &mut |relaxed| {
            self.looks += self.a_look;
            if let Some(now) = problem.weigh(relaxed.picks.clone(), &self.open)
                && self.best.as_ref().is_none_or(|best| now.cost < best.cost)
            {
                self.best = Some(now);
            }
            self.best
                .as_ref()
                .map_or(problem.conflict, |best| best.cost)
        })
    }
}
