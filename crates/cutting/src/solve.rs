//! The public face: one call from problem to cuts and bound.

use crate::bound::{attainable, quick};
use crate::branch::{End, search};
use crate::dice::Dice;
use crate::dive::Tools;
use crate::greedy::{Prices, best_fit};
use crate::instance::{Instance, Plan};
use crate::knapsack::Knapsack;
use crate::lp::{Dual, Rest, Simplex, proven};
use crate::pool::Pool;
use crate::problem::Problem;
use crate::reduce::reduce;
use crate::watch::Watch;
use std::collections::BTreeMap;
use std::fmt;
use std::ops::ControlFlow;

/// How much to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Cells of tables and of the simplex that may be looked at, in eights; not a time, so that the
    /// answer is the same on every machine. A first plan and bound are made whatever the limit.
    pub work: u64,
    /// Seed of the random choices.
    pub seed: u64,
}

/// Where the search stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Progress {
    /// Work done so far.
    pub work: u64,
    /// Cost of the best plan so far, if there is one.
    pub cost: Option<u64>,
    /// Best bound on the cost so far.
    pub bound: u64,
}

/// One way of filling a stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cut {
    /// Number of the stock.
    pub stock: usize,
    /// Number of the piece, and how often it is in each.
    pub pieces: Vec<(usize, u32)>,
    /// How many stocks are cut so.
    pub times: u32,
}

/// What is cut from what, and bounds below which none can be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Solution {
    /// All cuts.
    pub cuts: Vec<Cut>,
    /// Price of all stocks used.
    pub cost: u64,
    /// How many stocks are used.
    pub count: u64,
    /// No plan costs less; never above `cost`.
    pub bound: u64,
    /// No plan of this cost uses fewer stocks, if the cost is proven; 0 where it is not.
    pub count_bound: u64,
    /// Whether the cost is proven, and of all plans of this cost none uses fewer stocks.
    pub optimal: bool,
    /// Work done.
    pub work: u64,
}

/// Why there is no plan to give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPlan {
    /// There is none: the stocks that are there do not suffice.
    Impossible,
    /// None was found, but there may be one.
    NotFound,
}

impl fmt::Display for NoPlan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoPlan::Impossible => write!(f, "the stocks do not suffice for all pieces"),
            NoPlan::NotFound => write!(f, "no plan was found; allow more work or more stocks"),
        }
    }
}

impl std::error::Error for NoPlan {}

/// Finds cuts and a bound. `progress` is called between steps and may break off; the best so far is
/// then returned.
///
/// # Errors
///
/// That there is no plan, or that none was found: limited stocks only.
///
/// # Example
///
/// ```
/// use cutting::{Limits, Piece, Problem, Stock, check, solve};
/// use std::ops::ControlFlow;
///
/// let pieces = vec![Piece { length: 60, count: 2 }, Piece { length: 38, count: 2 }];
/// let problem = Problem::new(pieces, vec![Stock::new(100, 7)], 2)?;
/// let limits = Limits { work: 1_000_000, seed: 1 };
/// let solution = solve(&problem, limits, &|_| ControlFlow::Continue(()))?;
///
/// assert_eq!((solution.cost, solution.count, solution.bound), (14, 2, 14));
/// assert!(solution.optimal);
/// assert_eq!(check(&problem, &solution.cuts)?, (14, 2));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve(
    problem: &Problem,
    limits: Limits,
    progress: &dyn Fn(Progress) -> ControlFlow<()>,
) -> Result<Solution, NoPlan> {
    let inst = Instance::new(problem);
    if inst.rows() > 0
        && inst
            .kinds
            .first()
            .is_none_or(|kind| kind.room < inst.size[0])
    {
        return Err(NoPlan::Impossible);
    }
    let mut rest = Rest::of(&inst);
    let sure = reduce(&inst, &mut rest);
    // From here on only the rest is looked at.
    let inner = Instance {
        demand: rest.demand.clone(),
        ..inst.clone()
    };
    let mut hunt = Hunt {
        fixed: inst.cost(&sure),
        best: None,
        cost: i128::MAX,
        bound: 0,
        impossible: false,
        tools: Tools {
            inst: &inner,
            pool: Pool::default(),
            knapsack: Knapsack::default(),
            dice: Dice::new(limits.seed),
            watch: Watch::new(limits.work, progress),
        },
    };
    hunt.run(&rest);
    let work = hunt.tools.watch.work;
    let Some(plan) = hunt.best.take() else {
        return Err(if hunt.impossible {
            NoPlan::Impossible
        } else {
            NoPlan::NotFound
        });
    };
    let all: Plan = sure.into_iter().chain(plan).collect();
    let cuts = spelled(&inst, all);
    let uses = |cut: &Cut| (problem.stocks[cut.stock].price, u64::from(cut.times));
    let cost: u64 = cuts
        .iter()
        .map(uses)
        .map(|(price, times)| price * times)
        .sum();
    let count: u64 = cuts.iter().map(uses).map(|(_, times)| times).sum();
    let whole = (hunt.bound + hunt.fixed) * inst.common;
    // A bound of `price * unit + count` with a count below `unit`.
    let bound = (whole.div_euclid(inst.unit) as u64).min(cost);
    let met = bound == cost;
    let count_bound = if met {
        (whole.rem_euclid(inst.unit) as u64).min(count)
    } else {
        0
    };
    Ok(Solution {
        cuts,
        cost,
        count,
        bound,
        count_bound,
        optimal: hunt.cost <= hunt.bound,
        work,
    })
}

/// Nodes of the first search that tries everything; each later one gets twice as many.
const FIRST_NODES: u64 = 5_000;

struct Hunt<'a, 'b> {
    /// Cost of what is cut already.
    fixed: i128,
    best: Option<Plan>,
    cost: i128,
    bound: i128,
    /// Whether it is proven that there is no plan.
    impossible: bool,
    tools: Tools<'a, 'b>,
}

impl Hunt<'_, '_> {
    fn take(&mut self, plan: Option<Plan>) {
        let inst = self.tools.inst;
        if let Some(plan) = plan {
            let cost = inst.cost(&plan);
            if cost < self.cost {
                self.cost = cost;
                self.best = Some(plan);
                let whole = (cost + self.fixed) * inst.common;
                self.tools.watch.standing.cost = Some(whole.div_euclid(inst.unit) as u64);
            }
        }
    }

    fn raise(&mut self, bound: i128) {
        let inst = self.tools.inst;
        let bound = attainable(inst, bound);
        if bound > self.bound {
            self.bound = bound.min(self.cost);
            let whole = (self.bound + self.fixed) * inst.common;
            self.tools.watch.standing.bound = whole.div_euclid(inst.unit) as u64;
        }
    }

    fn over(&mut self) -> bool {
        self.cost <= self.bound || self.tools.watch.is_out()
    }

    fn run(&mut self, rest: &Rest) {
        let inst = self.tools.inst;
        self.raise(quick(inst, rest));
        self.take(best_fit(inst, rest));
        self.tools.watch.look();
        if self.over() {
            return;
        }
        self.correct(rest, Prices::new(inst), 8);
        if self.over() {
            return;
        }
        if let Some(plan) = &self.best {
            for (pattern, _) in plan {
                self.tools.pool.add(pattern.clone());
            }
        }
        let scale = inst.kinds.iter().map(|kind| kind.cost).max().unwrap_or(1) as f64;
        // Between whole numbers nothing is to be won.
        let enough = |low: f64, value: f64| {
            (low * scale * (1.0 - 1e-8)).ceil() >= (value * scale * (1.0 - 1e-8)).ceil()
        };
        let tools = &mut self.tools;
        let relaxed = Simplex::new(inst, rest).solve(
            &mut tools.pool,
            &mut tools.knapsack,
            &mut tools.watch,
            &enough,
        );
        let mut spent = 0;
        let dual = proven(inst, &relaxed.worth, &mut spent);
        self.tools.watch.spend(spent / 8);
        self.raise(dual.bound());
        for round in 0.. {
            if self.over() {
                return;
            }
            let wild = [0, 100, 300, 600, 1000][round % 5];
            let plan = self.tools.dive(rest, self.cost, wild);
            self.take(plan);
            if self.over() {
                return;
            }
            self.correct(rest, Prices::from(&relaxed.worth, inst), 4);
            self.close(rest, &dual, FIRST_NODES << round.min(30));
        }
    }

    /// Looks for better plans until there is none, as far as the nodes reach.
    fn close(&mut self, rest: &Rest, dual: &Dual, nodes: u64) {
        let kinds = self.tools.inst.kinds.iter();
        let all: i128 = kinds.map(|kind| kind.cost * i128::from(kind.most)).sum();
        while !self.over() {
            let below = self.cost.min(all + 1);
            let watch = &mut self.tools.watch;
            match search(self.tools.inst, rest, dual, below, nodes, watch) {
                End::Found(plan) => self.take(Some(plan)),
                End::None => {
                    self.impossible = self.best.is_none();
                    self.bound = self.cost;
                }
                End::Open => return,
            }
        }
    }

    fn correct(&mut self, rest: &Rest, mut prices: Prices, times: usize) {
        for _ in 0..times {
            let tools = &mut self.tools;
            let plan = prices.plan(
                tools.inst,
                rest,
                &mut tools.knapsack,
                &mut tools.dice,
                &mut tools.watch,
                self.cost,
            );
            self.take(plan);
            if self.over() {
                return;
            }
        }
    }
}

/// The plan in pieces and stocks of the problem, pieces of one size in the order of the problem.
fn spelled(inst: &Instance, plan: Plan) -> Vec<Cut> {
    let mut source: Vec<Vec<(usize, u32)>> = inst.source.clone();
    source.iter_mut().for_each(|list| list.reverse());
    let mut cuts: BTreeMap<(usize, Vec<(usize, u32)>), u32> = BTreeMap::new();
    for (pattern, times) in plan {
        for _ in 0..times {
            let mut pieces: Vec<(usize, u32)> = Vec::new();
            for (row, count) in &pattern.rows {
                let mut left = *count;
                while left > 0 {
                    let Some((piece, there)) = source[*row as usize].last_mut() else {
                        break;
                    };
                    let take = left.min(*there);
                    pieces.push((*piece, take));
                    left -= take;
                    *there -= take;
                    if *there == 0 {
                        source[*row as usize].pop();
                    }
                }
            }
            pieces.sort_unstable();
            let stock = inst.kinds[pattern.kind].stock;
            *cuts.entry((stock, pieces)).or_default() += 1;
        }
    }
    cuts.into_iter()
        .map(|((stock, pieces), times)| Cut {
            stock,
            pieces,
            times,
        })
        .collect()
}
