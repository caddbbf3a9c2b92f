//! Good trees on a kernel, and their translation to the problem.

use crate::grow::grow;
use crate::improve::{Desk, Task, respan};
use crate::instance::{Instance, Work};
use crate::search::Search;
use crate::shake::shake;
use crate::single::graph::Graph;
use crate::single::kernel::Kernel;
use crate::single::watch::Watch;
use crate::state::{State, polish};
use crate::tidy::nodes_of;

/// The best tree of the problem so far.
pub(crate) struct Best<'p> {
    pub inst: Instance<'p>,
    desk: Desk,
    price: Vec<f64>,
    pub tree: Vec<u32>,
    pub cost: f64,
}

impl<'p> Best<'p> {
    pub fn new(inst: Instance<'p>, tree: Vec<u32>, watch: &mut Watch) -> Best<'p> {
        let price = State::new(&inst).prices(&inst, 0, &[]);
        let mut best = Best {
            desk: Desk::new(inst.nodes()),
            inst,
            price,
            tree: Vec::new(),
            cost: f64::INFINITY,
        };
        best.offer(tree, watch);
        best
    }

    /// Keeps a set of edges that joins all terminals, without what is too much in it, if it is
    /// the cheapest so far.
    pub fn offer(&mut self, edges: Vec<u32>, watch: &mut Watch) {
        if let Some((cost, tree)) = self.tidy(edges, watch)
            && cost < self.cost
        {
            self.tree = tree;
            self.cost = cost;
            watch.cost = cost;
        }
    }

    /// The cheapest tree over the nodes of a set of edges, with its cost.
    pub fn tidy(&mut self, edges: Vec<u32>, watch: &mut Watch) -> Option<(f64, Vec<u32>)> {
        let task = Task {
            inst: &self.inst,
            price: &self.price,
            terminals: &self.inst.terminals[0],
        };
        let nodes = nodes_of(&self.inst, &edges, task.terminals);
        let tree = task.tidy(&nodes, &mut self.desk, &mut watch.work)?;
        Some((task.cost(&tree), tree))
    }
}

/// The search for trees on one kernel.
pub(crate) struct Primal<'p> {
    search: Search<'p>,
    taken: f64,
}

impl<'p> Primal<'p> {
    /// `None` if the kernel does not hang together.
    pub fn new(inst: Instance<'p>, unit: f64, seed: u64, watch: &mut Watch) -> Option<Primal<'p>> {
        let mut search = Search::start(inst, unit, seed, Work::within(watch.work.limit))?;
        watch.tick(search.work.done);
        search.work = watch.work;
        Some(Primal {
            search,
            taken: f64::INFINITY,
        })
    }

    /// Grows a tree at the prices `seen`, spans it at the true ones, and improves it if it is
    /// within `near` of the best.
    pub fn grow(&mut self, seen: &[f64], near: f64, watch: &mut Watch) {
        let search = &mut self.search;
        let inst = &search.inst;
        let terminals = &inst.terminals[0];
        let start = terminals[search.dice.below(terminals.len())];
        let desk = &mut search.desk;
        let Some(tree) = grow(
            inst,
            seen,
            start,
            terminals,
            &mut desk.reach,
            &mut watch.work,
        ) else {
            return;
        };
        let price: Vec<f64> = inst.shared.clone();
        let task = Task {
            inst,
            price: &price,
            terminals,
        };
        let tree = respan(&task, tree, desk, &mut watch.work);
        let mut state = State::of(inst, vec![tree]);
        if state.cost <= search.best.cost * (1.0 + near) {
            let mut before = f64::INFINITY;
            while state.cost < before && !watch.out() {
                before = state.cost;
                let mut work = watch.slice();
                polish(inst, &mut state, &mut search.dice, desk, &mut work);
                let whole = !work.out();
                watch.work.done = work.done;
                watch.tick(0);
                if whole {
                    break;
                }
            }
        }
        search.offer(state);
    }

    /// Fresh trees and shaking until `until`.
    pub fn hunt(&mut self, until: u64, watch: &mut Watch) {
        let steps = 30 + self.search.best.trees[0].len() / 4;
        for round in 0.. {
            if watch.work.done >= until || watch.out() {
                return;
            }
            match round % 3 {
                0 => self.shake(self.search.best.clone(), steps, until, watch),
                _ => {
                    let many = watch.slice().limit.min(until);
                    self.step(watch, |search| search.restart(0, many));
                    let last = self.search.pool.last().cloned();
                    let from = last.unwrap_or_else(|| self.search.best.clone());
                    self.shake(from, steps, until, watch);
                }
            }
        }
    }

    /// Shakes in slices short enough to be broken off.
    pub fn shake(&mut self, from: State, steps: usize, until: u64, watch: &mut Watch) {
        let mut state = from;
        let mut done = 0;
        while done < steps && watch.work.done < until && !watch.out() {
            let many = (steps - done).min(40);
            let limit = watch.slice().limit.min(until);
            self.step(watch, |search| {
                state = shake(search, state.clone(), many, limit);
            });
            done += many;
        }
        self.search.offer(state);
    }

    fn step(&mut self, watch: &mut Watch, go: impl FnOnce(&mut Search<'p>)) {
        self.search.work = watch.work;
        go(&mut self.search);
        watch.work.done = self.search.work.done;
        watch.tick(0);
    }

    pub fn shake_best(&mut self, steps: usize, watch: &mut Watch) {
        self.shake(self.search.best.clone(), steps, u64::MAX, watch);
    }

    pub fn polish_best(&mut self, watch: &mut Watch) {
        let price = self.search.inst.shared.clone();
        let seen: Vec<f64> = price;
        self.grow(&seen, f64::INFINITY, watch);
    }

    /// Hands the best tree over if it is new.
    pub fn harvest(&mut self, graph: &Graph, kernel: &Kernel, best: &mut Best, watch: &mut Watch) {
        let state = &self.search.best;
        if state.cost >= self.taken {
            return;
        }
        self.taken = state.cost;
        if state.cost + graph.offset >= best.cost {
            return;
        }
        let lines: Vec<u32> = state.trees[0]
            .iter()
            .map(|edge| kernel.line[*edge as usize])
            .collect();
        best.offer(graph.unfold(&lines), watch);
    }

    /// The good trees met, by edges of the problem.
    pub fn pool(&self, graph: &Graph, kernel: &Kernel) -> Vec<Vec<u32>> {
        let line = |edge: &u32| kernel.line[*edge as usize];
        let pool = self.search.pool.iter();
        pool.map(|state| state.trees[0].iter().map(line).collect::<Vec<u32>>())
            .map(|lines| graph.unfold(&lines))
            .collect()
    }

    pub fn price(&self) -> &[f64] {
        &self.search.inst.shared
    }
}
