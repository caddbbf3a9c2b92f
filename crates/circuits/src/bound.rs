//! What no grouping can cost less than.
//!
//! The trenches are the least tree over the places that they join, so everything is known of them once
//! it is known which manifolds they join and which carry a valve. For each such choice:
//! - The trench, the main and the wire's laying cost what they cost.
//! - Behind a place of the tree beyond which no valve stands, every circuit with a head there has one
//!   pipe in the trench that leads to it. There are at least as many as those heads need circuits, and
//!   together they carry what those heads need. The least that so many pipes cost for a flow follows
//!   from the lower convex hull of the price over the flow. The same holds the other way round where all
//!   valves stand beyond.
//! - Where valves are on both sides, see [`crate::between`].
//! - There are at least as many valves as all heads need circuits.
//!
//! The least of these sums over all choices is the bound.

use crate::between::Flows;
use crate::pack::least_circuits;
use crate::scheme::{Head, Scheme};
use crate::tree::{Tree, prim};

/// The price of pipe over its flow, bent so that it never lies above: no sum of prices is below the
/// price here at the mean flow.
#[derive(Debug)]
pub(crate) struct Hull(Vec<(f64, f64)>);

impl Hull {
    fn new(scheme: &Scheme) -> Self {
        let mut points: Vec<(f64, f64)> = Vec::new();
        let first = scheme.bores.first().map(|b| (0.0, b.price));
        let ends = scheme.bores.iter().map(|b| (b.most, b.price));
        for point in first.into_iter().chain(ends) {
            while let [.., a, b] = &points[..]
                && (b.1 - a.1) * (point.0 - b.0) >= (point.1 - b.1) * (b.0 - a.0)
            {
                points.pop();
            }
            points.push(point);
        }
        Self(points)
    }

    pub fn at(&self, flow: f64) -> f64 {
        let next = self.0.partition_point(|p| p.0 < flow);
        match (
            next.checked_sub(1).and_then(|i| self.0.get(i)),
            self.0.get(next),
        ) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (flow - a.0) / (b.0 - a.0),
            // Beyond the largest size the price stays that of the largest.
            (Some(a), None) => a.1,
            (None, b) => b.map_or(0.0, |b| b.1),
        }
    }

    /// The least that a metre of pipe costs for each unit of the flow in it.
    fn per_flow(&self) -> f64 {
        let each = self.0.iter().filter(|p| p.0 > 0.0).map(|p| p.1 / p.0);
        let least = each.fold(f64::INFINITY, f64::min);
        if least.is_finite() { least } else { 0.0 }
    }

    /// The least that at least `least` and at most `most` pipes cost a metre that together carry a flow.
    pub fn together(&self, flow: f64, least: usize, most: usize) -> f64 {
        // Convex in the number of pipes: the first that is no better ends it.
        let price = |n: usize| n as f64 * self.at(flow / n as f64);
        let mut best = price(least.max(1));
        for n in least.max(1) + 1..=most {
            let next = price(n);
            if next >= best {
                break;
            }
            best = next;
        }
        best
    }
}

/// What is known of the heads beyond a place, by class.
#[derive(Debug, Clone, Copy, Default)]
struct Load {
    flow: f64,
    heads: usize,
    /// Heads of which no two fit into one circuit.
    large: usize,
    /// The sum of their shares of a circuit.
    share: f64,
}

impl Load {
    fn of(head: &Head) -> Self {
        Self {
            flow: head.flow,
            heads: 1,
            large: usize::from(head.share() > 0.5 + 1e-9),
            share: head.share(),
        }
    }

    fn add(&mut self, other: &Self) {
        self.flow += other.flow;
        self.heads += other.heads;
        self.large += other.large;
        self.share += other.share;
    }

    fn without(&self, other: &Self) -> Self {
        Self {
            flow: self.flow - other.flow,
            heads: self.heads - other.heads,
            large: self.large - other.large,
            share: self.share - other.share,
        }
    }

    /// How many circuits they need at least.
    fn circuits(&self) -> usize {
        if self.heads == 0 {
            return 0;
        }
        let by_share = (self.share - 1e-9).ceil().max(1.0) as usize;
        by_share.max(self.large).min(self.heads)
    }
}

/// Trenches with what is known of them before it is known where valves are.
pub(crate) struct Trenches {
    tree: Tree,
    /// For each rank the least cost of the pipes that lead there, for the heads beyond it.
    below: Vec<f64>,
    /// The same for all other heads.
    above: Vec<f64>,
    /// What the heads at and beyond each rank need.
    flow: Vec<f64>,
}

/// A bound for every choice of manifolds joined; asked for one choice after the other.
pub(crate) struct Bounds<'s> {
    scheme: &'s Scheme,
    hull: Hull,
    classes: Vec<u32>,
    least: usize,
    flows: Flows,
}

impl<'s> Bounds<'s> {
    pub fn new(scheme: &'s Scheme) -> Self {
        let all: Vec<usize> = (0..scheme.heads.len()).collect();
        let mut classes: Vec<u32> = scheme.heads.iter().map(|h| h.class).collect();
        classes.sort_unstable();
        classes.dedup();
        let hull = Hull::new(scheme);
        Self {
            scheme,
            flows: Flows::new(scheme, &hull),
            hull,
            classes,
            least: least_circuits(scheme, &all),
        }
    }

    /// What no grouping costs less than with a valve on each of some of the manifolds joined and on no
    /// other; for every such set, as bits.
    pub fn of_each(&self, known: &Trenches, joined: u64) -> Vec<(u64, f64)> {
        let tree = &known.tree;
        let mut bounds = Vec::new();
        // Every set of valves within the manifolds joined but the empty one.
        let mut valves = joined;
        while valves != 0 {
            let valved = Valved::new(self.scheme, tree, valves);
            let pipes = valved.one_sided(tree, &known.below, &known.above);
            let between = self.hull.per_flow() * valved.carried(tree, &known.flow);
            bounds.push((valves, self.besides(tree, &valved) + pipes + between));
            valves = (valves - 1) & joined;
        }
        bounds
    }

    /// What the better bound needs of the trenches, whatever the valves.
    pub fn trenches(&self, tree: Tree) -> Trenches {
        let (below, above) = self.pipes(&tree);
        let flow = |p: &usize| self.scheme.heads.get(*p).map_or(0.0, |h| h.flow);
        let mut flow: Vec<f64> = tree.place.iter().map(flow).collect();
        for rank in (1..tree.len()).rev() {
            flow[tree.before[rank] as usize] += flow[rank];
        }
        Trenches {
            tree,
            below,
            above,
            flow,
        }
    }

    /// The better bound for one set of valves: with the pipes between manifolds.
    pub fn of(&self, known: &Trenches, valves: u64) -> f64 {
        let tree = &known.tree;
        let valved = Valved::new(self.scheme, tree, valves);
        let pipes: f64 = valved.one_sided(tree, &known.below, &known.above);
        let between = self
            .flows
            .least(tree, &valved.beyond, &valved.here, &known.flow);
        self.besides(tree, &valved) + pipes + between
    }

    /// Everything but the laterals.
    fn besides(&self, tree: &Tree, valved: &Valved) -> f64 {
        let (scheme, at) = (self.scheme, &valved.at);
        let least = self.least.max(at.len());
        let valve = at.iter().map(|m| valve_price(scheme, tree, *m));
        let valve = valve.fold(f64::INFINITY, f64::min);
        let boxes = scheme.boxes(least).max(at.len() as f64 * scheme.boxes(1));
        let (main, wire) = lines(scheme, tree, at);
        tree.cost + main + wire + least as f64 * valve + boxes
    }

    /// For each rank the least cost of the pipes in the trench that leads to it: for the heads beyond it,
    /// and for all others.
    fn pipes(&self, tree: &Tree) -> (Vec<f64>, Vec<f64>) {
        let mut beyond = vec![vec![Load::default(); self.classes.len()]; tree.len()];
        for (rank, place) in tree.place.iter().enumerate() {
            if let Some(head) = self.scheme.heads.get(*place)
                && let Ok(class) = self.classes.binary_search(&head.class)
            {
                beyond[rank][class] = Load::of(head);
            }
        }
        for rank in (1..tree.len()).rev() {
            let own = beyond[rank].clone();
            let before = &mut beyond[tree.before[rank] as usize];
            before
                .iter_mut()
                .zip(&own)
                .for_each(|(sum, own)| sum.add(own));
        }
        let all = beyond[0].clone();
        let others = |beyond: &[Load]| -> Vec<Load> {
            all.iter()
                .zip(beyond)
                .map(|(all, own)| all.without(own))
                .collect()
        };
        let price = |rank: usize, loads: &[Load]| {
            let heads: usize = loads.iter().map(|l| l.heads).sum();
            if heads == 0 {
                return 0.0;
            }
            let flow: f64 = loads.iter().map(|l| l.flow).sum();
            let circuits = loads.iter().map(Load::circuits).sum();
            tree.reach(rank as u32) * self.hull.together(flow, circuits, heads)
        };
        let below = (0..tree.len()).map(|r| price(r, &beyond[r]));
        let above = (0..tree.len()).map(|r| price(r, &others(&beyond[r])));
        (below.collect(), above.collect())
    }
}

/// Where valves are.
struct Valved {
    /// Their manifolds as ranks.
    at: Vec<u32>,
    /// Whether one is at a rank.
    here: Vec<bool>,
    /// How many are at or beyond a rank.
    beyond: Vec<usize>,
}

impl Valved {
    fn new(scheme: &Scheme, tree: &Tree, valves: u64) -> Self {
        let at: Vec<u32> = (0..scheme.manifolds)
            .filter(|m| valves >> m & 1 == 1)
            .map(|m| tree.rank(scheme.manifold(m)))
            .collect();
        let mut here = vec![false; tree.len()];
        let mut beyond = vec![0_usize; tree.len()];
        for rank in &at {
            here[*rank as usize] = true;
            beyond[*rank as usize] = 1;
        }
        for rank in (1..tree.len()).rev() {
            beyond[tree.before[rank] as usize] += beyond[rank];
        }
        Self { at, here, beyond }
    }

    /// Flow times the way that it has to go at least through trenches with valves on both sides: each head
    /// is fed from some valve, so from where it is joined to such trenches to the nearest valve.
    fn carried(&self, tree: &Tree, flow: &[f64]) -> f64 {
        let mut away = vec![f64::INFINITY; tree.len()];
        for rank in (0..tree.len()).rev() {
            if self.here[rank] {
                away[rank] = 0.0;
            }
            let before = tree.before[rank] as usize;
            away[before] = away[before].min(away[rank] + tree.reach(rank as u32));
        }
        let total = self.at.len();
        let mut top = 0;
        for rank in 1..tree.len() {
            let before = tree.before[rank] as usize;
            away[rank] = away[rank].min(away[before] + tree.reach(rank as u32));
            if self.beyond[rank] == total {
                top = rank;
            }
        }
        let mut fed: Vec<f64> = flow.to_vec();
        for rank in 1..tree.len() {
            if self.beyond[rank] > 0 {
                fed[tree.before[rank] as usize] -= flow[rank];
            }
        }
        let joined = (0..tree.len()).filter(|r| self.beyond[*r] > 0);
        joined
            .map(|rank| {
                let at = if self.beyond[rank] == total {
                    top
                } else {
                    rank
                };
                fed[rank].max(0.0) * away[at]
            })
            .sum()
    }

    /// The pipes in trenches that have all valves on one side.
    fn one_sided(&self, tree: &Tree, below: &[f64], above: &[f64]) -> f64 {
        let pipes = (1..tree.len()).map(|rank| match self.beyond[rank] {
            0 => below[rank],
            n if n == self.at.len() => above[rank],
            _ => 0.0,
        });
        pipes.sum()
    }
}

/// A valve on a manifold, with its own conductor.
pub(crate) fn valve_price(scheme: &Scheme, tree: &Tree, rank: u32) -> f64 {
    let conductor = scheme.controller().map_or(0.0, |c| {
        tree.between(tree.rank(c), rank) * scheme.prices.conductor
    });
    scheme.prices.valve + conductor
}

/// Main, and wire without the valves' own conductors, to the manifolds that carry a valve.
pub(crate) fn lines(scheme: &Scheme, tree: &Tree, manifolds: &[u32]) -> (f64, f64) {
    let from = |place: usize| {
        let mut ranks = manifolds.to_vec();
        ranks.push(tree.rank(place));
        tree.joining(&ranks)
    };
    let main = from(scheme.backflow()) * scheme.prices.main;
    let wire = scheme
        .controller()
        .map_or(0.0, |c| from(c) * scheme.prices.wire);
    (main, wire)
}

/// A bound where there are too many manifolds to look at every choice.
///
/// Trenches that leave manifolds out, with each of these joined to the nearest place that is never left
/// out, are a tree over all places, and so no less than the least one. The same holds of the laterals:
/// all of them together join every head to some manifold, so that with the backflow assembly and the
/// controller joined to what is nearest they are a tree in which all manifolds are one place. There are
/// at least as many valves as all heads need circuits.
pub(crate) fn of_any_choice(scheme: &Scheme) -> f64 {
    let heads = scheme.heads.len();
    let always: Vec<usize> = (0..scheme.manifold(0)).collect();
    let manifolds: Vec<usize> = (0..scheme.manifolds).map(|m| scheme.manifold(m)).collect();
    let least = least_circuits(scheme, &always[..heads]);

    let all: Vec<usize> = always.iter().chain(&manifolds).copied().collect();
    let (whole, _) = prim(scheme.backflow(), &all, |a, b| scheme.dig(a, b));
    let join = |m: &usize| nearest(&always, |p| scheme.dig(*m, p));
    let joins: Vec<f64> = manifolds.iter().map(join).collect();
    let shortest = joins.iter().copied().fold(f64::INFINITY, f64::min);
    // One manifold at least is not left out.
    let trench = whole - joins.iter().sum::<f64>() + shortest;

    // All manifolds as one place, which has the number of the first.
    let hub = scheme.manifold(0);
    let far = |a: usize, b: usize| match (a == hub, b == hub) {
        (true, _) => nearest(&manifolds, |m| scheme.far(b, m)),
        (_, true) => nearest(&manifolds, |m| scheme.far(a, m)),
        _ => scheme.far(a, b),
    };
    let mut places = always.clone();
    places.push(hub);
    let (whole, _) = prim(hub, &places, far);
    let fixed = always[heads..].iter().map(|f| {
        let others: Vec<usize> = places
            .iter()
            .copied()
            .filter(|p| p < &heads || *p == hub)
            .collect();
        nearest(&others, |p| far(*f, p))
    });
    let length = (whole - fixed.sum::<f64>()).max(0.0);
    let cheapest = scheme.bores.first().map_or(0.0, |b| b.price);

    trench.max(0.0) + length * cheapest + least as f64 * scheme.prices.valve + scheme.boxes(least)
}

fn nearest(places: &[usize], far: impl Fn(usize) -> f64) -> f64 {
    places.iter().map(|p| far(*p)).fold(f64::INFINITY, f64::min)
}
