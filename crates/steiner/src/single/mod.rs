//! One group: a cheapest tree, with a proof where it can be had.
//!
//! Reduce the graph; look for better trees on the edges that dual ascents favour, and for an order
//! of ascents whose bound rules out most of the others, again and again on what is left; then
//! cutting planes and, if they leave a gap, branching.

mod ascent;
mod bound;
mod branch;
mod cutting;
mod elite;
mod factor;
mod graph;
mod kernel;
mod pivot;
mod primal;
mod reduce;
mod shut;
mod simplex;
mod special;
mod watch;

use crate::check::check;
use crate::few;
use crate::instance::{Dice, Instance, Work};
use crate::problem::Problem;
use crate::search::{Search, better};
use crate::single::ascent::{LOOSE, Way};
use crate::single::bound::{Bounds, PACED, roots};
use crate::single::branch::Tree;
use crate::single::cutting::Tools;
use crate::single::elite::Elite;
use crate::single::graph::Graph;
use crate::single::kernel::Kernel;
use crate::single::primal::{Best, Primal};
use crate::single::reduce::{Tests, degrees, reduce};
use crate::single::watch::Watch;
use crate::solve::{Limits, Progress, Solution};
use crate::unit::{round_up, unit};
use std::ops::ControlFlow;

/// Finds a tree and a bound for a problem with one group whose terminals can all be reached.
pub(crate) fn solve(
    problem: &Problem,
    limits: Limits,
    known: Option<&[Vec<u32>]>,
    progress: &dyn Fn(Progress) -> ControlFlow<()>,
) -> Solution {
    let mut watch = Watch::new(limits.work, progress);
    let inst = Instance::new(problem);
    let unit = unit(problem);
    let mut first = Search::start(inst.clone(), unit, limits.seed, Work::within(limits.work))
        .expect("every terminal was found reachable");
    let mut best = Best::new(inst, first.best.trees.swap_remove(0), &mut watch);
    if let Some(known) = known.filter(|trees| check(problem, trees).is_ok()) {
        best.offer(known[0].clone(), &mut watch);
    }
    watch.tick(first.work.done);
    watch.ask();
    drop(first);
    let mut run = build(best, unit, limits.seed, watch);
    run.all();
    run.answer()
}

/// A run that begins with a tree.
fn build<'p, 'w>(best: Best<'p>, unit: f64, seed: u64, watch: Watch<'w>) -> Run<'p, 'w> {
    Run {
        pace: vec![1.0; best.inst.nodes()],
        loose: PACED[0],
        root: None,
        graph: Graph::new(&best.inst),
        best,
        elite: Elite::default(),
        unit,
        dice: Dice::new(seed),
        watch,
        nested: false,
    }
}

/// One run of the solver.
pub(crate) struct Run<'p, 'w> {
    pub graph: Graph,
    /// Per node of the graph, its pace in the best ascent so far, and how loose that was; its root.
    pace: Vec<f64>,
    loose: f64,
    root: Option<u32>,
    pub best: Best<'p>,
    pub elite: Elite,
    pub unit: f64,
    pub dice: Dice,
    pub watch: Watch<'w>,
    /// A part of another run, small, where only cuts are of use.
    pub nested: bool,
}

/// Most work that goes into looking for trees before the bound is climbed to.
const HUNT: u64 = 20_000_000;

/// With more edges, the program of cuts takes more memory and time than it is worth.
const LARGE: usize = 60_000;

/// With more edges, looking for a better order of ascents once more is worth its while.
const MANY: usize = 2500;

/// Most work for solving a kernel by sets of terminals.
const FEW: u64 = 200_000_000;

/// How a stage ended.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stage {
    Proved,
    /// Edges were ruled out; begin again with a smaller kernel.
    Again,
    Stuck,
}

impl Run<'_, '_> {
    fn all(&mut self) {
        if self.watch.out() {
            return;
        }
        reduce(&mut self.graph, Tests::ALL, &mut self.watch);
        for round in 0.. {
            let stage = self.round(round);
            if stage == Stage::Proved {
                self.watch.bound = self.best.cost;
            }
            if stage != Stage::Again || self.watch.out() {
                return;
            }
            if round % 2 == 1 {
                reduce(&mut self.graph, Tests::ALL, &mut self.watch);
            } else {
                degrees(&mut self.graph);
            }
        }
    }

    /// Costs of the graph above this are not better than the best tree.
    pub fn most(&self) -> f64 {
        better(self.best.cost, self.unit) - self.graph.offset
    }

    /// Takes over a bound of the graph.
    pub fn lift(&mut self, bound: f64) {
        let bound = round_up(bound + self.graph.offset, self.unit);
        self.watch.bound = self.watch.bound.max(bound).min(self.best.cost);
    }

    /// Looks at the graph as it stands.
    fn round(&mut self, round: usize) -> Stage {
        if self.graph.terminals <= 1 {
            let edges = self.graph.unfold(&[]);
            self.best.offer(edges, &mut self.watch);
            return Stage::Proved;
        }
        let kernel = Kernel::new(&self.graph);
        let Ok(sub) = kernel.problem() else {
            return Stage::Stuck;
        };
        let seed = self.dice.next();
        let Some(mut primal) = Primal::new(Instance::new(&sub), self.unit, seed, &mut self.watch)
        else {
            // Only edges of better trees were left in, and they do not join the terminals.
            return Stage::Proved;
        };
        primal.polish_best(&mut self.watch);
        self.inherit(&kernel, &mut primal);
        primal.harvest(&self.graph, &kernel, &mut self.best, &mut self.watch);
        let mut tools = Tools::new(&kernel);
        let mut bounds = Bounds::new(&kernel);
        if !self.nested {
            // A bound first: on large graphs looking for trees takes long.
            let way = Way {
                root: bounds.root,
                loose: 1.0,
                pace: &[],
            };
            let most = self.most();
            let dual = bounds.climb(&kernel, way, most, &mut tools, &mut self.watch);
            let Some(dual) = dual else {
                return Stage::Proved;
            };
            self.lift(dual.bound);
            let turn = (100 * kernel.edges() as u64).min(HUNT);
            let until = (self.watch.work.done + turn).min(self.watch.work.limit / 2);
            self.improve(&kernel, &mut primal, until);
        }
        if self.ascents(&kernel, &mut primal, &mut bounds, &mut tools, round) {
            return Stage::Proved;
        }
        if !self.nested {
            self.narrow(&kernel, &mut primal, &bounds.least);
            if self.watch.bound >= self.best.cost {
                return Stage::Proved;
            }
            if self.wander(&kernel, &mut bounds, &mut tools) {
                return Stage::Proved;
            }
            bounds.cut(self.most());
        }
        let gone = bounds.count();
        self.remove(&kernel, &bounds);
        if gone * 20 > kernel.edges() {
            return Stage::Again;
        }
        drop(primal);
        degrees(&mut self.graph);
        self.exact()
    }

    /// Cutting planes and branching on the graph as it stands.
    fn exact(&mut self) -> Stage {
        let kernel = Kernel::new(&self.graph);
        let Ok(sub) = kernel.problem() else {
            return Stage::Stuck;
        };
        if self.graph.terminals <= 1 {
            return Stage::Again;
        }
        let seed = self.dice.next();
        let Some(mut primal) = Primal::new(Instance::new(&sub), self.unit, seed, &mut self.watch)
        else {
            return Stage::Proved;
        };
        primal.polish_best(&mut self.watch);
        self.inherit(&kernel, &mut primal);
        let mut tools = Tools::new(&kernel);
        let mut bounds = Bounds::new(&kernel);
        if self.ascents(&kernel, &mut primal, &mut bounds, &mut tools, 1) {
            return Stage::Proved;
        }
        if !self.nested {
            if self.wander(&kernel, &mut bounds, &mut tools) {
                return Stage::Proved;
            }
            // Looking once more from elsewhere costs less than cutting planes on many edges.
            if kernel.edges() > MANY && bounds.count() * 4 < kernel.edges() {
                self.pace.fill(1.0);
                self.root = None;
                bounds.root = kernel.terminals[self.dice.below(kernel.terminals.len())];
                if self.wander(&kernel, &mut bounds, &mut tools) {
                    return Stage::Proved;
                }
            }
            if bounds.count() * 4 > kernel.edges() {
                self.remove(&kernel, &bounds);
                return Stage::Again;
            }
        }
        if self.few(&kernel, Instance::new(&sub), &mut tools) {
            return Stage::Proved;
        }
        let mut stage = Stage::Stuck;
        if kernel.edges() <= LARGE {
            let mut tree = Tree::new(self, &kernel, bounds);
            stage = tree.run(self, &kernel, &mut primal, &mut tools);
            if stage == Stage::Again {
                self.remove(&kernel, &tree.bounds);
            }
        }
        if stage == Stage::Stuck && !self.nested {
            self.improve(&kernel, &mut primal, u64::MAX);
        }
        stage
    }

    /// Solves a kernel of few terminals outright if that is likely to cost less than branching.
    fn few(&mut self, kernel: &Kernel, inst: Instance, tools: &mut Tools) -> bool {
        let left = self.watch.work.limit - self.watch.work.done.min(self.watch.work.limit);
        let effort = few::effort(&inst, kernel.terminals.len());
        if effort.is_none_or(|effort| effort >= left.min(FEW)) {
            return false;
        }
        let mut work = self.watch.work;
        let watch = &mut self.watch;
        let stop = &mut |done: u64| {
            let more = done - watch.work.done;
            watch.tick(more)
        };
        let (price, terminals) = (&kernel.cost, &kernel.terminals);
        let tree = few::exact(&inst, price, terminals, &mut tools.reach, &mut work, stop);
        if let Some(tree) = &tree {
            let lines: Vec<u32> = tree
                .iter()
                .map(|edge| kernel.line[*edge as usize])
                .collect();
            self.best.offer(self.graph.unfold(&lines), &mut self.watch);
        }
        tree.is_some()
    }

    fn remove(&mut self, kernel: &Kernel, bounds: &Bounds) {
        for edge in (0..kernel.edges()).filter(|edge| bounds.gone[*edge]) {
            self.graph.remove(kernel.line[edge]);
        }
    }

    /// Ascents from several roots, with trees along their arcs without slack; true if the best
    /// tree is proved.
    fn ascents(
        &mut self,
        kernel: &Kernel,
        primal: &mut Primal,
        bounds: &mut Bounds,
        tools: &mut Tools,
        round: usize,
    ) -> bool {
        let most = if self.nested { 3 } else { 12 };
        let many = (400_000 / (kernel.edges() + 1)).clamp(2, most);
        let many = if round == 0 { many } else { many.div_ceil(2) };
        let large = kernel.nodes() > 20_000;
        for (at, root) in roots(kernel, bounds.root, many, &mut self.dice)
            .into_iter()
            .enumerate()
        {
            let loose = if large { 1.0 } else { LOOSE[at % LOOSE.len()] };
            let way = Way {
                root,
                loose,
                pace: &[],
            };
            let most = self.most();
            let Some(dual) = bounds.climb(kernel, way, most, tools, &mut self.watch) else {
                return true;
            };
            self.lift(dual.bound);
            let free: Vec<f64> = (primal.price().iter().enumerate())
                .map(|(edge, price)| {
                    let slack = dual.slack[2 * edge].min(dual.slack[2 * edge + 1]);
                    if slack <= 1e-9 * dual.bound {
                        *price
                    } else {
                        f64::INFINITY
                    }
                })
                .collect();
            primal.grow(&free, 0.02, &mut self.watch);
            if at % 3 == 2 {
                primal.shake_best(40, &mut self.watch);
            }
            primal.harvest(&self.graph, kernel, &mut self.best, &mut self.watch);
            if self.watch.bound >= self.best.cost {
                return true;
            }
            if self.watch.out() {
                return false;
            }
        }
        false
    }

    /// Looks for a better order of ascents, beginning with the best on an earlier kernel; true if
    /// the best tree is proved.
    fn wander(&mut self, kernel: &Kernel, bounds: &mut Bounds, tools: &mut Tools) -> bool {
        let pace = kernel.place.iter().map(|node| self.pace[*node as usize]);
        let from = (pace.collect(), self.loose);
        let known = |node: &&u32| Some(kernel.place[**node as usize]) == self.root;
        if let Some(root) = kernel.terminals.iter().find(known) {
            bounds.root = *root;
        }
        let root = bounds.root;
        let (most, dice) = (self.most(), &mut self.dice);
        let found = bounds.wander(kernel, most, from, tools, dice, &mut self.watch);
        let Some((pace, loose)) = found else {
            return true;
        };
        for (node, pace) in kernel.place.iter().zip(&pace) {
            self.pace[*node as usize] = *pace;
        }
        self.loose = loose;
        self.root = Some(kernel.place[root as usize]);
        self.lift(bounds.best);
        false
    }

    /// Begins on a kernel with what the best tree has there.
    fn inherit(&mut self, kernel: &Kernel, primal: &mut Primal) {
        let seen: Vec<f64> = (0..kernel.edges())
            .map(|edge| {
                let inside = self.graph.within(kernel.line[edge], &self.best.tree);
                kernel.cost[edge] * if inside { 0.05 } else { 1.0 }
            })
            .collect();
        primal.grow(&seen, 0.1, &mut self.watch);
    }

    fn answer(self) -> Solution {
        let cost = self.best.inst.cost(std::slice::from_ref(&self.best.tree));
        let bound = self.watch.bound.min(cost);
        Solution {
            trees: vec![self.best.tree],
            cost,
            bound,
            optimal: bound >= cost * (1.0 - 1e-9),
            work: self.watch.work.done,
        }
    }
}
