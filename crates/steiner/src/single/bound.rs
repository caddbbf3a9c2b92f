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
    pub loose: f64,
    pub pace: Vec<f64>,
}

/// Ascents without a better bound after which the search for orders ends, and most of them.
const IDLE: usize = 60;
const TRIES: usize = 400;

impl Bounds {
    pub fn new(kernel: &Kernel) -> Bounds {
        Bounds {
            gone: vec![false; kernel.edges()],
            least: vec![0.0; kernel.edges()],
            root: kernel.terminals[0],
            best: 0.0,
            loose: LOOSE[0],
            pace: Vec::new(),
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
    /// terminals at a time; true if it shows that there is no better tree than `most`.
    pub fn wander(
        &mut self,
        kernel: &Kernel,
        most: f64,
        tools: &mut Tools,
        dice: &mut Dice,
        watch: &mut Watch,
    ) -> bool {
        let mut pace = vec![1.0; kernel.nodes()];
        let mut loose = self.loose;
        let root = self.root;
        let mut here = 0.0;
        let mut idle = 0;
        for _ in 0..TRIES {
            let (old, was) = (pace.clone(), loose);
            for _ in 0..1 + dice.below(kernel.terminals.len() / 3 + 1) {
                let node = kernel.terminals[dice.below(kernel.terminals.len())];
                let twofold = 0.25 * f64::from(1u8 << dice.below(4));
                pace[node as usize] = twofold * (1.0 + dice.part());
            }
            if dice.below(8) == 0 {
                loose = LOOSE[dice.below(LOOSE.len())];
            }
            let pace_now = pace.clone();
            let way = Way {
                root,
                loose,
                pace: &pace_now,
            };
            let Some(dual) = self.climb(kernel, way, most, tools, watch) else {
                return true;
            };
            idle = if dual.bound > here { 0 } else { idle + 1 };
            if dual.bound >= here {
                here = dual.bound;
            } else {
                (pace, loose) = (old, was);
            }
            if idle >= IDLE || watch.out() {
                break;
            }
        }
        false
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
