//! Improving one tree at given prices: adding single nodes, and taking out paths or branch nodes
//! and reconnecting what falls apart (in the spirit of E. Uchoa and R. F. Werneck, "Fast local
//! search for the Steiner problem in graphs", ACM JEA 17, 2012, with bounded searches instead of
//! their data structures).

use crate::grow::{NONE, Reach};
use crate::instance::{Instance, Work};
use crate::tidy::{nodes_of, prune, tidy};

/// Room for the searches, sized for one graph and used again and again.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    pub reach: Reach,
    /// Place of a node in a short list; all [`NONE`] between uses.
    pub place: Vec<u32>,
    /// Which part of a broken tree a node is in; all [`NONE`] between uses.
    pub part: Vec<u32>,
}

impl Desk {
    pub fn new(nodes: usize) -> Desk {
        Desk {
            reach: Reach::new(nodes),
            place: vec![NONE; nodes],
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
        best = crate::rip::rip_all(task, best, desk, work);
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

/// A tree hung up at its first node, for walking paths between its nodes.
struct Hung {
    nodes: Vec<u32>,
    up: Vec<u32>,
    depth: Vec<u32>,
    /// Price of the edge to `up`.
    price: Vec<f64>,
}

impl Hung {
    /// Leaves `place` filled; [`Hung::release`] empties it.
    fn new(task: &Task, tree: &[u32], place: &mut [u32]) -> Hung {
        let nodes = nodes_of(task.inst, tree, task.terminals);
        for (at, node) in nodes.iter().enumerate() {
            place[*node as usize] = at as u32;
        }
        let mut near: Vec<Vec<(u32, u32)>> = vec![Vec::new(); nodes.len()];
        for edge in tree {
            let (a, b) = task.inst.ends(*edge);
            let (a, b) = (place[a as usize], place[b as usize]);
            near[a as usize].push((b, *edge));
            near[b as usize].push((a, *edge));
        }
        let len = nodes.len();
        let mut hung = Hung {
            nodes,
            up: vec![NONE; len],
            depth: vec![0; len],
            price: vec![0.0; len],
        };
        let mut open = vec![0u32];
        while let Some(at) = open.pop() {
            for (next, edge) in &near[at as usize] {
                if *next != hung.up[at as usize] {
                    hung.up[*next as usize] = at;
                    hung.depth[*next as usize] = hung.depth[at as usize] + 1;
                    hung.price[*next as usize] = task.price[*edge as usize];
                    open.push(*next);
                }
            }
        }
        hung
    }

    fn release(&self, place: &mut [u32]) {
        for node in &self.nodes {
            place[*node as usize] = NONE;
        }
    }

    /// The dearest edge between two places, named by its lower place; `None` if the path uses an
    /// edge in `cut`.
    fn dearest(&self, mut a: u32, mut b: u32, cut: &[u32], work: &mut Work) -> Option<(f64, u32)> {
        let mut best = (-1.0, NONE);
        while a != b {
            work.done += 1;
            if self.depth[a as usize] < self.depth[b as usize] {
                std::mem::swap(&mut a, &mut b);
            }
            if cut.contains(&a) {
                return None;
            }
            if self.price[a as usize] > best.0 {
                best = (self.price[a as usize], a);
            }
            a = self.up[a as usize];
        }
        Some(best)
    }

    /// What adding a node saves, given its links into the tree as (price, place), cheapest first.
    fn saving(&self, links: &[(f64, u32)], work: &mut Work) -> f64 {
        let mut saved = -links[0].0;
        let mut joined = vec![links[0].1];
        let mut cut = Vec::new();
        for (price, place) in &links[1..] {
            let dearest = joined
                .iter()
                .find_map(|other| self.dearest(*other, *place, &cut, work));
            if let Some((most, below)) = dearest
                && most > *price
            {
                saved += most - price;
                cut.push(below);
                joined.push(*place);
            }
        }
        saved
    }
}

/// Tries every node next to the tree that has two or more links into it.
fn add_nodes(task: &Task, tree: Vec<u32>, desk: &mut Desk, work: &mut Work) -> Vec<u32> {
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
    let hung = Hung::new(task, tree, &mut desk.place);
    let mut found = Vec::new();
    for node in beside(task, &hung, &desk.place, work) {
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
            let saved = hung.saving(&links, work);
            if saved > least {
                found.push((saved, node));
            }
        }
    }
    hung.release(&mut desk.place);
    found.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    found.truncate(12);
    found
}

/// Nodes outside the tree with a link into it, sorted.
fn beside(task: &Task, hung: &Hung, place: &[u32], work: &mut Work) -> Vec<u32> {
    let mut list = Vec::new();
    for node in &hung.nodes {
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
