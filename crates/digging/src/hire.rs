//! Which machines to hire: all sets compared.
//!
//! Machines are hired for the job, not for a stretch, so the cheapest method of each stretch taken
//! alone can be dear together. Every set of machines is tried; in a set every stretch goes by its
//! cheapest method, and then stretches are moved to other methods where that saves a whole day of
//! hire.

use quantity::{Duration, Money};

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

/// A machine that has to be hired for its method.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Machine {
    /// Index of the method.
    pub method: usize,
    /// Hire for a day.
    pub day: Money,
    /// Bringing it and taking it away.
    pub mobilisation: Money,
}

/// A machine that is hired.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hired {
    /// Index of the method.
    pub method: usize,
    /// Machine time over all its stretches.
    pub hours: Duration,
    /// Days of hire.
    pub days: u32,
    /// Hire and mobilisation.
    pub cost: Money,
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
    /// Sets of machines that were compared.
    pub compared: usize,
    /// Whether these were all sets of machines that can do anything.
    pub all_sets: bool,
}

/// With more machines than this, sets are searched step by step and not all compared.
const MOST_MACHINES_FOR_ALL_SETS: usize = 12;

/// Chooses the set of machines and the method of every stretch at the least total cost.
///
/// `offers` holds, for every stretch, its feasible methods; a method that is not among `machines`
/// needs no hire. A set that leaves fewer stretches without a method comes before a cheaper one;
/// ties go to the set with fewer machines, then to that whose machines come first.
///
/// What is exact: where all that a machine could do fits in one day, for every machine, the result
/// is the least over all assignments of methods to stretches. Beyond one day, whole days couple the
/// stretches of a set; moving stretches to save a day is a local improvement there, not a proof.
pub fn choose(offers: &[Vec<Offer>], machines: &[Machine], day: Duration) -> Choice {
    let useful: Vec<Machine> = machines
        .iter()
        .filter(|m| offers.iter().flatten().any(|o| o.method == m.method))
        .copied()
        .collect();
    let table = Table::new(offers, &useful, day);
    let all_sets = useful.len() <= MOST_MACHINES_FOR_ALL_SETS;
    let (best, compared) = if all_sets {
        table.best_of_all()
    } else {
        table.best_by_steps()
    };
    table.choice(best, compared, all_sets)
}

/// Days of hire for machine hours: whole days, at least one.
pub fn days(hours: Duration, day: Duration) -> u32 {
    if day <= Duration::ZERO {
        return 1;
    }
    // A hair of rounding must not add a day.
    (hours / day - 1e-9).ceil().max(1.0) as u32
}

/// Hire for whole days and mobilisation.
pub fn hire_cost(machine: &Machine, days: u32) -> Money {
    machine.day.times(f64::from(days)) + machine.mobilisation
}

/// An offer by a machine's bit; no bit for what needs no hire.
#[derive(Debug, Clone, Copy)]
struct Entry {
    offer: Offer,
    machine: Option<usize>,
}

struct Table<'a> {
    machines: &'a [Machine],
    day: Duration,
    /// For every stretch, its offers from the cheapest on.
    rows: Vec<Vec<Entry>>,
}

/// An assignment in one set: for every stretch the index of its entry.
#[derive(Debug, Clone)]
struct Assignment {
    picks: Vec<Option<usize>>,
    conflicts: usize,
    total: Money,
    used: usize,
}

impl<'a> Table<'a> {
    fn new(offers: &[Vec<Offer>], machines: &'a [Machine], day: Duration) -> Self {
        let entry = |offer: &Offer| Entry {
            offer: *offer,
            machine: machines.iter().position(|m| m.method == offer.method),
        };
        let row = |offers: &Vec<Offer>| {
            let mut row: Vec<Entry> = offers.iter().map(entry).collect();
            row.sort_by_key(|e| (e.offer.cost, e.machine.is_some(), e.offer.method));
            row
        };
        Self {
            machines,
            day,
            rows: offers.iter().map(row).collect(),
        }
    }

    fn best_of_all(&self) -> (Assignment, usize) {
        let mut sets: Vec<u32> = (0..1_u32 << self.machines.len()).collect();
        // Of equally many machines, the set whose lowest machine comes first goes first.
        sets.sort_by_key(|set| (set.count_ones(), std::cmp::Reverse(set.reverse_bits())));
        let mut best = self.assign(0, None);
        for set in &sets[1..] {
            let next = self.assign(*set, Some(&best));
            if next.beats(&best) {
                best = next;
            }
        }
        (best, sets.len())
    }

    /// From no machine, adds or drops the one machine that gains most until none gains.
    fn best_by_steps(&self) -> (Assignment, usize) {
        let (mut set, mut best, mut compared) = (0_u32, self.assign(0, None), 1);
        // A bit for each machine has to fit in the word; further ones are left out.
        let machines = self.machines.len().min(31);
        loop {
            let before = set;
            for machine in 0..machines {
                let next_set = before ^ (1 << machine);
                let next = self.assign(next_set, None);
                compared += 1;
                if next.beats(&best) {
                    (set, best) = (next_set, next);
                }
            }
            if set == before {
                return (best, compared);
            }
        }
    }

    /// Every stretch by its cheapest method in a set, then days saved, unless no saving could make
    /// it better than `best`.
    fn assign(&self, set: u32, best: Option<&Assignment>) -> Assignment {
        let allowed = |e: &Entry| e.machine.is_none_or(|m| set & (1 << m) != 0);
        let picks: Vec<Option<usize>> = self
            .rows
            .iter()
            .map(|row| row.iter().position(allowed))
            .collect();
        let mut assignment = self.weigh(picks);
        let hopeless = |best: &Assignment| {
            best.conflicts <= assignment.conflicts && self.least(set, &assignment) >= best.total
        };
        if best.is_some_and(hopeless) {
            return assignment;
        }
        while let Some(better) = self.save_a_day(&assignment) {
            assignment = better;
        }
        assignment
    }

    /// No assignment that uses just the machines of a set costs less than every stretch by its
    /// cheapest method with one day of each machine.
    fn least(&self, set: u32, cheapest: &Assignment) -> Money {
        let stretches: Money = self.picked(&cheapest.picks).map(|e| e.offer.cost).sum();
        let machines = self.machines.iter().enumerate();
        let hire = machines
            .filter(|(i, _)| set & (1 << i) != 0)
            .map(|(_, machine)| hire_cost(machine, 1));
        stretches + hire.sum()
    }

    fn weigh(&self, picks: Vec<Option<usize>>) -> Assignment {
        let hours = self.hours(&picks);
        let mut total: Money = self.picked(&picks).map(|e| e.offer.cost).sum();
        for (machine, hours) in self.machines.iter().zip(&hours) {
            if let Some(hours) = hours {
                total += hire_cost(machine, days(*hours, self.day));
            }
        }
        Assignment {
            conflicts: picks.iter().filter(|p| p.is_none()).count(),
            used: hours.iter().flatten().count(),
            total,
            picks,
        }
    }

    fn picked<'b>(&'b self, picks: &'b [Option<usize>]) -> impl Iterator<Item = &'b Entry> {
        picks
            .iter()
            .zip(&self.rows)
            .filter_map(|(pick, row)| pick.map(|i| &row[i]))
    }

    /// Hours of every machine; `None` for one that is not used.
    fn hours(&self, picks: &[Option<usize>]) -> Vec<Option<Duration>> {
        let mut hours = vec![None; self.machines.len()];
        for entry in self.picked(picks) {
            if let Some(machine) = entry.machine {
                let so_far = hours[machine].unwrap_or(Duration::ZERO);
                hours[machine] = Some(so_far + entry.offer.hours);
            }
        }
        hours
    }

    /// Moves the stretches that cost least to move off some machine until it needs a day less, if
    /// the total falls.
    fn save_a_day(&self, now: &Assignment) -> Option<Assignment> {
        let hours = self.hours(&now.picks);
        let used: Vec<bool> = hours.iter().map(Option::is_some).collect();
        (0..self.machines.len())
            .filter_map(|machine| {
                let hours = hours[machine]?;
                let days = days(hours, self.day);
                let excess = hours - self.day * f64::from(days - 1);
                if days > 1 {
                    self.relieve(now, machine, excess, &used)
                } else {
                    None
                }
            })
            .find(|next| next.total < now.total)
    }

    fn relieve(
        &self,
        now: &Assignment,
        machine: usize,
        excess: Duration,
        used: &[bool],
    ) -> Option<Assignment> {
        let mut moves: Vec<(f64, usize, usize, Duration)> = Vec::new();
        for (stretch, (pick, row)) in now.picks.iter().zip(&self.rows).enumerate() {
            let Some(entry) = pick.map(|i| &row[i]).filter(|e| e.machine == Some(machine)) else {
                continue;
            };
            let other = row
                .iter()
                .position(|e| e.machine != Some(machine) && e.machine.is_none_or(|m| used[m]));
            if let Some(other) = other {
                let extra = (row[other].offer.cost - entry.offer.cost).to_units();
                let hours = entry.offer.hours;
                let rate = extra / hours.to_h().max(f64::MIN_POSITIVE);
                moves.push((rate, stretch, other, hours));
            }
        }
        moves.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut picks = now.picks.clone();
        let mut left = excess;
        for (_, stretch, other, hours) in moves {
            if left <= Duration::ZERO {
                break;
            }
            picks[stretch] = Some(other);
            left -= hours;
        }
        (left <= Duration::ZERO).then(|| self.weigh(picks))
    }

    fn choice(&self, best: Assignment, compared: usize, all_sets: bool) -> Choice {
        let hours = self.hours(&best.picks);
        let hires = self.machines.iter().zip(hours);
        Choice {
            methods: best
                .picks
                .iter()
                .zip(&self.rows)
                .map(|(pick, row)| pick.map(|i| row[i].offer.method))
                .collect(),
            hires: hires
                .filter_map(|(machine, hours)| {
                    let hours = hours?;
                    let days = days(hours, self.day);
                    Some(Hired {
                        method: machine.method,
                        hours,
                        days,
                        cost: hire_cost(machine, days),
                    })
                })
                .collect(),
            total: best.total,
            compared,
            all_sets,
        }
    }
}

impl Assignment {
    fn beats(&self, other: &Self) -> bool {
        let key = |a: &Self| (a.conflicts, a.total, a.used);
        key(self) < key(other)
    }
}
