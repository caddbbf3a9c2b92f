//! The least costly grouping of a few heads, by going through all of them.
//!
//! For every choice of manifolds joined the trenches are known. Over all sets of heads it then works out
//! what it costs to split a set into circuits of one manifold, from the sets with one circuit less, and
//! how sets of several manifolds go together.

use crate::bound::{lines, valve_price};
use crate::pipes::Pipes;
use crate::scheme::{Grouped, Scheme, Set};
use crate::tree::Tree;

/// Up to so many heads all groupings are looked at.
pub(crate) const MOST_HEADS: usize = 12;
/// And up to so many manifolds.
pub(crate) const MOST_MANIFOLDS: usize = 3;

/// The least cost of parting each set of heads into circuits of one manifold, and its first part.
struct Parted {
    cost: Vec<f64>,
    first: Vec<u16>,
    /// The number of circuits in the least costly parting of a set.
    count: Vec<u8>,
    full: usize,
}

/// The least costly grouping; nothing if some head can be in no circuit.
pub(crate) fn solve(scheme: &Scheme) -> Option<Grouped> {
    let sets = circuits(scheme);
    let mut best: Option<Grouped> = None;
    for joined in 1..1_u64 << scheme.manifolds {
        let tree = Tree::new(scheme, joined);
        if best.as_ref().is_some_and(|b| tree.cost >= b.cost) {
            continue;
        }
        let parted: Vec<Option<Parted>> = (0..scheme.manifolds)
            .map(|m| (joined >> m & 1 == 1).then(|| Parted::new(scheme, &tree, m, &sets)))
            .collect();
        let mut valves = joined;
        while valves != 0 {
            let found = with_valves(scheme, &tree, joined, valves, &parted);
            if let Some(found) = found
                && best.as_ref().is_none_or(|b| found.cost < b.cost)
            {
                best = Some(found);
            }
            valves = (valves - 1) & joined;
        }
    }
    best
}

/// All sets of heads that may run together.
fn circuits(scheme: &Scheme) -> Vec<u16> {
    let n = scheme.heads.len();
    (1..1_u32 << n)
        .filter(|set| scheme.may_run((0..n).filter(|h| set >> h & 1 == 1)))
        .map(|set| set as u16)
        .collect()
}

/// The least cost with these manifolds joined and a valve on each of these; infinite if there is none.
#[cfg(test)]
pub(crate) fn least(scheme: &Scheme, joined: u64, valves: u64) -> f64 {
    let tree = Tree::new(scheme, joined);
    let sets = circuits(scheme);
    let parted: Vec<Option<Parted>> = (0..scheme.manifolds)
        .map(|m| (joined >> m & 1 == 1).then(|| Parted::new(scheme, &tree, m, &sets)))
        .collect();
    with_valves(scheme, &tree, joined, valves, &parted).map_or(f64::INFINITY, |g| g.cost)
}

impl Parted {
    fn new(scheme: &Scheme, tree: &Tree, manifold: usize, sets: &[u16]) -> Self {
        let n = scheme.heads.len();
        let size = 1_usize << n;
        let mut pipes = Pipes::new(scheme, tree);
        let valve = tree.rank(scheme.manifold(manifold));
        let own = valve_price(scheme, tree, valve);
        // Circuits by their first head, so that each parting is met once.
        let mut circuits: Vec<Vec<(u16, f64)>> = vec![Vec::new(); n];
        for set in sets {
            let heads = (0..n).filter(|h| set >> h & 1 == 1);
            let mut ranks: Vec<u32> = heads.map(|h| tree.rank(h)).collect();
            ranks.sort_unstable();
            let price = pipes.price(&ranks, valve) + own;
            circuits[set.trailing_zeros() as usize].push((*set, price));
        }
        let full = n + 1;
        let mut part = vec![f64::INFINITY; size * full];
        let mut first = vec![0_u16; size * full];
        part[0] = 0.0;
        for set in 1..size {
            for (circuit, price) in &circuits[set.trailing_zeros() as usize] {
                let circuit_bits = *circuit as usize;
                if circuit_bits & !set != 0 {
                    continue;
                }
                let rest = set & !circuit_bits;
                for count in 0..=rest.count_ones() as usize {
                    let cost = part[rest * full + count] + price;
                    let here = set * full + count + 1;
                    if cost < part[here] {
                        part[here] = cost;
                        first[here] = *circuit;
                    }
                }
            }
        }
        let best = |set: usize| {
            let counts = (0..full).map(|c| (part[set * full + c] + scheme.boxes(c), c as u8));
            counts
                .min_by(|a, b| a.0.total_cmp(&b.0))
                .unwrap_or((f64::INFINITY, 0))
        };
        let (cost, count) = (0..size).map(best).unzip();
        Self {
            cost,
            first,
            count,
            full,
        }
    }

    /// The circuits of a set.
    fn circuits(&self, set: usize, manifold: usize, out: &mut Vec<Set>) {
        let mut set = set;
        let mut count = usize::from(self.count[set]);
        while set != 0 && count > 0 {
            let circuit = self.first[set * self.full + count];
            out.push(Set {
                heads: heads_of(circuit as usize),
                manifold,
            });
            set &= !(circuit as usize);
            count -= 1;
        }
    }
}

fn heads_of(set: usize) -> Vec<usize> {
    (0..usize::BITS as usize)
        .filter(|h| set >> h & 1 == 1)
        .collect()
}

/// The least costly grouping with a valve on each of these manifolds and on no other.
fn with_valves(
    scheme: &Scheme,
    tree: &Tree,
    joined: u64,
    valves: u64,
    parted: &[Option<Parted>],
) -> Option<Grouped> {
    let size = 1_usize << scheme.heads.len();
    let used: Vec<(usize, &Parted)> = parted
        .iter()
        .enumerate()
        .filter(|(m, _)| valves >> m & 1 == 1)
        .filter_map(|(m, p)| Some((m, p.as_ref()?)))
        .collect();
    let at: Vec<u32> = used
        .iter()
        .map(|(m, _)| tree.rank(scheme.manifold(*m)))
        .collect();
    let (main, wire) = lines(scheme, tree, &at);
    // What the manifolds so far take of each set, and what the last of them takes.
    let mut layers: Vec<(Vec<f64>, Vec<u16>)> = Vec::new();
    for (i, (_, parted)) in used.iter().enumerate() {
        let mut cost = vec![f64::INFINITY; size];
        let mut take = vec![0_u16; size];
        for set in 1..size {
            let mut own = set;
            while own != 0 {
                let rest = set & !own;
                let others = match layers.last() {
                    Some((before, _)) => before[rest],
                    None if rest == 0 => 0.0,
                    None => f64::INFINITY,
                };
                let sum = parted.cost[own] + others;
                if sum < cost[set] {
                    cost[set] = sum;
                    take[set] = own as u16;
                }
                own = if i == 0 { 0 } else { (own - 1) & set };
            }
        }
        layers.push((cost, take));
    }
    let mut set = size - 1;
    let cost = layers.last()?.0[set];
    if !cost.is_finite() {
        return None;
    }
    let mut sets = Vec::new();
    for ((manifold, parted), (_, take)) in used.iter().zip(&layers).rev() {
        let own = take[set] as usize;
        parted.circuits(own, *manifold, &mut sets);
        set &= !own;
    }
    sets.sort_by(|a: &Set, b: &Set| a.heads.cmp(&b.heads));
    let cost = tree.cost + main + wire + cost;
    Some(Grouped {
        sets,
        joined,
        cost,
        bound: cost,
        exact: true,
    })
}
