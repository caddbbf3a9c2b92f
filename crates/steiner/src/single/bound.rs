//! Rounds of dual ascent from several roots on a kernel, each of which rules out edges and shows
//! where good trees are.

use crate::instance::Dice;
use crate::single::ascent::Way;
use crate::single::cutting::Tools;
use crate::single::kernel::Kernel;
use crate::single::shut::{Dual, shut};
use crate::single::watch::Watch;

/// What is known of a kernel's bound.
pub(crate) struct Bounds {
    /// Per edge, whether no better tree uses it.
    pub gone: Vec<bool>,
    pub root: u32,
    pub best: f64,
}

impl Bounds {
    pub fn new(kernel: &Kernel) -> Bounds {
        Bounds {
            gone: vec![false; kernel.edges()],
            root: kernel.terminals[0],
            best: 0.0,
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
        }
        if !watch.out() {
            shut(kernel, &mut dual, most, &mut tools.reach, watch);
            self.note(&dual);
        }
        Some(dual)
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
