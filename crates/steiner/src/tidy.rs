//! Making the best of a given set of nodes: spanning tree, then cutting bare ends.

use crate::grow::NONE;
use crate::instance::{Instance, Work};

/// Union-find over small ranges, with path halving.
#[derive(Clone, Debug)]
pub(crate) struct Sets(Vec<u32>);

impl Sets {
    pub fn new(len: usize) -> Sets {
        Sets((0..len as u32).collect())
    }

    pub fn top(&mut self, mut at: u32) -> u32 {
        while self.0[at as usize] != at {
            let up = self.0[self.0[at as usize] as usize];
            self.0[at as usize] = up;
            at = up;
        }
        at
    }

    /// False if the two were joined already.
    pub fn join(&mut self, a: u32, b: u32) -> bool {
        let (a, b) = (self.top(a), self.top(b));
        self.0[a.max(b) as usize] = a.min(b);
        a != b
    }
}

/// All nodes that the edges touch, and `also`, sorted.
pub(crate) fn nodes_of(inst: &Instance, tree: &[u32], also: &[u32]) -> Vec<u32> {
    let mut nodes: Vec<u32> = also.to_vec();
    for edge in tree {
        let (a, b) = inst.ends(*edge);
        nodes.extend([a, b]);
    }
    nodes.sort_unstable();
    nodes.dedup();
    nodes
}

/// The cheapest tree over exactly `nodes`, with bare ends that are no terminals cut off. `None`
/// if the nodes do not hang together.
pub(crate) fn tidy(
    inst: &Instance,
    price: &[f64],
    nodes: &[u32],
    terminals: &[u32],
    place: &mut [u32],
    work: &mut Work,
) -> Option<Vec<u32>> {
    for (at, node) in nodes.iter().enumerate() {
        place[*node as usize] = at as u32;
    }
    let mut among = Vec::new();
    for node in nodes {
        let links = inst.links.of(*node);
        work.done += links.len() as u64;
        let inner = links.iter().filter(|link| link.arc % 2 == 0);
        among.extend(
            inner
                .filter(|link| place[link.to as usize] != NONE)
                .map(|link| link.edge()),
        );
    }
    among.retain(|edge| price[*edge as usize].is_finite());
    among.sort_unstable_by(|a, b| {
        price[*a as usize]
            .total_cmp(&price[*b as usize])
            .then(a.cmp(b))
    });
    let mut sets = Sets::new(nodes.len());
    among.retain(|edge| {
        let (a, b) = inst.ends(*edge);
        sets.join(place[a as usize], place[b as usize])
    });
    for node in nodes {
        place[*node as usize] = NONE;
    }
    let whole = among.len() + 1 == nodes.len();
    whole.then(|| prune(inst, among, terminals, place))
}

/// Cuts ends that are no terminals, again and again. `place` must be all [`NONE`], and is again
/// afterwards.
pub(crate) fn prune(
    inst: &Instance,
    mut tree: Vec<u32>,
    terminals: &[u32],
    place: &mut [u32],
) -> Vec<u32> {
    let nodes = nodes_of(inst, &tree, terminals);
    for (at, node) in nodes.iter().enumerate() {
        place[*node as usize] = at as u32;
    }
    let at = |node: u32| place[node as usize] as usize;
    // The exclusive-or of the edges at a node names the last edge once only one is left.
    let mut count = vec![0u32; nodes.len()];
    let mut mixed = vec![0u32; nodes.len()];
    for edge in &tree {
        let (a, b) = inst.ends(*edge);
        for node in [a, b] {
            count[at(node)] += 1;
            mixed[at(node)] ^= *edge;
        }
    }
    for node in terminals {
        count[at(*node)] += 2;
    }
    let mut cut = Vec::new();
    let mut ends: Vec<u32> = nodes
        .iter()
        .copied()
        .filter(|node| count[at(*node)] == 1)
        .collect();
    while let Some(node) = ends.pop() {
        if count[at(node)] != 1 {
            continue;
        }
        let edge = mixed[at(node)];
        let (a, b) = inst.ends(edge);
        cut.push(edge);
        for node in [a, b] {
            count[at(node)] -= 1;
            mixed[at(node)] ^= edge;
        }
        let other = if a == node { b } else { a };
        if count[at(other)] == 1 {
            ends.push(other);
        }
    }
    cut.sort_unstable();
    tree.retain(|edge| cut.binary_search(edge).is_err());
    for node in &nodes {
        place[*node as usize] = NONE;
    }
    tree.sort_unstable();
    tree
}
