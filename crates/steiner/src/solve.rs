//! The public face: one call from problem to trees and bound.

use crate::ascent::Plan;
use crate::branch::Branching;
use crate::instance::{Ask, Instance, Work};
use crate::many::is_dense;
use crate::problem::Problem;
use crate::reach::{Unreachable, unreachable_terminals};
use crate::search::Search;
use crate::single;
use crate::unit::unit;
use std::ops::ControlFlow;

/// How much to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// How many arcs may be looked at while improving trees and bound; not a time, so that the
    /// answer is the same on every machine. A first solution and a first bound are made whatever
    /// the limit.
    pub work: u64,
    /// Seed of the random choices.
    pub seed: u64,
}

/// Where the search stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Arcs looked at so far.
    pub work: u64,
    /// Cost of the best trees so far.
    pub cost: f64,
    /// Best bound so far.
    pub bound: f64,
}

/// Trees that join every group, and a bound on what any such trees cost.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Edge ids per group, sorted.
    pub trees: Vec<Vec<u32>>,
    /// Cost of all trees together.
    pub cost: f64,
    /// No solution costs less; never above `cost`.
    pub bound: f64,
    /// Whether the bound has met the cost, to one part in 10^9.
    pub optimal: bool,
    /// Arcs looked at.
    pub work: u64,
}

impl Solution {
    /// How far the cost may be above the optimum, as a part of the bound: 0.01 is one percent.
    /// 0 if both are 0, infinite if only the bound is.
    pub fn gap(&self) -> f64 {
        if self.cost <= self.bound {
            0.0
        } else {
            (self.cost - self.bound) / self.bound
        }
    }
}

/// Finds trees and a bound. `progress` is called between steps and may break off; the best so far
/// is then returned.
///
/// # Errors
///
/// The first terminal that cannot be reached; [`unreachable_terminals`] lists them all.
///
/// # Example
///
/// Two groups cross a square of four nodes. Sharing the dear edge costs less than two ways.
///
/// ```
/// use std::ops::ControlFlow;
/// use steiner::{Edge, Group, Limits, Problem, check, solve};
///
/// let edge = |a, b, shared| Edge { a, b, shared, length: 1.0 };
/// let edges = vec![edge(0, 1, 5.0), edge(1, 2, 1.0), edge(1, 3, 1.0), edge(0, 3, 5.5)];
/// let groups = vec![
///     Group { terminals: vec![0, 2], rate: 0.5 },
///     Group { terminals: vec![0, 3], rate: 0.5 },
/// ];
/// let problem = Problem::new(4, edges, groups)?;
/// let limits = Limits { work: 100_000, seed: 1 };
/// let solution = solve(&problem, limits, &|_| ControlFlow::Continue(()))?;
///
/// assert_eq!(solution.trees, [vec![0, 1], vec![0, 2]]);
/// assert_eq!(solution.cost, 5.0 + 1.0 + 1.0 + 4.0 * 0.5);
/// assert!(solution.optimal);
/// assert_eq!(check(&problem, &solution.trees)?, solution.cost);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve(
    problem: &Problem,
    limits: Limits,
    progress: &dyn Fn(Progress) -> ControlFlow<()>,
) -> Result<Solution, Unreachable> {
    solve_from(problem, limits, Aim::TreesAndBound, None, progress)
}

/// What a search is to find.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    /// Good trees only; the bound stays 0. Much faster on large problems with many groups.
    Trees,
    /// Good trees near known ones: nothing is routed anew but what these leave out. Without known trees
    /// the same as [`Aim::Trees`].
    Near,
    /// Good trees and a bound.
    TreesAndBound,
}

/// Like [`solve`], beginning with trees that are known already, and with a choice of what to find.
/// The result is never dearer than the known trees. Trees that [`check`](crate::check) refuses, as
/// when a terminal has moved or an edge is gone, are mended first: what of them still leads
/// somewhere is kept, and what they leave out is joined.
///
/// # Errors
///
/// The first terminal that cannot be reached.
pub fn solve_from(
    problem: &Problem,
    limits: Limits,
    aim: Aim,
    known: Option<&[Vec<u32>]>,
    progress: &dyn Fn(Progress) -> ControlFlow<()>,
) -> Result<Solution, Unreachable> {
    if let Some((group, terminal)) = unreachable_terminals(problem).first().copied() {
        return Err(Unreachable { group, terminal });
    }
    if problem.groups.len() == 1 && aim == Aim::TreesAndBound {
        return Ok(single::solve(problem, limits, known, progress));
    }
    let limits = Limits {
        work: limits.work.min(MOST_WORK),
        ..limits
    };
    let inst = Instance::new(problem);
    let unit = unit(problem);
    let ask = Ask::new(progress);
    let work = Work {
        done: 0,
        limit: limits.work,
        ask: Some(&ask),
    };
    let near = known.filter(|_| aim == Aim::Near);
    let search = match near {
        Some(known) => Search::resume(inst, unit, limits.seed, work, known),
        None => Search::start(inst, unit, limits.seed, work),
    };
    let mut search = search.expect("every terminal was just found reachable");
    if near.is_none() {
        known.into_iter().for_each(|known| search.begin_with(known));
    }
    let known = known.is_some();
    let stop = &mut |search: &Search| ask.tell(standing(search));
    match aim {
        Aim::Trees | Aim::Near => run_for_trees(&mut search, stop),
        Aim::TreesAndBound => run(&mut search, known, stop),
    }
    Ok(answer(problem, search))
}

fn standing(search: &Search) -> Progress {
    Progress {
        work: search.work.done,
        cost: search.best.cost,
        bound: search.bound,
    }
}

fn run_for_trees(search: &mut Search, stop: &mut dyn FnMut(&Search) -> bool) {
    let limit = search.work.limit;
    if !stop(search) {
        search.polish_best(limit / 2);
        hunt(search, limit, stop);
    }
}

fn run(search: &mut Search, known: bool, stop: &mut dyn FnMut(&Search) -> bool) {
    let limit = search.work.limit;
    if !stop(search) {
        search.polish_best(limit / 4);
    }
    if search.inst.groups() > 0 {
        run_together(search, known, stop);
    }
}

/// Several groups: unless trees are known already, an ascent to find some; then, guided by the best,
/// lifting cuts of all groups side by side, on smaller problems by steps along the cuts found, and
/// looking for better trees in turn, and branching where the problem is small.
fn run_together(search: &mut Search, known: bool, stop: &mut dyn FnMut(&Search) -> bool) {
    let limit = search.work.limit;
    if !known {
        search.climb(&Plan::groups(&search.inst));
    }
    if is_dense(&search.inst) {
        let plan = Plan::guided(&search.inst, &search.best.trees, &mut search.desk.place);
        search.climb(&plan);
    }
    let rest = limit.saturating_sub(search.work.done);
    let mut branching = None;
    for turn in 1u64.. {
        let start = search.work.done;
        let size = (rest / TURNS).min(FIRST_TURN << turn.min(30));
        let until = |share: u64| limit.min(start + size * share / 8);
        if turn > 1 && search.gathers() {
            search.gather(until(5), stop);
        } else if turn > TURNS / 4 && search.branches() {
            let branching = branching.get_or_insert_with(|| Branching::new(search));
            branching.run(search, until(5), &mut *stop);
        } else {
            search.lift_together(until(5), stop);
        }
        hunt(search, until(8), stop);
        if search.closed() || search.work.out() || stop(search) {
            return;
        }
    }
}

/// With work without end, turns begin twice as large as this and double from one to the next.
const FIRST_TURN: u64 = 2_000_000;

/// Turns of dividing and looking for trees.
const TURNS: u64 = 8;

/// The most work between two looks at whether to stop.
const MOST_AT_ONCE: u64 = 2_000_000;

/// More work than anyone can wait for; beyond it, parts of the work would overflow.
const MOST_WORK: u64 = 1 << 50;

/// Looks for better trees: fresh ones, their recombination, and the best disturbed.
fn hunt(search: &mut Search, until: u64, stop: &mut dyn FnMut(&Search) -> bool) {
    let steps = 30 + search.best.trees.iter().map(Vec::len).sum::<usize>() / 4;
    for round in 0.. {
        if search.closed() || search.work.done >= until || stop(search) {
            return;
        }
        let half = (until - search.work.done) / 2 + 100_000;
        let budget = until.min(search.work.done + half.min(MOST_AT_ONCE));
        match round % 4 {
            0 => search.shake_best(steps, until),
            3 => search.recombine(budget),
            _ => search.restart(steps, until),
        }
    }
}

fn answer(problem: &Problem, search: Search) -> Solution {
    let cost = Instance::new(problem).cost(&search.best.trees);
    let bound = search.bound.min(cost);
    Solution {
        trees: search.best.trees,
        cost,
        bound,
        optimal: bound >= cost * (1.0 - 1e-9),
        work: search.work.done,
    }
}
