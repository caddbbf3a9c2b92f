//! The bound of the directed cut formulation, by cutting planes: a linear program over the arcs
//! with the cuts found so far, solved again and again (T. Koch and A. Martin, "Solving Steiner
//! tree problems in graphs to optimality", Networks 32, 1998).
//!
//! The program works with rounding and slightly changed costs. Its prices are only a proposal: the
//! bound is worked out from them anew, and lifted further by a dual ascent on what they leave.

use crate::flow::Flows;
use crate::grow::Reach;
use crate::instance::Dice;
use crate::single::ascent::{Ascent, Lifted, Way};
use crate::single::kernel::Kernel;
use crate::single::shut::Dual;
use crate::single::simplex::{Row, Simplex, Solved};
use crate::single::watch::Watch;
use std::collections::BTreeSet;
use std::rc::Rc;

/// The program for one kernel and root, under decisions.
#[derive(Clone)]
pub(crate) struct Cutting {
    pub root: u32,
    /// Nodes that the tree must reach.
    pub terminals: Vec<u32>,
    pub simplex: Simplex,
    scale: f64,
    known: Rc<BTreeSet<Vec<u32>>>,
    rounds: usize,
}

/// What every open arc is given in addition while cuts are looked for: the more, the fewer arcs
/// the cuts have, but some are missed.
const CREEP: [f64; 3] = [3e-3, 1e-4, 0.0];

/// Rows added at a time.
const ROWS: usize = 400;
/// Cuts looked for around one terminal, each beyond the last.
const NESTED: usize = 3;

/// Everything a round needs besides the program.
pub(crate) struct Tools {
    pub ascent: Ascent,
    pub flows: Flows,
    pub reach: Reach,
}

impl Tools {
    pub fn new(kernel: &Kernel) -> Tools {
        Tools {
            ascent: Ascent::new(kernel),
            flows: Flows::new(kernel),
            reach: Reach::new(kernel.nodes()),
        }
    }
}

impl Cutting {
    pub fn new(kernel: &Kernel, root: u32, slack: &[f64]) -> Cutting {
        let total: f64 = kernel.cost.iter().sum();
        let scale = if total > 0.0 {
            total / kernel.edges() as f64
        } else {
            1.0
        };
        let cost = (0..kernel.arcs())
            .map(|arc| kernel.cost[arc / 2] / scale)
            .collect();
        let shut = slack.iter().map(|slack| slack.is_infinite()).collect();
        Cutting {
            root,
            terminals: kernel.terminals.clone(),
            simplex: Simplex::new(cost, shut),
            scale,
            known: Rc::default(),
            rounds: 0,
        }
    }

    /// Begins with the cuts that an ascent lifts at the program's own costs. Each is tight, and the
    /// arc that ended its lifting is basic: the prices are those of the ascent.
    pub fn begin(
        &mut self,
        kernel: &Kernel,
        tools: &mut Tools,
        way: Way,
        dice: &mut Dice,
        watch: &mut Watch,
    ) {
        // Costs that differ a little everywhere keep ties from stalling the pivots, and make the
        // ascent lift more and different cuts.
        for cost in &mut self.simplex.cost {
            *cost += 3e-7 * dice.part();
        }
        let mut slack: Vec<f64> = (self.simplex.cost.iter().zip(&self.simplex.shut))
            .map(|(cost, shut)| if *shut { f64::INFINITY } else { *cost })
            .collect();
        let mut lifted = Lifted::new();
        let note = Some(&mut lifted);
        let ascent = &mut tools.ascent;
        ascent.climb(kernel, way, &self.terminals, &mut slack, note, watch);
        for mut lift in lifted {
            lift.arcs.sort_unstable();
            Rc::make_mut(&mut self.known).insert(lift.arcs.clone());
            let row = Row {
                plus: lift.arcs,
                minus: Vec::new(),
                least: 1.0,
            };
            self.simplex.add_tight(row, lift.last);
        }
    }

    /// Solves the program as it stands.
    pub fn solve(&mut self, watch: &mut Watch) -> Solved {
        self.rounds += 1;
        self.simplex.solve(watch)
    }

    /// A bound from the program's prices, and the cuts by which an ascent lifted it.
    pub fn bound(
        &mut self,
        kernel: &Kernel,
        tools: &mut Tools,
        loose: f64,
        watch: &mut Watch,
    ) -> (Dual, Lifted) {
        let mut slack: Vec<f64> = (0..kernel.arcs())
            .map(|arc| match self.simplex.shut[arc] {
                true => f64::INFINITY,
                false => kernel.cost[arc / 2],
            })
            .collect();
        let mut bound = 0.0;
        let prices = self.simplex.prices_at(|arc| kernel.cost[arc as usize / 2]);
        let rows = self.simplex.rows.iter().zip(prices);
        for (row, price) in rows.filter(|(_, price)| *price > 0.0) {
            bound += row.least * price;
            row.plus
                .iter()
                .for_each(|arc| slack[*arc as usize] -= price);
            row.minus
                .iter()
                .for_each(|arc| slack[*arc as usize] += price);
            watch.tick(row.plus.len() as u64 / 4);
        }
        for slack in slack.iter_mut().filter(|slack| **slack < 1e-9 * self.scale) {
            // No arc is used more than once.
            bound += slack.min(0.0);
            *slack = 0.0;
        }
        let way = Way {
            root: self.root,
            loose,
            pace: &[],
        };
        let mut lifted = Vec::new();
        bound += tools.ascent.climb(
            kernel,
            way,
            &self.terminals,
            &mut slack,
            Some(&mut lifted),
            watch,
        );
        let root = self.root;
        (Dual { root, bound, slack }, lifted)
    }

    /// Adds cuts as rows; returns how many were new.
    pub fn add(&mut self, cuts: impl IntoIterator<Item = Vec<u32>>) -> usize {
        let mut count = 0;
        for mut cut in cuts {
            cut.sort_unstable();
            if !self.known.contains(&cut) {
                Rc::make_mut(&mut self.known).insert(cut.clone());
                self.simplex.add(Row {
                    plus: cut,
                    minus: Vec::new(),
                    least: 1.0,
                });
                count += 1;
            }
        }
        count
    }

    /// Adds rows that the present solution breaks; returns how many.
    pub fn separate(&mut self, kernel: &Kernel, tools: &mut Tools, watch: &mut Watch) -> usize {
        let mut count = self.balance(kernel);
        let start = self.rounds * 7;
        for creep in CREEP {
            tools
                .flows
                .load(self.simplex.support(), &self.simplex.shut, creep);
            for at in 0..self.terminals.len() {
                let terminal = self.terminals[(at + start) % self.terminals.len()];
                if terminal == self.root {
                    continue;
                }
                let flows = &mut tools.flows;
                let cuts = flows.cuts(kernel, (self.root, terminal), NESTED);
                watch.tick(std::mem::take(&mut flows.work));
                let broken = cuts.into_iter().filter(|cut| {
                    cut.iter().map(|arc| self.simplex.x(*arc)).sum::<f64>() < 1.0 - 1e-4
                });
                let broken: Vec<Vec<u32>> = broken.collect();
                count += self.add(broken);
                if count > ROWS || watch.out() {
                    break;
                }
            }
            if count > 20 || watch.out() {
                break;
            }
        }
        count
    }

    /// What enters a node that is no terminal leaves it again.
    fn balance(&mut self, kernel: &Kernel) -> usize {
        let mut nodes: Vec<u32> = (self.simplex.support())
            .filter(|(_, x)| *x > 1e-6)
            .map(|(arc, _)| kernel.head(arc))
            .collect();
        nodes.sort_unstable();
        nodes.dedup();
        let mut rows = Vec::new();
        for node in nodes {
            if node == self.root || self.terminals.contains(&node) {
                continue;
            }
            let sum = |back: u32| -> f64 {
                let links = kernel.of(node).iter();
                links.map(|link| self.simplex.x(link.arc ^ back)).sum()
            };
            if sum(1) > sum(0) + 1e-4 {
                let open = |arc: &u32| !self.simplex.shut[*arc as usize];
                let arcs = |back: u32| {
                    let links = kernel.of(node).iter();
                    links.map(|link| link.arc ^ back).filter(open).collect()
                };
                rows.push(Row {
                    plus: arcs(0),
                    minus: arcs(1),
                    least: 0.0,
                });
            }
        }
        let count = rows.len();
        rows.into_iter().for_each(|row| self.simplex.add(row));
        count
    }

    /// Shuts the arcs that a dual solution has ruled out.
    pub fn close(&mut self, dual: &Dual) {
        for (shut, slack) in self.simplex.shut.iter_mut().zip(&dual.slack) {
            *shut |= slack.is_infinite();
        }
    }

    /// Forgets rows that have not been of use.
    pub fn forget(&mut self) {
        self.simplex.drop_loose(0.5);
        let rows = self.simplex.rows.iter().filter(|row| row.minus.is_empty());
        self.known = Rc::new(rows.map(|row| row.plus.clone()).collect());
    }
}
