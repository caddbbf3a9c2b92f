//! The trenches: the least tree that joins all places, and what lies in it.

use crate::scheme::Scheme;

/// A least tree over the heads, the backflow assembly, the controller and the manifolds joined.
///
/// Its places are ranked in the order in which they are met from the backflow assembly, branch by
/// branch, so that what lies beyond a place is a run of ranks.
#[derive(Debug, Clone)]
pub(crate) struct Tree {
    /// What its trenches cost.
    pub cost: f64,
    /// The place of each rank.
    pub place: Vec<usize>,
    /// The rank of each place that is in it.
    rank: Vec<u32>,
    /// The rank before each rank on the way from the first.
    pub before: Vec<u32>,
    /// One beyond the last rank that lies beyond each rank.
    pub end: Vec<u32>,
    /// Metres from the first rank.
    pub away: Vec<f64>,
    depth: Vec<u32>,
    /// Of each run of 2^k ranks the one with the least depth.
    shallow: Vec<Vec<u32>>,
}

/// No rank.
const NONE: u32 = u32::MAX;

impl Tree {
    /// The least tree that joins these manifolds (as bits) and everything else.
    pub fn new(scheme: &Scheme, joined: u64) -> Self {
        let fixed = scheme.manifold(0);
        let mut places: Vec<usize> = (0..fixed).collect();
        places.extend((0..scheme.manifolds).filter_map(|m| {
            let is_joined = joined >> m & 1 == 1;
            is_joined.then(|| scheme.manifold(m))
        }));
        let (cost, parents) = prim(scheme.backflow(), &places, |a, b| scheme.dig(a, b));
        Self::ranked(scheme, cost, &parents)
    }

    fn ranked(scheme: &Scheme, cost: f64, parents: &[(usize, usize)]) -> Self {
        let all = scheme.places();
        let mut below: Vec<Vec<usize>> = vec![Vec::new(); all];
        for (child, parent) in parents {
            below[*parent].push(*child);
        }
        let count = parents.len() + 1;
        let mut tree = Self {
            cost,
            place: Vec::with_capacity(count),
            rank: vec![NONE; all],
            before: Vec::with_capacity(count),
            end: vec![0; count],
            away: Vec::with_capacity(count),
            depth: Vec::with_capacity(count),
            shallow: Vec::new(),
        };
        let mut stack = vec![(scheme.backflow(), 0_u32, 0.0, 0_u32)];
        while let Some((place, before, away, depth)) = stack.pop() {
            let rank = tree.place.len() as u32;
            tree.rank[place] = rank;
            tree.place.push(place);
            tree.before.push(before);
            tree.away.push(away);
            tree.depth.push(depth);
            for next in below[place].iter().rev() {
                let further = away + scheme.far(place, *next);
                stack.push((*next, rank, further, depth + 1));
            }
        }
        for rank in (0..count).rev() {
            tree.end[rank] = tree.end[rank].max(rank as u32 + 1);
            if rank > 0 {
                let before = tree.before[rank] as usize;
                tree.end[before] = tree.end[before].max(tree.end[rank]);
            }
        }
        tree.index();
        tree
    }

    fn index(&mut self) {
        let mut level: Vec<u32> = (0..self.place.len() as u32).collect();
        let mut span = 1;
        while !level.is_empty() {
            let pairs = level.len().saturating_sub(span);
            let next = (0..pairs).map(|i| self.shallower(level[i], level[i + span]));
            let next: Vec<u32> = next.collect();
            self.shallow.push(std::mem::replace(&mut level, next));
            span *= 2;
        }
    }

    fn shallower(&self, a: u32, b: u32) -> u32 {
        if self.depth[b as usize] < self.depth[a as usize] {
            b
        } else {
            a
        }
    }

    pub fn len(&self) -> usize {
        self.place.len()
    }

    /// The rank of a place; every head has one.
    pub fn rank(&self, place: usize) -> u32 {
        self.rank[place]
    }

    /// Length of the trench that leads to a rank.
    pub fn reach(&self, rank: u32) -> f64 {
        self.away[rank as usize] - self.away[self.before[rank as usize] as usize]
    }

    /// Metres along the tree.
    pub fn between(&self, a: u32, b: u32) -> f64 {
        let meet = self.meet(a, b);
        self.away[a as usize] + self.away[b as usize] - 2.0 * self.away[meet as usize]
    }

    /// Where the ways to two ranks part.
    pub fn meet(&self, a: u32, b: u32) -> u32 {
        if a == b {
            return a;
        }
        let (low, high) = (a.min(b) as usize + 1, a.max(b) as usize);
        let level = (high - low + 1).ilog2() as usize;
        let row = &self.shallow[level];
        let shallowest = self.shallower(row[low], row[high + 1 - (1 << level)]);
        self.before[shallowest as usize]
    }

    /// Metres of the part of the tree that joins some ranks.
    pub fn joining(&self, ranks: &[u32]) -> f64 {
        let mut ranks = ranks.to_vec();
        ranks.sort_unstable();
        let around = ranks.iter().zip(ranks.iter().skip(1).chain(ranks.first()));
        around.map(|(a, b)| self.between(*a, *b)).sum::<f64>() / 2.0
    }
}

/// The least tree over some places, by what joins two of them: its cost, and for each place but the root
/// the one it hangs on.
pub(crate) fn prim(
    root: usize,
    places: &[usize],
    price: impl Fn(usize, usize) -> f64,
) -> (f64, Vec<(usize, usize)>) {
    let mut open: Vec<(usize, f64, usize)> = places
        .iter()
        .filter(|p| **p != root)
        .map(|p| (*p, price(root, *p), root))
        .collect();
    let mut parents = Vec::with_capacity(open.len());
    let mut cost = 0.0;
    while !open.is_empty() {
        let mut next = 0;
        for (i, one) in open.iter().enumerate() {
            let least = &open[next];
            if one.1.total_cmp(&least.1).then(one.0.cmp(&least.0)).is_lt() {
                next = i;
            }
        }
        let (place, own, parent) = open.swap_remove(next);
        cost += own;
        parents.push((place, parent));
        for (other, least, by) in &mut open {
            let own = price(place, *other);
            if own < *least {
                (*least, *by) = (own, place);
            }
        }
    }
    (cost, parents)
}
