//! Shutting arcs that no better tree can use, from the slacks of a dual solution (T. Polzin and
//! S. Vahdati Daneshmand, "Improved algorithms for the Steiner problem in networks", Discrete
//! Applied Mathematics 112, 2001).

use crate::grow::{NONE, Reach};
use crate::single::kernel::Kernel;
use crate::single::watch::Watch;

/// A dual solution: no tree rooted at `root` costs less than `bound` plus the slack of its arcs.
#[derive(Clone, Debug)]
pub(crate) struct Dual {
    pub root: u32,
    pub bound: f64,
    /// Per arc; infinite where shut.
    pub slack: Vec<f64>,
}

/// Shuts, by an infinite slack, every arc that cannot be in a tree of cost at most `most`;
/// returns how many are new. Per edge, `least` rises to what a tree with that edge costs at least.
pub(crate) fn shut(
    kernel: &Kernel,
    dual: &mut Dual,
    most: f64,
    least: &mut [f64],
    reach: &mut Reach,
    watch: &mut Watch,
) -> usize {
    let room = most - dual.bound;
    let root = dual.root;
    let out = spread(kernel, dual, &[root], (false, room), reach, watch);
    let rest: Vec<u32> = (kernel.terminals.iter().copied())
        .filter(|node| *node != root)
        .collect();
    let back = spread(kernel, dual, &rest, (true, room), reach, watch);
    let mut count = 0;
    let mut before = f64::INFINITY;
    for arc in 0..kernel.arcs() as u32 {
        let (from, to) = (kernel.tail(arc), kernel.head(arc));
        let slack = &mut dual.slack[arc as usize];
        // An arborescence never enters its root.
        let through = match to == root {
            true => f64::INFINITY,
            false => out[from as usize] + *slack + back[to as usize],
        };
        if through > room && slack.is_finite() {
            *slack = f64::INFINITY;
            count += 1;
        }
        let edge = &mut least[arc as usize / 2];
        match arc % 2 {
            0 => before = through,
            _ => *edge = edge.max(dual.bound + through.min(before)),
        }
    }
    count
}

/// Least slack from the starts to every node, or from every node to the starts if `back`; infinite
/// beyond `room`.
fn spread(
    kernel: &Kernel,
    dual: &Dual,
    starts: &[u32],
    (back, room): (bool, f64),
    reach: &mut Reach,
    watch: &mut Watch,
) -> Vec<f64> {
    reach.clear();
    for node in starts {
        reach.offer(*node, 0.0, NONE);
    }
    while let Some((dist, node)) = reach.next() {
        let links = kernel.of(node);
        watch.tick(links.len() as u64);
        for link in links {
            let arc = if back { link.arc ^ 1 } else { link.arc };
            let far = dist + dual.slack[arc as usize];
            if far <= room {
                reach.offer(link.to, far, link.arc);
            }
        }
    }
    reach.dist.clone()
}
