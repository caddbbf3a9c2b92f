//! Orders of tasks, crossed and disturbed, each made into a schedule and justified: a genetic
//! search over activity lists (S. Hartmann, "A competitive genetic algorithm for
//! resource-constrained project scheduling", Naval Research Logistics 45, 1998), with the double
//! justification of Valls, Ballestín and Quintanilla.

use crate::data::Data;
use crate::dice::Dice;
use crate::generate::Maker;

struct Being {
    starts: Vec<i32>,
    order: Vec<u32>,
    makespan: i32,
    /// Sum of all ends, to tell apart those of one makespan.
    ends: i64,
}

pub(crate) struct Breed<'a> {
    pub(crate) maker: Maker<'a>,
    dice: Dice,
    beings: Vec<Being>,
    /// The best of earlier beginnings.
    elite: Vec<Being>,
    size: usize,
    /// Children since the last one that was better than all.
    idle: usize,
    pub(crate) best: Option<Vec<i32>>,
    pub(crate) makespan: i32,
}

impl<'a> Breed<'a> {
    pub(crate) fn new(data: &'a Data, horizon: i32, seed: u64) -> Breed<'a> {
        Breed {
            maker: Maker::new(data, horizon),
            dice: Dice::new(seed),
            beings: Vec::new(),
            elite: Vec::new(),
            size: SIZE,
            idle: 0,
            best: None,
            makespan: i32::MAX,
        }
    }

    fn data(&self) -> &'a Data {
        self.maker.data
    }

    /// Schedules by rules of priority, each with both ways of generating.
    pub(crate) fn seed(&mut self) {
        let data = self.data();
        if data.order.len() < data.tasks {
            return;
        }
        for rule in 0..RULES {
            let rank: Vec<i64> = (0..data.tasks).map(|at| rank(data, rule, at)).collect();
            let mut starts = vec![0; data.tasks];
            if self.maker.parallel(&rank, &mut starts) {
                self.admit(starts);
            }
            let order = ranked(data, &rank);
            let mut starts = vec![0; data.tasks];
            if self.maker.serial(&order, &mut starts) {
                self.admit(starts);
            }
        }
    }

    /// A schedule by the rule of the least latest start, a little disturbed.
    fn sample(&mut self) {
        let data = self.data();
        let most = data.tail.iter().copied().max().unwrap_or(0) as usize;
        let spread = 1 + most / (2 + self.dice.below(20));
        let rank: Vec<i64> = (0..data.tasks)
            .map(|at| 4 * (self.dice.below(spread) as i64) - 4 * i64::from(data.tail[at]))
            .collect();
        let mut starts = vec![0; data.tasks];
        let fine = if self.dice.permille(500) {
            self.maker.parallel(&rank, &mut starts)
        } else {
            let order = ranked(data, &rank);
            self.maker.serial(&order, &mut starts)
        };
        if fine {
            self.admit(starts);
        }
    }

    /// Takes a schedule in, if it is good enough.
    pub(crate) fn admit(&mut self, mut starts: Vec<i32>) {
        let data = self.data();
        let before = starts.clone();
        if !self.maker.justify(&mut starts) {
            starts = before.clone();
        }
        for found in [&starts, &before] {
            let makespan = data.makespan(found);
            let better = makespan < self.makespan
                || makespan == self.makespan
                    && self
                        .best
                        .as_ref()
                        .is_some_and(|best| data.cost(found) < data.cost(best));
            if better && (data.sure || data.keeps_lags(found)) {
                if makespan < self.makespan {
                    self.idle = 0;
                }
                self.makespan = makespan;
                self.best = Some(found.clone());
            }
        }
        let ends = starts.iter().map(|start| i64::from(*start)).sum();
        let makespan = data.makespan(&starts);
        let key = (makespan, ends);
        let same = |being: &&Being| (being.makespan, being.ends) == key;
        if self.beings.iter().any(|being| same(&being)) {
            return;
        }
        if self.beings.len() >= self.size {
            // The worst of a few makes room, so that some bad ones live on for a while.
            let mut worst = self.dice.below(self.beings.len());
            for _ in 0..TOURNAMENT {
                let other = self.dice.below(self.beings.len());
                let worth = |at: usize| (self.beings[at].makespan, self.beings[at].ends);
                if worth(other) > worth(worst) {
                    worst = other;
                }
            }
            if (self.beings[worst].makespan, self.beings[worst].ends) < key {
                return;
            }
            self.beings.swap_remove(worst);
        }
        let mut order = Vec::with_capacity(data.tasks);
        self.maker.by_start(&starts, &mut order);
        self.beings.push(Being {
            starts,
            order,
            makespan,
            ends,
        });
    }

    /// Breeds until so much work is done, or a makespan is reached, or nothing new comes.
    pub(crate) fn run(&mut self, until: u64, target: i32) {
        let data = self.data();
        if data.order.len() < data.tasks || data.tasks < 2 {
            return;
        }
        let mut tries = 0;
        while self.beings.len() < self.size && tries < 2 * self.size {
            if self.maker.work >= until || self.makespan <= target {
                return;
            }
            self.sample();
            tries += 1;
        }
        while self.maker.work < until && self.makespan > target {
            self.idle += 1;
            self.maker.work += data.tasks as u64;
            if self.idle.is_multiple_of(RESTART) && self.beings.len() > 2 {
                self.renew();
            }
            if self.beings.len() < 2 || self.dice.permille(20) {
                self.sample();
                continue;
            }
            let (mother, father) = (self.pick(), self.pick());
            let child = if mother == father || self.dice.permille(300) {
                self.disturbed(mother)
            } else {
                self.crossed(mother, father)
            };
            let mut starts = vec![0; data.tasks];
            if self.maker.serial(&child, &mut starts) {
                self.admit(starts);
            }
        }
    }

    /// Begins anew: what has become alike leads nowhere. The best are put aside, and when there
    /// are enough of them from several beginnings they are bred with one another.
    fn renew(&mut self) {
        self.beings
            .sort_by_key(|being| (being.makespan, being.ends));
        self.beings.truncate(KEPT);
        self.elite.append(&mut self.beings);
        if self.elite.len() >= ELITE {
            self.beings = std::mem::take(&mut self.elite);
        }
        for _ in 0..self.size {
            self.sample();
        }
    }

    fn pick(&mut self) -> usize {
        let (one, two) = (
            self.dice.below(self.beings.len()),
            self.dice.below(self.beings.len()),
        );
        let worth = |at: usize| (self.beings[at].makespan, self.beings[at].ends);
        if worth(one) <= worth(two) { one } else { two }
    }

    /// The father's order between two places, the mother's before and after.
    fn crossed(&mut self, mother: usize, father: usize) -> Vec<u32> {
        let tasks = self.data().tasks;
        let mut from = self.dice.below(tasks);
        let mut until = (from + tasks / 4 + self.dice.below(tasks / 2 + 1)).min(tasks);
        if self.dice.permille(300) {
            until = tasks;
        } else if self.dice.permille(300) {
            from = 0;
        }
        let (mother, father) = (&self.beings[mother].order, &self.beings[father].order);
        let mut used = vec![false; tasks];
        let mut child = Vec::with_capacity(tasks);
        let mut take = |task: u32, child: &mut Vec<u32>| {
            if !used[task as usize] {
                used[task as usize] = true;
                child.push(task);
            }
        };
        mother[..from].iter().for_each(|t| take(*t, &mut child));
        for task in father {
            if child.len() >= until {
                break;
            }
            take(*task, &mut child);
        }
        mother.iter().for_each(|t| take(*t, &mut child));
        self.mutate(&mut child, 50);
        child
    }

    /// The order after some tasks have been moved in time.
    fn disturbed(&mut self, of: usize) -> Vec<u32> {
        let data = self.data();
        let makespan = self.beings[of].makespan.max(1) as usize;
        let reach = 1 + makespan / 8;
        let centre = self.dice.below(makespan) as i32;
        let width = 1 + (makespan / 4) as i32;
        let mut rank: Vec<i64> = Vec::with_capacity(data.tasks);
        for at in 0..data.tasks {
            let start = self.beings[of].starts[at];
            let near = (start - centre).abs() <= width;
            let by = if near && self.dice.permille(300) {
                self.dice.below(2 * reach + 1) as i64 - reach as i64
            } else {
                0
            };
            rank.push(i64::from(start) + by);
        }
        ranked(data, &rank)
    }

    fn mutate(&mut self, order: &mut [u32], permille: usize) {
        let data = self.data();
        for at in 1..order.len() {
            if self.dice.permille(permille) {
                let (one, two) = (order[at - 1], order[at]);
                let bound = data.ahead[one as usize].iter().any(|lag| lag.0 == two);
                if !bound {
                    order.swap(at - 1, at);
                }
            }
        }
    }
}

const SIZE: usize = 60;
const TOURNAMENT: usize = 3;
const RESTART: usize = 1500;
const KEPT: usize = 2;
const ELITE: usize = 16;
const RULES: usize = 5;

/// Low comes first.
fn rank(data: &Data, rule: usize, at: usize) -> i64 {
    let (head, tail) = (i64::from(data.head[at]), i64::from(data.tail[at]));
    let duration = i64::from(data.duration[at]);
    match rule {
        0 => -tail,
        1 => duration - tail,
        2 => -(data.ahead[at].len() as i64),
        3 => head - tail,
        _ => {
            let demands: u32 = data.packed[at * data.words..][..data.words]
                .iter()
                .map(|word| word.count_ones())
                .sum();
            -tail - duration * i64::from(demands)
        }
    }
}

/// An order that the lags allow, otherwise by rank.
fn ranked(data: &Data, rank: &[i64]) -> Vec<u32> {
    let mut open: Vec<usize> = data.behind.iter().map(Vec::len).collect();
    let mut ready = std::collections::BinaryHeap::new();
    for (at, open) in open.iter().enumerate() {
        if *open == 0 {
            ready.push(std::cmp::Reverse((rank[at], at as u32)));
        }
    }
    let mut order = Vec::with_capacity(data.tasks);
    while let Some(std::cmp::Reverse((_, task))) = ready.pop() {
        order.push(task);
        for (after, _) in &data.ahead[task as usize] {
            let after = *after as usize;
            open[after] -= 1;
            if open[after] == 0 {
                ready.push(std::cmp::Reverse((rank[after], after as u32)));
            }
        }
    }
    order
}
