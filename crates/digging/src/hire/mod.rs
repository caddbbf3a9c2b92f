//! Which machines to hire, and the method of every stretch.
//!
//! Machines are hired for the job, not for a stretch, and by the hour, day or week, so the cheapest
//! method of each stretch taken alone can be dear together. [`choose`] finds the least total of all
//! stretches and all hire: every set of machines and every term of hire is accounted for, either by
//! working it out or by a bound that shows that it costs no less (branch and bound, see `bound`).

mod bound;
mod moves;
mod problem;
mod search;
mod tariff;

pub use tariff::{Step, Tariff, Term};

use problem::{Chosen, Problem};
use quantity::{Duration, Money};
use rayon::prelude::*;

/// What a method costs on a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer {
    /// Index of the method.
    pub method: usize,
    /// Cost without hire.
    pub cost: Money,
    /// Machine time.
    pub hours: Duration,
}

/// A machine that has to be hired for some methods: its own, or those of all that it carries.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// Indices of the methods that need it; a method needs two machines at most.
    pub methods: Vec<usize>,
    /// What it costs.
    pub tariff: Tariff,
}

/// A machine that is hired.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hired {
    /// Index of the machine.
    pub machine: usize,
    /// Machine time over all its stretches.
    pub hours: Duration,
    /// Term and cost, mobilisation included.
    pub step: Step,
}

/// What the job would cost with one machine more or less.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Index of the machine: one that is hired is done without, one that is not is hired with what it
    /// does nothing without.
    pub machine: usize,
    /// How much dearer the job would be; `None` if some stretch would be left without a method.
    pub extra: Option<Money>,
}

/// Methods and machines chosen together.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The method of every stretch; `None` where none is feasible.
    pub methods: Vec<Option<usize>>,
    /// Machines to hire, in the order of the machines given; each is used.
    pub hires: Vec<Hired>,
    /// Cost of all stretches with a method, hire included.
    pub total: Money,
    /// No choice costs less; the total where the search came to its end.
    pub least: Money,
    /// Sets of machines that are accounted for.
    pub sets: u64,
    /// Parts of the search that had to be looked at for it.
    pub looked_at: usize,
    /// Every machine more or less, in the order of the machines given.
    pub changes: Vec<Change>,
}

/// Chooses the machines, their terms of hire and the method of every stretch at the least total cost.
///
/// `offers` holds, for every stretch, its feasible methods; a method that is not among `machines`
/// needs no hire. Fewer stretches without a method come before a lower cost. The total is the least
/// of all where `least` says the same; on very large jobs the search may stop before.
#[cfg(test)]
pub fn choose(offers: &[Vec<Offer>], machines: &[Machine]) -> Choice {
    choose_within(offers, machines, Search::Proven)
}

/// How long a choice is searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Search {
    /// For a moment; a machine more or less by small moves alone.
    Short,
    /// To the end, but for very large jobs.
    Proven,
}

impl Search {
    fn most_looks(self) -> usize {
        match self {
            Self::Short => SHORT_LOOKS,
            Self::Proven => MOST_LOOKS,
        }
    }
}

/// The same with a choice of how long to search.
pub fn choose_within(offers: &[Vec<Offer>], machines: &[Machine], search: Search) -> Choice {
    let problem = Problem::new(offers, machines);
    let open: Vec<(usize, usize)> = problem
        .machines
        .iter()
        .map(|m| (0, m.steps.len() - 1))
        .collect();
    let found = problem.solve(open.clone(), None, search.most_looks());
    let best = found.best.unwrap_or_else(|| nothing(&problem));
    let changes = (0..machines.len())
        .into_par_iter()
        .map(|machine| {
            let mut open = open.clone();
            if best.steps[machine] > 0 {
                open[machine] = (0, 0);
            } else {
                for needed in with_companions(&problem, machine) {
                    open[needed].0 = 1;
                }
            }
            let known = without(&problem, &best, machine);
            let other = match search {
                Search::Proven => problem.solve(open, known, MOST_LOOKS_AT_A_CHANGE).best,
                Search::Short => problem.moved(&open, known),
            };
            let other = other.filter(|o| unserved(&problem, o) == unserved(&problem, &best));
            Change {
                machine,
                extra: other.map(|o| cents(o.cost - best.cost)),
            }
        })
        .collect();
    Choice {
        methods: methods(&problem, &best),
        hires: hires(&problem, &best),
        total: cents(best.cost - unserved(&problem, &best) as f64 * problem.conflict),
        least: cents(found.bound.ceil() - unserved(&problem, &best) as f64 * problem.conflict),
        sets: 1_u64.checked_shl(machines.len() as u32).unwrap_or(u64::MAX),
        looked_at: found.nodes,
        changes,
    }
}

/// Offers looked at before the search stops with a gap, and before it stops for a machine more or
/// less.
const MOST_LOOKS: usize = 6_000_000;
const SHORT_LOOKS: usize = 60_000;
const MOST_LOOKS_AT_A_CHANGE: usize = 300_000;

/// The picks of a choice, each that needs a machine replaced by the cheapest other one at hand.
fn without(problem: &Problem, chosen: &Chosen, machine: usize) -> Option<Vec<Option<usize>>> {
    let other = |(row, pick): (&Vec<problem::Entry>, &Option<usize>)| {
        let at_hand = |entry: &problem::Entry| {
            let mut needed = entry.machines.iter().flatten();
            needed.all(|m| *m != machine && chosen.steps[*m] > 0)
        };
        match pick {
            Some(place) if row[*place].machines.contains(&Some(machine)) => {
                row.iter().position(at_hand)
            }
            pick => *pick,
        }
    };
    Some(problem.rows.iter().zip(&chosen.picks).map(other).collect())
}

/// A machine and those that all its offers need besides it.
fn with_companions(problem: &Problem, machine: usize) -> Vec<usize> {
    let uses = || {
        let entries = problem.rows.iter().flatten();
        entries.filter(|entry| entry.machines.contains(&Some(machine)))
    };
    let always = |other: &usize| uses().all(|entry| entry.machines.contains(&Some(*other)));
    let others = (0..problem.machines.len()).filter(|other| *other != machine);
    let is_used = uses().next().is_some();
    std::iter::once(machine)
        .chain(others.filter(|other| is_used && always(other)))
        .collect()
}

fn cents(cents: f64) -> Money {
    Money::cents(cents.round() as i64)
}

fn nothing(problem: &Problem) -> Chosen {
    Chosen {
        picks: vec![None; problem.rows.len()],
        steps: vec![0; problem.machines.len()],
        cost: 0.0,
    }
}

/// Stretches that have offers and go without.
fn unserved(problem: &Problem, chosen: &Chosen) -> usize {
    let pairs = problem.rows.iter().zip(&chosen.picks);
    pairs
        .filter(|(row, pick)| pick.is_none() && !row.is_empty())
        .count()
}

fn methods(problem: &Problem, chosen: &Chosen) -> Vec<Option<usize>> {
    let pairs = problem.rows.iter().zip(&chosen.picks);
    pairs
        .map(|(row, pick)| pick.map(|place| row[place].offer.method))
        .collect()
}

fn hires(problem: &Problem, chosen: &Chosen) -> Vec<Hired> {
    let hours = |machine: usize| -> Duration {
        let pairs = problem.rows.iter().zip(&chosen.picks);
        let entries = pairs.filter_map(|(row, pick)| pick.map(|place| &row[place]));
        entries
            .filter(|entry| entry.machines.contains(&Some(machine)))
            .map(|entry| entry.offer.hours)
            .sum()
    };
    let hired = chosen
        .steps
        .iter()
        .enumerate()
        .filter(|(_, step)| **step > 0);
    hired
        .map(|(machine, step)| Hired {
            machine,
            hours: hours(machine),
            step: problem.machines[machine].terms[step - 1],
        })
        .collect()
}

#[cfg(test)]
mod tests;
