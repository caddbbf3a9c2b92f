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
struct Near {
    nodes: Vec<u32>,
    first: Vec<u32>,
    list: Vec<(u32, u32)>,
}

impl Near {
    fn new(inst: &Instance, tree: &[u32]) -> Near {
        let nodes = nodes_of(inst, tree, &[]);
        let mut list = Vec::with_capacity(2 * tree.len());
        for edge in tree {
            let (a, b) = inst.ends(*edge);
            list.push((a, b, *edge));
            list.push((b, a, *edge));
        }
        list.sort_unstable();
        let mut first = Vec::with_capacity(nodes.len() + 1);
        for (at, link) in list.iter().enumerate() {
            if at == 0 || list[at - 1].0 != link.0 {
                first.push(at as u32);
            }
        }
        first.push(list.len() as u32);
        Near {
            nodes,
            first,
            list: list.into_iter().map(|(_, to, edge)| (to, edge)).collect(),
        }
    }

    fn of(&self, node: u32) -> &[(u32, u32)] {
        match self.nodes.binary_search(&node) {
            Ok(at) => &self.list[self.first[at] as usize..self.first[at + 1] as usize],
            Err(_) => &[],
        }
    }
}

/// Splits a tree into its key paths.
pub(crate) fn paths(task: &Task, tree: &[u32]) -> Paths {
    let near = Near::new(task.inst, tree);
    let mut terminals = task.terminals.to_vec();
    terminals.sort_unstable();
    let terminal = |node: u32| terminals.binary_search(&node).is_ok();
    let key = |node: u32| terminal(node) || near.of(node).len() > 2;
    let mut paths: Vec<Path> = Vec::new();
    let mut joints: Vec<(u32, Vec<usize>)> = Vec::new();
    for node in near.nodes.iter().filter(|node| key(**node)) {
        for (to, edge) in near.of(*node) {
            let path = walk(&near, *node, *to, *edge, key);
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

fn walk(near: &Near, from: u32, to: u32, edge: u32, key: impl Fn(u32) -> bool) -> Path {
    let mut edges = vec![edge];
    let (mut at, mut by) = (to, edge);
    while !key(at) {
        // Not key, so exactly two edges meet here, unless an end was left bare.
        let Some((next, edge)) = near.of(at).iter().find(|(_, edge)| *edge != by) else {
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

/// Takes out every joint with its paths, then every path alone, keeping what gets cheaper.
pub(crate) fn rip_all(task: &Task, tree: Vec<u32>, desk: &mut Desk, work: &mut Work) -> Vec<u32> {
    let mut best = tree;
    for joints in [true, false] {
        let all = paths(task, &best);
        let lots: Vec<Vec<usize>> = if joints {
            all.joints.iter().map(|joint| joint.1.clone()).collect()
        } else {
            (0..all.paths.len()).map(|path| vec![path]).collect()
        };
        for lot in lots {
            if work.out() {
                return best;
            }
            let out: Vec<u32> = lot
                .iter()
                .flat_map(|path| all.paths[*path].edges.iter().copied())
                .collect();
            best = retry(task, best, out, desk, work);
        }
    }
    best
}

/// Replaces the edges `out` if that is cheaper; does nothing if the tree no longer has them all.
fn retry(
    task: &Task,
    tree: Vec<u32>,
    mut out: Vec<u32>,
    desk: &mut Desk,
    work: &mut Work,
) -> Vec<u32> {
    if out.iter().any(|edge| tree.binary_search(edge).is_err()) {
        return tree;
    }
    out.sort_unstable();
    out.dedup();
    let budget = task.cost(&out);
    let less = budget - task.cost(&tree) * GAIN;
    let Some(other) = rejoin(task, &tree, &out, less, desk, work) else {
        return tree;
    };
    if task.cost(&other) < task.cost(&tree) * (1.0 - GAIN) {
        other
    } else {
        tree
    }
}

/// Takes the sorted edges `out` away and joins the parts again for less than `budget`, or `None`.
pub(crate) fn rejoin(
    task: &Task,
    tree: &[u32],
    out: &[u32],
    mut budget: f64,
    desk: &mut Desk,
    work: &mut Work,
) -> Option<Vec<u32>> {
    let mut kept: Vec<u32> = tree.to_vec();
    kept.retain(|edge| out.binary_search(edge).is_err());
    let mut parts = Parts::new(task, &kept, &mut desk.part);
    work.done += tree.len() as u64;
    while parts.count() > 1 {
        let from = parts.smallest();
        let Some((length, node)) = nearest(task, &parts, from, budget, desk, work) else {
            parts.release(&mut desk.part);
            return None;
        };
        budget -= length;
        parts.merge(task.inst, from, node, desk, &mut kept);
    }
    parts.release(&mut desk.part);
    kept.sort_unstable();
    Some(prune(task.inst, kept, task.terminals, &mut desk.place))
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
    fn new(task: &Task, kept: &[u32], part: &mut [u32]) -> Parts {
        let near = Near::new(task.inst, kept);
        let mut lists: Vec<Vec<u32>> = Vec::new();
        for start in near.nodes.iter().chain(task.terminals) {
            if part[*start as usize] != NONE {
                continue;
            }
            let number = lists.len() as u32;
            part[*start as usize] = number;
            let mut list = vec![*start];
            let mut at = 0;
            while let Some(node) = list.get(at).copied() {
                for (to, _) in near.of(node) {
                    if part[*to as usize] == NONE {
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
