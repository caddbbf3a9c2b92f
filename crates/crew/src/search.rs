//! The order of the work: tried orders of the parts, then of single tasks, each placed and compared.
//!
//! What is preferred: least trench open at evening, then least hire, then the earliest finish; or hire
//! first, as the practice says. The orders tried are drawn from the job's seed, and how many is a matter of
//! work and not of time, so that the answer is the same on every machine. It is not proved that no other
//! order is better; [`crate::bound`] says below how many days none can go.

use crate::evenings;
use crate::parts::{self, Part, SUPPLY};
use crate::place::{Placed, Spec, place};
use crate::site::Site;
use crate::tasks::{self, Planned};
use crate::{Effort, days};
use digging::{Digging, Rental};
use job::Job;
use job::practice::First;
use quantity::Money;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use routes::Network;
use std::ops::ControlFlow;

impl Effort {
    /// Tasks placed at most while looking for a better order, round after round; each round goes on from
    /// where the last one came to.
    fn rounds(self) -> &'static [usize] {
        match self {
            Self::Draft => &[1_500],
            Self::Quick => &[6_000],
            Self::Full => &[6_000, 60_000, 200_000],
        }
    }
}

/// The part of a round that looks for an order of the parts: one in so many.
const FOR_PARTS: usize = 3;

/// The tasks in the order in which the parts are taken, and where they lie.
pub struct Found {
    pub tasks: Vec<Planned>,
    pub placed: Vec<Placed>,
}

/// What an order is worth; less is better.
type Value = (i64, i64, u32);

/// The best order found; nothing if the search is stopped.
pub fn search(
    (job, network, digging): (&Job, &Network, &Digging),
    site: &Site,
    effort: Effort,
    ask: &dyn Fn() -> ControlFlow<()>,
) -> Option<Found> {
    let parts = parts::of(network);
    let mut hunt = Hunt {
        job,
        network,
        digging,
        site,
        parts: &parts,
        rentals: digging::rentals(job),
        dice: Pcg64::seed_from_u64(job.seed),
        placings: 0,
        ask,
    };
    let order: Vec<usize> = (0..parts.len()).collect();
    let mut best = hunt.first(order);
    for &placings in effort.rounds() {
        let mut other = hunt.first(best.parts.clone());
        let gone_on = hunt.other_parts(&mut other, placings / FOR_PARTS);
        gone_on.continue_value()?;
        hunt.other_tasks(&mut other, placings).continue_value()?;
        if other.value < best.value {
            best = other;
        }
    }
    Some(Found {
        tasks: best.tasks,
        placed: best.placed,
    })
}

struct Hunt<'a> {
    job: &'a Job,
    network: &'a Network,
    digging: &'a Digging,
    site: &'a Site,
    parts: &'a [Part],
    rentals: Vec<Rental<'a>>,
    dice: Pcg64,
    /// Tasks placed in this round.
    placings: usize,
    /// Whether to go on.
    ask: &'a dyn Fn() -> ControlFlow<()>,
}

struct Tried {
    parts: Vec<usize>,
    tasks: Vec<Planned>,
    list: Vec<usize>,
    placed: Vec<Placed>,
    value: Value,
}

impl Hunt<'_> {
    /// Parts in this order, one after the other or machines first, whichever is better.
    fn first(&mut self, parts: Vec<usize>) -> Tried {
        let (job, network) = (self.job, self.network);
        let tasks = tasks::of(job, network, self.digging, self.site, self.parts, &parts);
        let list: Vec<usize> = (0..tasks.len()).collect();
        let (placed, value) = self.placed(&tasks, &list);
        let machines = machines_first(&tasks);
        let (other, worth) = self.placed(&tasks, &machines);
        let (list, placed, value) = if worth < value {
            (machines, other, worth)
        } else {
            (list, placed, value)
        };
        Tried {
            parts,
            tasks,
            list,
            placed,
            value,
        }
    }

    fn placed(&mut self, tasks: &[Planned], list: &[usize]) -> (Vec<Placed>, Value) {
        self.placings += tasks.len();
        let specs: Vec<&Spec> = tasks.iter().map(|task| &task.spec).collect();
        let placed = place(self.site, &specs, list);
        let value = self.value(tasks, &placed);
        (placed, value)
    }

    fn value(&self, tasks: &[Planned], placed: &[Placed]) -> Value {
        let open = evenings::sum(self.site, self.network, tasks, placed);
        let step = self.job.practice.day.open_step.value;
        let open = (open / step).round() as i64;
        let hire: Money = days::hire(&self.rentals, self.site, tasks, placed);
        let last = placed.iter().map(|one| one.end).max().unwrap_or(0);
        match self.job.practice.day.first.value {
            First::OpenTrench => (open, hire.to_cents(), last),
            First::Cost => (hire.to_cents(), open, last),
        }
    }

    /// Two parts change places, or one goes elsewhere; the supply stays first.
    fn other_parts(&mut self, best: &mut Tried, most: usize) -> ControlFlow<()> {
        self.placings = 0;
        let free = best.parts.len().saturating_sub(SUPPLY + 1);
        if free < 2 {
            return ControlFlow::Continue(());
        }
        while self.placings < most {
            (self.ask)()?;
            let mut parts = best.parts.clone();
            let [a, b] = [0; 2].map(|_| SUPPLY + 1 + self.dice.random_range(0..free));
            if a == b {
                // Two parts alone have one other order: the draws must count as work all the same.
                self.placings += 1;
                continue;
            }
            if self.dice.random_range(0..2) == 0 {
                parts.swap(a, b);
            } else {
                let part = parts.remove(a);
                parts.insert(b, part);
            }
            let tried = self.first(parts);
            if tried.value <= best.value {
                *best = tried;
            }
        }
        ControlFlow::Continue(())
    }

    /// One task goes elsewhere in the list, between those that it follows and those that follow it; or
    /// tasks of one machine come to stand together.
    fn other_tasks(&mut self, best: &mut Tried, most: usize) -> ControlFlow<()> {
        let mut followers = vec![Vec::new(); best.tasks.len()];
        for (index, task) in best.tasks.iter().enumerate() {
            for &before in &task.spec.after {
                followers[before].push(index);
            }
        }
        let with_machine: Vec<usize> = (0..best.tasks.len())
            .filter(|&task| best.tasks[task].spec.machine.is_some())
            .collect();
        let mut turn = turns(&best.list);
        while self.placings < most && !best.list.is_empty() {
            (self.ask)()?;
            let gathers = self.dice.random_range(0..GATHERS) == 0 && !with_machine.is_empty();
            let list = if gathers {
                let first = with_machine[self.dice.random_range(0..with_machine.len())];
                gathered(&best.tasks, &best.list, &turn, first)
            } else {
                self.moved(best, &turn, &followers)
            };
            if list == best.list {
                self.placings += 1;
                continue;
            }
            let (placed, value) = self.placed(&best.tasks, &list);
            if value <= best.value {
                turn = turns(&list);
                (best.list, best.placed, best.value) = (list, placed, value);
            }
        }
        ControlFlow::Continue(())
    }

    fn moved(&mut self, best: &Tried, turn: &[usize], followers: &[Vec<usize>]) -> Vec<usize> {
        let at = self.dice.random_range(0..best.list.len());
        let task = best.list[at];
        let before = best.tasks[task].spec.after.iter().map(|&b| turn[b] + 1);
        let from = before.max().unwrap_or(0);
        let behind = followers[task].iter().map(|&f| turn[f]);
        let to = behind.min().unwrap_or(best.list.len());
        let goes = self.dice.random_range(from..to);
        let mut list = best.list.clone();
        list.remove(at);
        list.insert(goes, task);
        list
    }
}

/// One move in so many brings tasks of one machine together.
const GATHERS: u32 = 8;

/// The list with all later tasks of a task's machine right behind it, as far as what they follow stands
/// before it.
fn gathered(tasks: &[Planned], list: &[usize], turn: &[usize], first: usize) -> Vec<usize> {
    let machine = &tasks[first].spec.machine;
    let comes = |task: usize| {
        tasks[task].spec.machine == *machine
            && turn[task] > turn[first]
            && tasks[task]
                .spec
                .after
                .iter()
                .all(|&before| turn[before] < turn[first])
    };
    let mut others = Vec::with_capacity(list.len());
    for &task in list {
        if !comes(task) {
            others.push(task);
        }
        if task == first {
            others.extend(list.iter().copied().filter(|&task| comes(task)));
        }
    }
    others
}

/// The place of each task in a list.
fn turns(list: &[usize]) -> Vec<usize> {
    let mut turn = vec![0; list.len()];
    for (at, task) in list.iter().enumerate() {
        turn[*task] = at;
    }
    turn
}

/// Tasks with a machine before all others that could be begun, those of one machine together.
fn machines_first(tasks: &[Planned]) -> Vec<usize> {
    let mut machines = Vec::new();
    for task in tasks {
        if let Some(machine) = &task.spec.machine
            && !machines.contains(machine)
        {
            machines.push(machine.clone());
        }
    }
    let rank = |task: &Planned| {
        let machine = task.spec.machine.as_ref();
        machine.map_or(machines.len(), |machine| {
            machines
                .iter()
                .position(|known| known == machine)
                .unwrap_or(0)
        })
    };
    let mut open: Vec<usize> = tasks.iter().map(|task| task.spec.after.len()).collect();
    let mut list = Vec::with_capacity(tasks.len());
    let mut ready: std::collections::BTreeSet<(usize, usize)> = tasks
        .iter()
        .enumerate()
        .filter(|(index, _)| open[*index] == 0)
        .map(|(index, task)| (rank(task), index))
        .collect();
    while let Some((_, next)) = ready.pop_first() {
        list.push(next);
        for (index, task) in tasks.iter().enumerate().skip(next + 1) {
            if task.spec.after.contains(&next) {
                open[index] -= 1;
                if open[index] == 0 {
                    ready.insert((rank(task), index));
                }
            }
        }
    }
    list
}
