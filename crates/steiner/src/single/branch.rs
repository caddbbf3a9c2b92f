//! Branch and cut: the cutting planes of a kernel, then splitting on a node the tree passes through
//! or goes around, each part continuing from the program of the whole.

use crate::instance::Dice;
use crate::single::bound::Bounds;
use crate::single::cutting::{Cutting, Tools};
use crate::single::kernel::Kernel;
use crate::single::primal::Primal;
use crate::single::shut::{Dual, shut};
use crate::single::simplex::Solved;
use crate::single::{Run, Stage};

/// A part of the problem still to be looked at.
struct Part {
    cutting: Cutting,
    bound: f64,
}

/// The parts of one kernel.
pub(crate) struct Tree {
    open: Vec<Part>,
    pub bounds: Bounds,
    /// Least bound of the parts given up.
    lost: f64,
    /// Work at the beginning, and what went into looking for better trees since.
    start: u64,
    hunted: u64,
    /// How often in a row they found nothing.
    failed: u32,
}

/// How looking at a part ended.
enum Seen {
    /// Nothing better in it.
    Closed,
    /// No more cuts.
    Open,
    /// Broken off or out of numbers.
    Lost,
    /// So many edges were ruled out that a smaller kernel is worth its while.
    Shrunk,
}

/// Cuts of an ascent taken over at a time.
const LIFTED: usize = 4000;
/// Of the work since the kernel was made, one part in so many goes into looking for better trees.
const SHARE: u64 = 3;
/// A bound further off than this part of the best cost is far.
const FAR: f64 = 0.01;
/// Rounds without a better bound before branching.
const IDLE: usize = 12;

impl Tree {
    pub fn new(run: &mut Run, kernel: &Kernel, bounds: Bounds) -> Tree {
        let dual = bounds.fresh(kernel, bounds.root);
        let cutting = Cutting::new(kernel, bounds.root, &dual.slack);
        let open = vec![Part {
            cutting,
            bound: bounds.best,
        }];
        Tree {
            open,
            bounds,
            lost: f64::INFINITY,
            start: run.watch.work.done,
            hunted: 0,
            failed: 0,
        }
    }

    /// Works until the best tree is proved, the kernel has shrunk, or time is up.
    pub fn run(
        &mut self,
        run: &mut Run,
        kernel: &Kernel,
        primal: &mut Primal,
        tools: &mut Tools,
    ) -> Stage {
        let mut top = true;
        if let Some(part) = self.open.last_mut() {
            let mut dice = Dice::new(run.dice.next());
            let way = self.bounds.start(run.most());
            let watch = &mut run.watch;
            part.cutting.begin(kernel, tools, way, &mut dice, watch);
        }
        while let Some(mut part) = self.open.pop() {
            if part.bound > run.most() {
                continue;
            }
            let seen = self.look(run, kernel, &mut part, primal, tools, top);
            match seen {
                Seen::Closed => {}
                Seen::Shrunk => return Stage::Again,
                Seen::Lost => self.lost = self.lost.min(part.bound),
                Seen::Open => {
                    if !split(kernel, &part, &mut self.open) {
                        self.lost = self.lost.min(part.bound);
                    }
                }
            }
            top = false;
            self.lift(run);
            if run.watch.out() {
                return Stage::Stuck;
            }
        }
        if self.lost > run.most() {
            Stage::Proved
        } else {
            Stage::Stuck
        }
    }

    /// Looks for better trees if it is their turn: while the bound is far off they get a fixed
    /// share, near it the less, the more often nothing was found. True if the part is closed.
    fn hunt(&mut self, run: &mut Run, kernel: &Kernel, primal: &mut Primal, part: &Part) -> bool {
        let since = run.watch.work.done - self.start;
        let far = run.most() - part.bound > FAR * run.best.cost;
        let share = if far {
            SHARE
        } else {
            SHARE << self.failed.min(6)
        };
        if run.nested || self.hunted * share >= since {
            return false;
        }
        let (before, cost) = (run.watch.work.done, run.best.cost);
        let turn = (since / share - self.hunted).max(1_000_000);
        run.improve(kernel, primal, before.saturating_add(turn));
        self.hunted += run.watch.work.done - before;
        self.failed = if run.best.cost < cost {
            0
        } else {
            self.failed + 1
        };
        part.bound > run.most()
    }

    fn lift(&self, run: &mut Run) {
        let least = self
            .open
            .iter()
            .map(|part| part.bound)
            .fold(self.lost, f64::min);
        if least.is_finite() {
            run.lift(least);
        }
    }

    /// Cutting planes on one part.
    fn look(
        &mut self,
        run: &mut Run,
        kernel: &Kernel,
        part: &mut Part,
        primal: &mut Primal,
        tools: &mut Tools,
        top: bool,
    ) -> Seen {
        let mut idle = 0;
        for round in 0.. {
            let solved = part.cutting.solve(&mut run.watch);
            let (mut dual, lifted) = part.cutting.bound(kernel, tools, 0.25, &mut run.watch);
            if dual.bound > part.bound * (1.0 + 1e-7) {
                idle = 0;
            } else {
                idle += 1;
            }
            part.bound = part.bound.max(dual.bound);
            if part.bound > run.most() {
                return Seen::Closed;
            }
            if top {
                run.lift(part.bound);
            }
            if run.watch.out() {
                return Seen::Lost;
            }
            // Under decisions what a tree costs at least says nothing of the others.
            let least = match top {
                true => &mut self.bounds.least,
                false => &mut vec![0.0; kernel.edges()],
            };
            let (most, reach) = (run.most(), &mut tools.reach);
            if shut(kernel, &mut dual, most, least, reach, &mut run.watch) > 0 {
                part.cutting.close(&dual);
            }
            if top {
                self.bounds.note(&dual);
                if self.bounds.count() * 4 > kernel.edges() && kernel.edges() > 50 {
                    return Seen::Shrunk;
                }
            }
            if solved != Solved::Best {
                // Without an answer from the program only the bound above counts.
                return Seen::Lost;
            }
            if self.hunt(run, kernel, primal, part) {
                return Seen::Closed;
            }
            if round % 3 == 0 {
                guess(run, kernel, part, primal, &dual);
                if part.bound > run.most() {
                    return Seen::Closed;
                }
            }
            let mut count = part
                .cutting
                .add(lifted.into_iter().take(LIFTED).map(|lift| lift.arcs));
            if count < 100 {
                count += part.cutting.separate(kernel, tools, &mut run.watch);
            }
            if count == 0 || idle > IDLE {
                guess(run, kernel, part, primal, &dual);
                return if part.bound > run.most() {
                    Seen::Closed
                } else {
                    Seen::Open
                };
            }
            if round % 3 == 2 {
                part.cutting.forget();
            }
        }
        Seen::Lost
    }
}

/// A tree near the fractional solution.
fn guess(run: &mut Run, kernel: &Kernel, part: &Part, primal: &mut Primal, dual: &Dual) {
    let mut share = vec![0.0f64; kernel.edges()];
    for (arc, x) in part.cutting.simplex.support() {
        share[arc as usize / 2] += x;
    }
    let seen: Vec<f64> = (0..kernel.edges())
        .map(|edge| {
            let slack = dual.slack[2 * edge].min(dual.slack[2 * edge + 1]);
            let weight = 1.0 - share[edge].clamp(0.0, 1.0);
            let far = if slack.is_infinite() { 10.0 } else { 1.0 };
            kernel.cost[edge] * weight * far
        })
        .collect();
    primal.grow(&seen, 0.02, &mut run.watch);
    primal.harvest(&run.graph, kernel, &mut run.best, &mut run.watch);
}

/// Puts the two halves of a part on the stack; false if there is nothing to split on.
fn split(kernel: &Kernel, part: &Part, open: &mut Vec<Part>) -> bool {
    let simplex = &part.cutting.simplex;
    let mut inflow = vec![0.0f64; kernel.nodes()];
    let mut count = vec![0usize; kernel.nodes()];
    for (arc, x) in simplex.support().filter(|(_, x)| *x > 1e-6) {
        inflow[kernel.head(arc) as usize] += x;
        count[kernel.head(arc) as usize] += 1;
        count[kernel.tail(arc) as usize] += 1;
    }
    let cutting = &part.cutting;
    let free = (0..kernel.nodes() as u32).filter(|node| {
        let flow = inflow[*node as usize];
        flow > 1e-3 && flow < 1.0 - 1e-3 && !cutting.terminals.contains(node)
    });
    let rank = |node: &u32| {
        let at = *node as usize;
        (0.5 - (inflow[at] - 0.5).abs()) * (2.0 + count[at] as f64)
    };
    let node = free.max_by(|a, b| rank(a).total_cmp(&rank(b)).then(b.cmp(a)));
    let (mut one, mut two) = (cutting.clone(), cutting.clone());
    if let Some(node) = node {
        let arcs = kernel.of(node).iter();
        for link in arcs {
            one.simplex.shut[link.arc as usize] = true;
            one.simplex.shut[link.arc as usize ^ 1] = true;
        }
        two.terminals.push(node);
        let into = kernel.of(node).iter().map(|link| link.arc ^ 1);
        let into = into
            .filter(|arc| !cutting.simplex.shut[*arc as usize])
            .collect();
        two.add([into]);
    } else {
        let arc = simplex
            .support()
            .filter(|(_, x)| *x > 1e-3 && *x < 1.0 - 1e-3)
            .max_by(|a, b| {
                let mid = |x: f64| -(x - 0.5).abs();
                mid(a.1).total_cmp(&mid(b.1)).then(b.0.cmp(&a.0))
            });
        let Some((arc, _)) = arc else { return false };
        one.simplex.shut[arc as usize] = true;
        let into = kernel.of(kernel.head(arc)).iter().map(|link| link.arc ^ 1);
        for other in into.filter(|other| *other != arc) {
            two.simplex.shut[other as usize] = true;
        }
    }
    for cutting in [one, two] {
        open.push(Part {
            cutting,
            bound: part.bound,
        });
    }
    true
}
