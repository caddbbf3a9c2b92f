//! The least cost by going through everything, with geometry and sums of its own.

use crate::scheme::Scheme;

/// The least cost over all manifolds joined, all ways to part the heads and all valves' places.
pub fn least(scheme: &Scheme) -> f64 {
    let mut best = f64::INFINITY;
    for joined in 1..1_u64 << scheme.manifolds {
        let trenches = Trenches::new(scheme, joined);
        let mut parts: Vec<Vec<usize>> = Vec::new();
        part(scheme, &trenches, 0, &mut parts, &mut best);
    }
    best
}

fn part(
    scheme: &Scheme,
    trenches: &Trenches,
    next: usize,
    parts: &mut Vec<Vec<usize>>,
    best: &mut f64,
) {
    if next == scheme.heads.len() {
        let mut at = vec![0; parts.len()];
        place(scheme, trenches, parts, 0, &mut at, best);
        return;
    }
    for i in 0..parts.len() {
        parts[i].push(next);
        if runs(scheme, &parts[i]) {
            part(scheme, trenches, next + 1, parts, best);
        }
        parts[i].pop();
    }
    parts.push(vec![next]);
    part(scheme, trenches, next + 1, parts, best);
    parts.pop();
}

fn runs(scheme: &Scheme, heads: &[usize]) -> bool {
    let all = || heads.iter().map(|h| scheme.heads[*h]);
    let flow: f64 = all().map(|h| h.flow).sum();
    let mut pairs = all().flat_map(|a| all().map(move |b| (a, b)));
    all().all(|h| flow <= h.most)
        && pairs.all(|(a, b)| {
            let apart = a
                .rate
                .zip(b.rate)
                .map_or(0.0, |(a, b)| (a - b).abs() / a.max(b));
            a.class == b.class && apart <= scheme.tolerance + 1e-9
        })
}

fn place(
    scheme: &Scheme,
    trenches: &Trenches,
    parts: &[Vec<usize>],
    next: usize,
    at: &mut Vec<usize>,
    best: &mut f64,
) {
    if next == parts.len() {
        let cost = trenches.cost + running(scheme, trenches, parts, at);
        *best = best.min(cost);
        return;
    }
    for m in (0..scheme.manifolds).filter(|m| trenches.joined >> m & 1 == 1) {
        at[next] = m;
        place(scheme, trenches, parts, next + 1, at, best);
    }
}

/// Everything but the trenches.
fn running(scheme: &Scheme, trenches: &Trenches, parts: &[Vec<usize>], at: &[usize]) -> f64 {
    let prices = &scheme.prices;
    let mut cost = 0.0;
    for m in 0..scheme.manifolds {
        let valves = at.iter().filter(|a| **a == m).count();
        let boxes = (valves as f64 / f64::from(prices.valves_per_box)).ceil();
        cost += valves as f64 * prices.valve + boxes * prices.valve_box;
    }
    let sites: Vec<usize> = at.iter().map(|m| scheme.manifold(*m)).collect();
    let controller = scheme.heads.len() + 1;
    cost += trenches.used(scheme.heads.len(), &sites).1 * prices.main;
    cost += trenches.used(controller, &sites).1 * prices.wire;
    for site in &sites {
        cost += trenches.used(controller, &[*site]).1 * prices.conductor;
    }
    for (heads, site) in parts.iter().zip(&sites) {
        let mut flows = vec![0.0; trenches.edges.len()];
        for head in heads {
            for edge in trenches.way(*site, *head) {
                flows[edge] += scheme.heads[*head].flow;
            }
        }
        for ((_, _, length), flow) in trenches.edges.iter().zip(flows) {
            if flow > 0.0 {
                cost += length * scheme.pipe_price(flow - 1e-12);
            }
        }
    }
    cost
}

struct Trenches {
    joined: u64,
    cost: f64,
    edges: Vec<(usize, usize, f64)>,
}

impl Trenches {
    /// By taking the shortest parts first.
    fn new(scheme: &Scheme, joined: u64) -> Self {
        let all = scheme.places();
        let is_there =
            |p: usize| p < scheme.manifold(0) || joined >> (p - scheme.manifold(0)) & 1 == 1;
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        for a in (0..all).filter(|a| is_there(*a)) {
            for b in (a + 1..all).filter(|b| is_there(*b)) {
                pairs.push((scheme.trench[a * all + b], a, b));
            }
        }
        pairs.sort_by(|p, q| p.0.total_cmp(&q.0));
        let mut group: Vec<usize> = (0..all).collect();
        let (mut cost, mut edges) = (0.0, Vec::new());
        for (price, a, b) in pairs {
            let (from, to) = (group[a], group[b]);
            if from != to {
                group
                    .iter_mut()
                    .filter(|g| **g == from)
                    .for_each(|g| *g = to);
                cost += price;
                edges.push((a, b, scheme.length[a * all + b]));
            }
        }
        Self {
            joined,
            cost,
            edges,
        }
    }

    /// The edges between two places.
    fn way(&self, from: usize, to: usize) -> Vec<usize> {
        let mut way = Vec::new();
        assert!(self.seek(from, to, usize::MAX, &mut way));
        way
    }

    fn seek(&self, from: usize, to: usize, by: usize, way: &mut Vec<usize>) -> bool {
        if from == to {
            return true;
        }
        for (i, (a, b, _)) in self.edges.iter().enumerate() {
            if i == by || (*a != from && *b != from) {
                continue;
            }
            way.push(i);
            if self.seek(a + b - from, to, i, way) {
                return true;
            }
            way.pop();
        }
        false
    }

    /// The edges on any of the ways from one place to others, and their length together.
    fn used(&self, from: usize, to: &[usize]) -> (Vec<usize>, f64) {
        let mut used: Vec<usize> = to.iter().flat_map(|t| self.way(from, *t)).collect();
        used.sort_unstable();
        used.dedup();
        let length = used.iter().map(|e| self.edges[*e].2).sum();
        (used, length)
    }
}
