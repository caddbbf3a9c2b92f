//! Circuits while they are looked for, and what a change of them would cost.

use crate::bound::{lines, valve_price};
use crate::pipes::Pipes;
use crate::scheme::{Grouped, Scheme, Set, Sum};
use crate::tree::Tree;
use std::collections::BTreeMap;

/// A change has to gain more than this share of the whole, or it may be rounding.
const LEAST_GAIN: f64 = 1e-10;

/// A circuit: its heads as ranks, ascending; free if it has none.
#[derive(Debug, Clone, Default)]
pub(crate) struct Circuit {
    pub heads: Vec<u32>,
    pub manifold: usize,
    /// Its laterals, its valve and the valve's conductor.
    pub price: f64,
}

/// A grouping in given trenches.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub circuits: Vec<Circuit>,
    /// The circuit of each rank; only that of a head means anything.
    pub of: Vec<u32>,
    /// Valves on each manifold.
    counts: Vec<usize>,
    /// Everything but the trenches.
    pub cost: f64,
}

/// No circuit.
pub(crate) const NONE: u32 = u32::MAX;

/// Prices changes of circuits in given trenches.
#[derive(Debug)]
pub(crate) struct Desk<'s> {
    pub scheme: &'s Scheme,
    pub tree: &'s Tree,
    pub joined: u64,
    pub pipes: Pipes<'s>,
    /// The manifolds joined: their number, rank and the price of a valve there.
    pub manifolds: Vec<(usize, u32, f64)>,
    /// The heads near each rank, nearest first.
    pub near: Vec<Vec<u32>>,
    lines: BTreeMap<u64, f64>,
}

/// Heads that are near another.
const NEAR: usize = 7;

impl<'s> Desk<'s> {
    pub fn new(scheme: &'s Scheme, tree: &'s Tree, joined: u64, order: &[Vec<u32>]) -> Self {
        let manifolds = (0..scheme.manifolds).filter(|m| joined >> m & 1 == 1);
        let manifolds = manifolds.map(|m| {
            let rank = tree.rank(scheme.manifold(m));
            (m, rank, valve_price(scheme, tree, rank))
        });
        Self {
            scheme,
            tree,
            joined,
            pipes: Pipes::new(scheme, tree),
            manifolds: manifolds.collect(),
            near: near(scheme, tree, order),
            lines: BTreeMap::new(),
        }
    }

    /// Main, wire and boxes for so many valves on each manifold.
    fn sites(&mut self, counts: &[usize]) -> f64 {
        let used = |m: usize| u64::from(counts[m] > 0) << m;
        let mask = (0..counts.len()).map(used).sum::<u64>();
        let (scheme, tree, manifolds) = (self.scheme, self.tree, &self.manifolds);
        let lines = *self.lines.entry(mask).or_insert_with(|| {
            let at = manifolds.iter().filter(|m| mask >> m.0 & 1 == 1);
            let (main, wire) = lines(scheme, tree, &at.map(|m| m.1).collect::<Vec<_>>());
            main + wire
        });
        lines + counts.iter().map(|n| scheme.boxes(*n)).sum::<f64>()
    }

    pub fn may_run(&self, heads: &[u32]) -> bool {
        let mut sum = Sum::default();
        let places = heads.iter().map(|r| self.tree.place[*r as usize]);
        places
            .into_iter()
            .all(|place| sum.takes(self.scheme, place))
    }

    /// A circuit of these heads with its valve on the `at`-th manifold joined.
    pub fn circuit(&mut self, heads: Vec<u32>, at: usize) -> Circuit {
        let (manifold, rank, valve) = self.manifolds[at];
        let price = self.pipes.price(&heads, rank) + valve;
        Circuit {
            heads,
            manifold,
            price,
        }
    }

    /// The least that a circuit of these heads costs besides main and boxes, on any manifold joined.
    pub fn cheapest(&mut self, heads: &[u32]) -> Circuit {
        let mut best = self.circuit(heads.to_vec(), 0);
        for at in 1..self.manifolds.len() {
            let other = self.circuit(heads.to_vec(), at);
            if other.price < best.price {
                best = other;
            }
        }
        best
    }

    /// No circuits yet.
    pub fn empty(&mut self) -> State {
        State {
            circuits: Vec::new(),
            of: vec![NONE; self.tree.len()],
            counts: vec![0; self.scheme.manifolds],
            cost: 0.0,
        }
    }

    /// What the whole gains if some circuits are replaced; less than 0 if it would cost more.
    pub fn gain(&mut self, state: &State, out: &[u32], into: &[Circuit]) -> f64 {
        let mut counts = state.counts.clone();
        let mut gain = 0.0;
        for circuit in out.iter().map(|c| &state.circuits[*c as usize]) {
            gain += circuit.price;
            counts[circuit.manifold] -= usize::from(!circuit.heads.is_empty());
        }
        for circuit in into.iter().filter(|c| !c.heads.is_empty()) {
            gain -= circuit.price;
            counts[circuit.manifold] += 1;
        }
        if counts != state.counts {
            gain += self.sites(&state.counts) - self.sites(&counts);
        }
        gain
    }

    /// Whether a gain is more than rounding.
    pub fn is_gain(&self, state: &State, gain: f64) -> bool {
        gain > LEAST_GAIN * (state.cost + self.tree.cost)
    }

    /// Replaces circuits by others, one place after the other; gives where the new ones stand.
    pub fn replace(&mut self, state: &mut State, out: &[u32], into: Vec<Circuit>) -> Vec<u32> {
        let gain = self.gain(state, out, &into);
        for slot in out {
            let circuit = std::mem::take(&mut state.circuits[*slot as usize]);
            state.counts[circuit.manifold] -= usize::from(!circuit.heads.is_empty());
            for head in &circuit.heads {
                state.of[*head as usize] = NONE;
            }
        }
        let mut free = out.iter().copied();
        let mut placed = Vec::with_capacity(into.len());
        for circuit in into.into_iter().filter(|c| !c.heads.is_empty()) {
            let slot = free
                .next()
                .or_else(|| first_free(state))
                .unwrap_or_else(|| {
                    state.circuits.push(Circuit::default());
                    state.circuits.len() as u32 - 1
                });
            state.counts[circuit.manifold] += 1;
            for head in &circuit.heads {
                state.of[*head as usize] = slot;
            }
            state.circuits[slot as usize] = circuit;
            placed.push(slot);
        }
        state.cost -= gain;
        placed
    }

    /// The state as a grouping, its cost added up anew.
    pub fn grouped(&self, state: &State) -> Grouped {
        let used = state.circuits.iter().filter(|c| !c.heads.is_empty());
        let mut sets: Vec<Set> = used
            .map(|circuit| {
                let places = circuit.heads.iter().map(|r| self.tree.place[*r as usize]);
                let mut heads: Vec<usize> = places.collect();
                heads.sort_unstable();
                Set {
                    heads,
                    manifold: circuit.manifold,
                }
            })
            .collect();
        sets.sort_by(|a, b| a.heads.cmp(&b.heads));
        Grouped {
            sets,
            joined: self.joined,
            cost: self.tree.cost + state.cost,
            bound: 0.0,
            exact: false,
        }
    }
}

fn first_free(state: &State) -> Option<u32> {
    let free = state.circuits.iter().position(|c| c.heads.is_empty());
    free.map(|slot| slot as u32)
}

/// The heads near each head in the plane, and those next to it along the tree.
fn near(scheme: &Scheme, tree: &Tree, order: &[Vec<u32>]) -> Vec<Vec<u32>> {
    let heads = scheme.heads.len();
    let mut near: Vec<Vec<u32>> = tree
        .place
        .iter()
        .map(|place| {
            let others = order.get(*place).map_or(&[][..], Vec::as_slice);
            let nearest = others.iter().take(NEAR);
            nearest.map(|other| tree.rank(*other as usize)).collect()
        })
        .collect();
    for rank in 1..tree.len() as u32 {
        let before = tree.before[rank as usize];
        let both = [rank, before].map(|r| tree.place[r as usize] < heads);
        if both == [true, true] {
            for (a, b) in [(rank, before), (before, rank)] {
                if !near[a as usize].contains(&b) {
                    near[a as usize].push(b);
                }
            }
        }
    }
    near
}
