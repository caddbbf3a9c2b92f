//! Improving one tree at given prices: adding single nodes, and taking out paths or branch nodes
//! and reconnecting what falls apart (in the spirit of E. Uchoa and R. F. Werneck, "Fast local
//! search for the Steiner problem in graphs", ACM JEA 17, 2012, with bounded searches instead of
//! their data structures).

use crate::grow::{NONE, Reach};
use crate::instance::{Instance, Work};
use crate::tidy::{Sets, nodes_of, prune, tidy};

/// Room for the searches, sized for one graph and used again and again.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    pub reach: Reach,
    /// Place of a node in a short list; all [`NONE`] between uses.
    pub place: Vec<u32>,
    /// Place of a node in the tree being taken apart; all [`NONE`] between uses.
    pub spot: Vec<u32>,
    /// Which part of a broken tree a node is in; all [`NONE`] between uses.
    pub part: Vec<u32>,
}

impl Desk {
    pub fn new(nodes: usize) -> Desk {
        Desk {
            reach: Reach::new(nodes),
            place: vec![NONE; nodes],
            spot: vec![NONE; nodes],
            part: vec![NONE; nodes],
        }
    }
}

/// What a tree is being improved against.
pub(crate) struct Task<'a, 'p> {
    pub inst: &'a Instance<'p>,
    /// Price per edge; infinite where the edge may not be used.
    pub price: &'a [f64],
    pub terminals: &'a [u32],
}

impl Task<'_, '_> {
    pub fn cost(&self, tree: &[u32]) -> f64 {
        tree.iter().map(|edge| self.price[*edge as usize]).sum()
    }

    pub fn tidy(&self, nodes: &[u32], desk: &mut Desk, work: &mut Work) -> Option<Vec<u32>> {
        tidy(
            self.inst,
            self.price,
            nodes,
            self.terminals,
            &mut desk.place,
            work,
        )
    }
}

/// Gains smaller than this part of the tree's cost are rounding.
pub(crate) const GAIN: f64 = 1e-10;

/// Improves until nothing helps or the work is used up.
pub(crate) fn improve(task: &Task, tree: Vec<u32>, desk: &mut Desk, work: &mut Work) -> Vec<u32> {
    let mut best = tree;
    loop {
        let before = task.cost(&best);
        best = respan(task, best, desk, work);
        best = add_nodes(task, best, desk, work);
        best = crate::rip::rip_all(task, best, None, desk, work);
        if work.out() || task.cost(&best) >= before * (1.0 - GAIN) {
            return best;
        }
    }
}

/// The cheapest tree over the same nodes, if cheaper.
pub(crate) fn respan(task: &Task, tree: Vec<u32>, desk: &mut Desk, work: &mut Work) -> Vec<u32> {
    let nodes = nodes_of(task.inst, &tree, task.terminals);
    match task.tidy(&nodes, desk, work) {
        Some(other) if task.cost(&other) < task.cost(&tree) => other,
        _ => prune(task.inst, tree, task.terminals, &mut desk.place),
    }
}

/// The nodes of a tree merged along its edges, cheapest first. The dearest edge between two nodes
/// is the one that merged them, found by climbing a few steps.
struct Merged {
    nodes: Vec<u32>,
    up: Vec<u32>,
    /// Price of the edge that merged a place into `up`; infinite at the top.
    price: Vec<f64>,
}

impl Merged {
    /// Leaves `place` filled; [`Merged::release`] empties it.
    fn new(task: &Task, tree: &[u32], place: &mut [u32]) -> Merged {
        let nodes = nodes_of(task.inst, tree, task.terminals);
        for (at, node) in nodes.iter().enumerate() {
            place[*node as usize] = at as u32;
        }
        let len = nodes.len();
        let mut edges = tree.to_vec();
        let price = |edge: u32| task.price[edge as usize];
        edges.sort_unstable_by(|a, b| price(*a).total_cmp(&price(*b)).then(a.cmp(b)));
        let mut merged = Merged {
            nodes,
            up: vec![NONE; len],
            price: vec![f64::INFINITY; len],
        };
        let mut size = vec![1u32; len];
        for edge in edges {
            let (a, b) = task.inst.ends(edge);
            let a = merged.top(place[a as usize]) as usize;
            let b = merged.top(place[b as usize]) as usize;
            // Small under large keeps the climb short.
            let (low, high) = if size[a] <= size[b] { (a, b) } else { (b, a) };
            merged.up[low] = high as u32;
            merged.price[low] = price(edge);
            size[high] += size[low];
        }
        merged
    }

    fn top(&self, mut at: u32) -> u32 {
        while self.up[at as usize] != NONE {
            at = self.up[at as usize];
        }
        at
    }

    fn release(&self, place: &mut [u32]) {
        for node in &self.nodes {
            place[*node as usize] = NONE;
        }
    }

    /// Price of the dearest edge between two places.
    fn dearest(&self, mut a: u32, mut b: u32) -> f64 {
        let mut most = 0.0;
        while a != b {
            let low = if self.price[a as usize] <= self.price[b as usize] {
                &mut a
            } else {
                &mut b
            };
            most = self.price[*low as usize];
            *low = self.up[*low as usize];
        }
        most
    }

    /// What adding a node saves, given its links into the tree as (price, place), cheapest first:
    /// the dearest edges between the places, against the cheapest tree over these and the links.
    fn saving(&self, links: &[(f64, u32)], work: &mut Work) -> f64 {
        let links = &links[..links.len().min(MOST_LINKS)];
        work.done += (links.len() * links.len()) as u64 * 2;
        let mut pairs = Vec::with_capacity(links.len() * links.len() / 2);
        for (at, (_, a)) in links.iter().enumerate() {
            for (other, (_, b)) in links[..at].iter().enumerate() {
                pairs.push((self.dearest(*a, *b), at as u32, other as u32));
            }
        }
        pairs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let mut sets = Sets::new(links.len());
        pairs.retain(|(_, a, b)| sets.join(*a, *b));
        let before: f64 = pairs.iter().map(|pair| pair.0).sum();
        let own = links.len() as u32;
        pairs.extend(
            links
                .iter()
                .enumerate()
                .map(|(at, link)| (link.0, at as u32, own)),
        );
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut sets = Sets::new(links.len() + 1);
        pairs.retain(|(_, a, b)| sets.join(*a, *b));
        before - pairs.iter().map(|pair| pair.0).sum::<f64>()
    }
}

/// Links of one node that are looked at together.
const MOST_LINKS: usize = 12;

/// Tries every node next to the tree that has two or more links into it.
pub(crate) fn add_nodes(task: &Task, tree: Vec<u32>, desk: &mut Desk, work: &mut Work) -> Vec<u32> {
    let mut best = tree;
    loop {
        let found = savings(task, &best, desk, work);
        let before = task.cost(&best);
        let mut nodes = nodes_of(task.inst, &best, task.terminals);
        for (_, node) in &found {
            let mut more = nodes.clone();
            more.push(*node);
            if let Some(other) = task.tidy(&more, desk, work)
                && task.cost(&other) < task.cost(&best) * (1.0 - GAIN)
            {
                nodes = nodes_of(task.inst, &other, task.terminals);
                best = other;
            }
            if work.out() {
                return best;
            }
        }
        if task.cost(&best) >= before * (1.0 - GAIN) {
            return best;
        }
    }
}

/// Nodes whose adding saves something, the most first. At most a handful per round: each is tried
/// in full afterwards, and the first few spoil the estimates of the rest.
fn savings(task: &Task, tree: &[u32], desk: &mut Desk, work: &mut Work) -> Vec<(f64, u32)> {
    let least = task.cost(tree) * GAIN;
    let merged = Merged::new(task, tree, &mut desk.place);
    let mut found = Vec::new();
    for node in beside(task, &merged, &desk.place, work) {
        let mut links: Vec<(f64, u32)> = (task.inst.links.of(node).iter())
            .map(|link| {
                (
                    task.price[link.edge() as usize],
                    desk.place[link.to as usize],
                )
            })
            .filter(|(price, place)| *place != NONE && price.is_finite())
            .collect();
        if links.len() > 1 {
            links.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            let saved = merged.saving(&links, work);
            if saved > least {
                found.push((saved, node));
            }
        }
    }
    merged.release(&mut desk.place);
    found.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    found.truncate(12);
    found
}

/// Nodes outside the tree with a link into it, sorted.
fn beside(task: &Task, merged: &Merged, place: &[u32], work: &mut Work) -> Vec<u32> {
    let mut list = Vec::new();
    for node in &merged.nodes {
        let links = task.inst.links.of(*node);
        work.done += links.len() as u64;
        list.extend(
            links
                .iter()
                .map(|link| link.to)
                .filter(|to| place[*to as usize] == NONE),
        );
    }
    list.sort_unstable();
    list.dedup();
    list
}
