//! Rounds of dual ascent from several roots on a kernel, each of which rules out edges and shows
//! where good trees are.

use crate::instance::Dice;
use crate::single::ascent::{LOOSE, Way};
use crate::single::cutting::Tools;
use crate::single::kernel::Kernel;
use crate::single::shut::{Dual, shut};
use crate::single::watch::Watch;

/// What is known of a kernel's bound.
pub(crate) struct Bounds {
    /// Per edge, whether no better tree uses it.
    pub gone: Vec<bool>,
    /// Per edge, what a tree with it costs at least.
    pub least: Vec<f64>,
    pub root: u32,
    pub best: f64,
    /// How the best ascent went, besides its root.
    loose: f64,
    pace: Vec<f64>,
    /// The best bound of ascents without paces.
    plain: f64,
}

/// Values of `loose` with paces.
pub(crate) const PACED: [f64; 3] = [0.25, 0.5, 1.0];

/// Ascents without a better bound after which the search for orders ends, and most of them.
const IDLE: usize = 150;
const TRIES: usize = 1000;
/// Most work of that search for each edge, and of all work that may be done.
const EFFORT: u64 = 5000;
const SHARE: u64 = 8;
/// One part in so many of the gap is a good part.
const GOOD: f64 = 4.0;

impl Bounds {
    pub fn new(kernel: &Kernel) -> Bounds {
        Bounds {
            gone: vec![false; kernel.edges()],
            least: vec![0.0; kernel.edges()],
            root: kernel.terminals[0],
            best: 0.0,
            loose: LOOSE[0],
            pace: Vec::new(),
            plain: 0.0,
        }
    }

    /// One ascent from a root; `None` if it shows that there is no better tree than `most`.
    pub fn climb(
        &mut self,
        kernel: &Kernel,
        way: Way,
        most: f64,
        tools: &mut Tools,
        watch: &mut Watch,
    ) -> Option<Dual> {
        let mut dual = self.fresh(kernel, way.root);
        let Dual { bound, slack, .. } = &mut dual;
        *bound = tools
            .ascent
            .climb(kernel, way, &kernel.terminals, slack, None, watch);
        if dual.bound > most {
            return None;
        }
        if dual.bound > self.best {
            (self.best, self.root) = (dual.bound, way.root);
            (self.loose, self.pace) = (way.loose, way.pace.to_vec());
        }
        if way.pace.is_empty() {
            self.plain = self.plain.max(dual.bound);
        }
        // Far below the best bound so far little is ruled out.
        let low = self.best - (most - self.best) / 2.0;
        if !watch.out() && dual.bound >= low {
            let least = &mut self.least;
            shut(kernel, &mut dual, most, least, &mut tools.reach, watch);
            self.note(&dual);
        }
        Some(dual)
    }

    /// Looks for the order of lifting that gives the best bound, by changing the pace of some
    /// terminals at a time; `None` if it shows that there is no better tree than `most`.
    pub fn wander(
        &mut self,
        kernel: &Kernel,
        most: f64,
        from: (Vec<f64>, f64),
        tools: &mut Tools,
        dice: &mut Dice,
        watch: &mut Watch,
    ) -> Option<(Vec<f64>, f64)> {
        let (mut pace, mut loose) = from;
        let root = self.root;
        let most_changed = kernel.terminals.len() / 12 + 1;
        let effort = (EFFORT * kernel.edges() as u64).min(watch.work.limit / SHARE);
        let until = watch.work.done + effort;
        let mut here = 0.0;
        let mut idle = 0;
        for attempt in 0..TRIES {
            let mut next = pace.clone();
            let mut slack = loose;
            // The first goes as the best one did.
            if attempt > 0 {
                for _ in 0..=dice.below(most_changed) {
                    let node = kernel.terminals[dice.below(kernel.terminals.len())];
                    let twofold = f64::from(1u8 << dice.below(4));
                    next[node as usize] = twofold * (1.0 + dice.part());
                }
                if dice.below(8) == 0 {
                    slack = PACED[dice.below(PACED.len())];
                }
            }
            let way = Way {
                root,
                loose: slack,
                pace: &next,
            };
            let dual = self.climb(kernel, way, most, tools, watch)?;
            idle = if dual.bound > here { 0 } else { idle + 1 };
            if dual.bound >= here {
                here = dual.bound;
                (pace, loose) = (next, slack);
            }
            if idle >= IDLE || watch.work.done >= until || watch.out() {
                break;
            }
        }
        Some((pace, loose))
    }

    /// Nothing lifted.
    pub fn fresh(&self, kernel: &Kernel, root: u32) -> Dual {
        let slack = (0..kernel.arcs())
            .map(|arc| match self.gone[arc / 2] {
                true => f64::INFINITY,
                false => kernel.cost[arc / 2],
            })
            .collect();
        Dual {
            root,
            bound: 0.0,
            slack,
        }
    }

    /// Edges with both arcs shut are gone for every root.
    pub fn note(&mut self, dual: &Dual) {
        for (edge, gone) in self.gone.iter_mut().enumerate() {
            *gone |= dual.slack[2 * edge].is_infinite() && dual.slack[2 * edge + 1].is_infinite();
        }
    }

    /// The ascent with which the cutting planes begin: the best one where paces close a good part
    /// of the gap; else cuts lifted evenly leave the more room for others.
    pub fn start(&self, most: f64) -> Way<'_> {
        let close = (self.best - self.plain) * GOOD > most - self.plain;
        Way {
            root: self.root,
            loose: if close { self.loose } else { LOOSE[0] },
            pace: if close { &self.pace } else { &[] },
        }
    }

    /// Edges whose trees all cost more than `most` are gone.
    pub fn cut(&mut self, most: f64) {
        for (gone, least) in self.gone.iter_mut().zip(&self.least) {
            *gone |= *least > most;
        }
    }

    pub fn count(&self) -> usize {
        self.gone.iter().filter(|gone| **gone).count()
    }
}

/// Some terminals in random order, the best root so far first.
pub(crate) fn roots(kernel: &Kernel, first: u32, most: usize, dice: &mut Dice) -> Vec<u32> {
    let mut roots = kernel.terminals.clone();
    dice.shuffle(&mut roots);
    roots.retain(|root| *root != first);
    roots.insert(0, first);
    roots.truncate(most);
    roots
}

#[cfg(test)]
mod tests {
    use super::{Bounds, PACED};
    use crate::instance::{Dice, Instance};
    use crate::single::cutting::Tools;
    use crate::single::graph::Graph;
    use crate::single::kernel::Kernel;
    use crate::single::reduce::tests::{cheapest, random};
    use crate::single::watch::Watch;
    use std::ops::ControlFlow;

    #[test]
    fn no_order_of_ascents_goes_beyond_a_cheapest_tree() {
        let mut dice = Dice::new(11);
        let mut lifted = 0;
        for _ in 0..400 {
            let problem = random(&mut dice);
            let graph = Graph::new(&Instance::new(&problem));
            if graph.terminals <= 1 {
                continue;
            }
            let kernel = Kernel::new(&graph);
            let tree = cheapest(&kernel.problem().expect("taken from a problem"));
            let cost = |edge: &u32| kernel.cost[*edge as usize];
            let optimum: f64 = tree.iter().map(cost).sum();
            let mut watch = Watch::new(u64::MAX, &|_| ControlFlow::Continue(()));
            let (mut bounds, mut tools) = (Bounds::new(&kernel), Tools::new(&kernel));
            let from = (vec![1.0; kernel.nodes()], PACED[0]);
            let most = optimum + dice.part();
            let order = bounds.wander(&kernel, most, from, &mut tools, &mut dice, &mut watch);
            assert!(order.is_some(), "ruled out {optimum}: {problem:?}");
            assert!(
                bounds.best <= optimum + 1e-9,
                "{} {optimum}: {problem:?}",
                bounds.best
            );
            for edge in &tree {
                let least = bounds.least[*edge as usize];
                assert!(
                    least <= optimum + 1e-9,
                    "{edge} {least} {optimum}: {problem:?}"
                );
                assert!(
                    !bounds.gone[*edge as usize],
                    "{edge} {optimum}: {problem:?}"
                );
            }
            lifted += usize::from(bounds.best > 0.9 * optimum);
        }
        assert!(lifted > 200, "the bound is near the optimum on {lifted}");
    }
}
