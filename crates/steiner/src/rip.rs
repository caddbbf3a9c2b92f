//! Taking paths out of a tree and joining the parts again, each time by the shortest way.

use crate::grow::NONE;
use crate::improve::{Desk, GAIN, Task};
use crate::instance::{Instance, Work};
use crate::tidy::{nodes_of, prune};

/// The paths of a tree between its key nodes: terminals, and nodes where three or more edges meet.
pub(crate) struct Paths {
    pub paths: Vec<Path>,
    /// Key nodes that are no terminals, with the paths that end there.
    pub joints: Vec<(u32, Vec<usize>)>,
}

#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub edges: Vec<u32>,
    pub ends: [u32; 2],
}

/// The edges of a tree at each of its nodes.
pub(crate) struct Near {
    nodes: Vec<u32>,
    first: Vec<u32>,
    list: Vec<(u32, u32)>,
}

impl Near {
    /// Leaves `spot` filled; [`Near::release`] empties it.
    pub fn new(inst: &Instance, tree: &[u32], terminals: &[u32], spot: &mut [u32]) -> Near {
        let nodes = nodes_of(inst, tree, terminals);
        for (at, node) in nodes.iter().enumerate() {
            spot[*node as usize] = at as u32;
        }
        let mut first = vec![0u32; nodes.len() + 1];
        for edge in tree {
            let (a, b) = inst.ends(*edge);
            first[spot[a as usize] as usize + 1] += 1;
            first[spot[b as usize] as usize + 1] += 1;
        }
        for at in 0..nodes.len() {
            first[at + 1] += first[at];
        }
        let mut next = first.clone();
        let mut list = vec![(NONE, NONE); 2 * tree.len()];
        for edge in tree {
            let (a, b) = inst.ends(*edge);
            for (from, to) in [(a, b), (b, a)] {
                let next = &mut next[spot[from as usize] as usize];
                list[*next as usize] = (to, *edge);
                *next += 1;
            }
        }
        Near { nodes, first, list }
    }

    pub fn release(&self, spot: &mut [u32]) {
        for node in &self.nodes {
            spot[*node as usize] = NONE;
        }
    }

    fn of(&self, node: u32, spot: &[u32]) -> &[(u32, u32)] {
        let at = spot[node as usize] as usize;
        &self.list[self.first[at] as usize..self.first[at + 1] as usize]
    }
}

/// Splits a tree into its key paths.
pub(crate) fn paths(task: &Task, near: &Near, spot: &[u32]) -> Paths {
    let mut terminals = task.terminals.to_vec();
    terminals.sort_unstable();
    let terminal = |node: u32| terminals.binary_search(&node).is_ok();
    let key = |node: u32| terminal(node) || near.of(node, spot).len() > 2;
    let mut paths: Vec<Path> = Vec::new();
    let mut joints: Vec<(u32, Vec<usize>)> = Vec::new();
    for node in near.nodes.iter().filter(|node| key(**node)) {
        for (to, edge) in near.of(*node, spot) {
            let path = walk(near, spot, *node, *to, *edge, key);
            // Each path is met from both ends; the smaller end speaks for it.
            if path.ends[0] < path.ends[1] {
                paths.push(path);
            }
        }
        if !terminal(*node) {
            joints.push((*node, Vec::new()));
        }
    }
    for (at, path) in paths.iter().enumerate() {
        for end in path.ends {
            if let Ok(joint) = joints.binary_search_by_key(&end, |joint| joint.0) {
                joints[joint].1.push(at);
            }
        }
    }
    Paths { paths, joints }
}

fn walk(
    near: &Near,
    spot: &[u32],
    from: u32,
    to: u32,
    edge: u32,
    key: impl Fn(u32) -> bool,
) -> Path {
    let mut edges = vec![edge];
    let (mut at, mut by) = (to, edge);
    while !key(at) {
        // Not key, so exactly two edges meet here, unless an end was left bare.
        let Some((next, edge)) = near.of(at, spot).iter().find(|(_, edge)| *edge != by) else {
            break;
        };
        edges.push(*edge);
        (at, by) = (*next, *edge);
    }
    Path {
        edges,
        ends: [from, at],
    }
}

/// Takes out every joint with its paths, then every path alone, keeping what gets cheaper; with
/// `near`, only those that have one of these (sorted) nodes as an end.
pub(crate) fn rip_all(
    task: &Task,
    tree: Vec<u32>,
    near: Option<&[u32]>,
    desk: &mut Desk,
    work: &mut Work,
) -> Vec<u32> {
    let mut best = tree;
    let mut tree_near = Near::new(task.inst, &best, task.terminals, &mut desk.spot);
    for joints in [true, false] {
        let all = paths(task, &tree_near, &desk.spot);
        for lot in lots(&all, joints, near) {
            if work.out() {
                break;
            }
            let edges = lot
                .iter()
                .flat_map(|path| all.paths[*path].edges.iter().copied());
            if let Some(other) = retry(task, &best, &tree_near, edges.collect(), desk, work) {
                tree_near.release(&mut desk.spot);
                best = other;
                tree_near = Near::new(task.inst, &best, task.terminals, &mut desk.spot);
            }
        }
    }
    tree_near.release(&mut desk.spot);
    best
}

/// What is to be taken out together: the paths at each joint, or single paths.
fn lots(all: &Paths, joints: bool, near: Option<&[u32]>) -> Vec<Vec<usize>> {
    let hot = |path: &Path| match near {
        Some(near) => path.ends.iter().any(|end| near.binary_search(end).is_ok()),
        None => true,
    };
    let mut lots: Vec<Vec<usize>> = if joints {
        all.joints.iter().map(|joint| joint.1.clone()).collect()
    } else {
        (0..all.paths.len()).map(|path| vec![path]).collect()
    };
    lots.retain(|lot| lot.iter().any(|path| hot(&all.paths[*path])));
    lots
}

/// The tree without the edges `out`, joined anew, if that is cheaper and the tree still has them.
fn retry(
    task: &Task,
    tree: &[u32],
    near: &Near,
    mut out: Vec<u32>,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<Vec<u32>> {
    if out.iter().any(|edge| tree.binary_search(edge).is_err()) {
        return None;
    }
    out.sort_unstable();
    out.dedup();
    let cost = task.cost(tree);
    let less = task.cost(&out) - cost * GAIN;
    let other = rejoin(task, tree, near, &out, less, desk, work)?;
    (task.cost(&other) < cost * (1.0 - GAIN)).then_some(other)
}

/// Takes the sorted edges `out` away and joins the parts again for less than `budget`, or `None`.
pub(crate) fn rejoin(
    task: &Task,
    tree: &[u32],
    near: &Near,
    out: &[u32],
    mut budget: f64,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<Vec<u32>> {
    let mut parts = Parts::new(task, near, out, desk);
    work.done += tree.len() as u64;
    let mut added = Vec::new();
    while parts.count() > 1 {
        let from = parts.smallest();
        let Some((length, node)) = nearest(task, &parts, from, budget, desk, work) else {
            parts.release(&mut desk.part);
            return None;
        };
        budget -= length;
        parts.merge(task.inst, from, node, desk, &mut added);
    }
    parts.release(&mut desk.part);
    added.extend(tree.iter().filter(|edge| out.binary_search(edge).is_err()));
    added.sort_unstable();
    Some(prune(task.inst, added, task.terminals, &mut desk.place))
}

/// Shortest way from one part to any other: its length and the node where it arrives.
fn nearest(
    task: &Task,
    parts: &Parts,
    from: usize,
    budget: f64,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<(f64, u32)> {
    desk.reach.clear();
    for node in &parts.lists[from] {
        desk.reach.offer(*node, 0.0, NONE);
    }
    work.done += parts.lists[from].len() as u64;
    while let Some((dist, node)) = desk.reach.next() {
        if dist >= budget {
            return None;
        }
        let part = desk.part[node as usize];
        if part != NONE && part != from as u32 {
            return Some((dist, node));
        }
        desk.reach.spread(task.inst, task.price, node, work);
    }
    None
}

/// What a tree falls into when edges are taken out.
struct Parts {
    lists: Vec<Vec<u32>>,
}

impl Parts {
    /// Fills `part`; nodes that lose all their edges and are no terminals belong to no part.
    fn new(task: &Task, near: &Near, out: &[u32], desk: &mut Desk) -> Parts {
        let Desk { part, spot, .. } = desk;
        let kept = |edge: u32| out.binary_search(&edge).is_err();
        let mut lists: Vec<Vec<u32>> = Vec::new();
        for start in &near.nodes {
            let links = near.of(*start, spot);
            let lone = !links.iter().any(|link| kept(link.1));
            if part[*start as usize] != NONE || lone && !task.terminals.contains(start) {
                continue;
            }
            let number = lists.len() as u32;
            part[*start as usize] = number;
            let mut list = vec![*start];
            let mut at = 0;
            while let Some(node) = list.get(at).copied() {
                for (to, edge) in near.of(node, spot) {
                    if part[*to as usize] == NONE && kept(*edge) {
                        part[*to as usize] = number;
                        list.push(*to);
                    }
                }
                at += 1;
            }
            lists.push(list);
        }
        Parts { lists }
    }

    fn count(&self) -> usize {
        self.lists.iter().filter(|list| !list.is_empty()).count()
    }

    fn smallest(&self) -> usize {
        let parts = (0..self.lists.len()).filter(|part| !self.lists[*part].is_empty());
        parts
            .min_by_key(|part| self.lists[*part].len())
            .expect("only called with parts left")
    }

    /// Adds the way just found from part `from` to `node`, and puts both parts together.
    fn merge(
        &mut self,
        inst: &Instance,
        from: usize,
        node: u32,
        desk: &mut Desk,
        kept: &mut Vec<u32>,
    ) {
        let into = desk.part[node as usize];
        let mut moved = std::mem::take(&mut self.lists[from]);
        let mut at = node;
        while desk.reach.by[at as usize] != NONE {
            let arc = desk.reach.by[at as usize];
            kept.push(arc / 2);
            at = inst.tail(arc);
            if desk.part[at as usize] == NONE {
                moved.push(at);
            }
        }
        for node in &moved {
            desk.part[*node as usize] = into;
        }
        self.lists[into as usize].extend(moved);
    }

    fn release(&self, part: &mut [u32]) {
        for node in self.lists.iter().flatten() {
            part[*node as usize] = NONE;
        }
    }
}
