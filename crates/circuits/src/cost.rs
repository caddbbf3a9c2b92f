//! What a grouping costs: the one account that search, proof and review share.

use crate::bound::{lines, valve_price};
use crate::pipes::Pipes;
use crate::scheme::{Scheme, Set};
use crate::tree::Tree;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The parts of what a grouping costs, currency units.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Parts {
    /// The trenches, shared by all.
    pub trench: f64,
    /// The laterals.
    pub laterals: f64,
    /// Valves and boxes.
    pub valves: f64,
    /// The main from the backflow assembly to the manifolds.
    pub main: f64,
    /// Valve wire, laid.
    pub wire: f64,
}

impl Parts {
    /// All of it.
    pub fn total(&self) -> f64 {
        self.trench + self.laterals + self.valves + self.main + self.wire
    }
}

/// What circuits cost whose trenches join these manifolds, and the laterals of each.
pub(crate) fn account(scheme: &Scheme, sets: &[Set], joined: u64) -> (Parts, Vec<f64>) {
    let tree = Tree::new(scheme, joined);
    let mut pipes = Pipes::new(scheme, &tree);
    let mut laterals = Vec::with_capacity(sets.len());
    let mut counts = vec![0_usize; scheme.manifolds];
    let mut conductors = 0.0;
    for set in sets {
        let valve = tree.rank(scheme.manifold(set.manifold));
        let mut heads: Vec<u32> = set.heads.iter().map(|h| tree.rank(*h)).collect();
        heads.sort_unstable();
        laterals.push(pipes.price(&heads, valve));
        counts[set.manifold] += 1;
        conductors += valve_price(scheme, &tree, valve) - scheme.prices.valve;
    }
    let used: Vec<u32> = (0..scheme.manifolds)
        .filter(|m| counts[*m] > 0)
        .map(|m| tree.rank(scheme.manifold(m)))
        .collect();
    let (main, wire) = lines(scheme, &tree, &used);
    let boxes: f64 = counts.iter().map(|n| scheme.boxes(*n)).sum();
    let parts = Parts {
        trench: tree.cost,
        laterals: laterals.iter().sum(),
        valves: sets.len() as f64 * scheme.prices.valve + boxes,
        main,
        wire: wire + conductors,
    };
    (parts, laterals)
}
