//! Branch and bound over the steps of hire, and over single offers where steps alone do not decide.

use super::bound::{Node, Relaxed};
use super::problem::{Chosen, Problem};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

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

/// A node that waits, with the bound of the one that it came from; the lowest bound goes first, of
/// equal ones the later.
struct Waiting {
    node: Node,
    rents: Vec<f64>,
    bound: f64,
    number: usize,
}

impl Problem {
    /// A good choice within the steps that are open to each machine, by small moves from a known one.
    pub(super) fn moved(
        &self,
        open: &[(usize, usize)],
        known: Option<Vec<Option<usize>>>,
    ) -> Option<Chosen> {
        let known = known.and_then(|picks| self.weigh(picks, open));
        self.by_moves(open, known).0
    }

    /// The cheapest choice within the steps that are open to each machine, looking at `most_looks`
    /// offers or little more; `known` is a choice to begin with.
    pub(super) fn solve(
        &self,
        open: Vec<(usize, usize)>,
        known: Option<Vec<Option<usize>>>,
        most_looks: usize,
    ) -> Found {
        let offers: usize = self.rows.iter().map(Vec::len).sum();
        let known = known.and_then(|picks| self.weigh(picks, &open));
        let (first, looked) = self.by_moves(&open, known);
        let mut search = Search {
            problem: self,
            open: open.clone(),
            best: first,
            looks: looked * offers,
            a_look: offers.max(1),
        };
        let root = Waiting {
            node: Node {
                steps: open,
                barred: Vec::new(),
            },
            rents: vec![0.0; self.machines.len()],
            bound: f64::NEG_INFINITY,
            number: 0,
        };
        let mut waiting = BinaryHeap::from([root]);
        let (mut nodes, mut number) = (0, 0);
        let mut left_open = f64::INFINITY;
        while let Some(Waiting {
            node,
            mut rents,
            bound,
            ..
        }) = waiting.pop()
        {
            if search.is_beaten(bound) {
                break;
            }
            if nodes > 0 && search.looks > most_looks {
                left_open = bound;
                break;
            }
            nodes += 1;
            let relaxed = search.relax(&node, &mut rents, nodes == 1);
            let bound = relaxed.bound.max(bound);
            if search.is_beaten(bound) {
                continue;
            }
            let Some(halves) = self.branches(&node, &relaxed, &rents) else {
                continue;
            };
            for node in halves {
                number += 1;
                waiting.push(Waiting {
                    node,
                    rents: rents.clone(),
                    bound,
                    number,
                });
            }
        }
        let cost = search.best.as_ref().map_or(f64::INFINITY, |best| best.cost);
        Found {
            bound: left_open.min(cost),
            best: search.best,
            nodes,
        }
    }

    /// A node in two, the half with the relaxed choice last; nothing where it is decided.
    fn branches(&self, node: &Node, relaxed: &Relaxed, rents: &[f64]) -> Option<[Node; 2]> {
        let (first, second) = match self.loosest(node, relaxed, rents) {
            Some(machine) => self.split(node, machine, relaxed.hours[machine]),
            None => self.split_stretch(node, relaxed, rents)?,
        };
        Some([second, first])
    }

    /// The machine whose hire is most underrated by its straight line; whether to hire one comes before
    /// how long.
    fn loosest(&self, node: &Node, relaxed: &Relaxed, rents: &[f64]) -> Option<usize> {
        let mut best: Option<((bool, f64), usize)> = None;
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
            let rank = (low == 0 && gap > 0.0, gap);
            if best.is_none_or(|(most, _)| rank > most) {
                best = Some((rank, machine));
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

impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> Ordering {
        let lower = other.bound.total_cmp(&self.bound);
        lower.then(self.number.cmp(&other.number))
    }
}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Waiting {}

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
                let (better, looked) = problem.by_moves(&self.open, Some(now));
                self.looks += looked * self.a_look;
                self.best = better;
            }
            self.best
                .as_ref()
                .map_or(problem.conflict, |best| best.cost)
        })
    }
}
