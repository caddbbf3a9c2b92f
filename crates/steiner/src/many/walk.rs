//! Walks along what an ascent left on a slate: trees without slack, and what lies within a room.

use super::slate::{Part, Slate};
use crate::grow::NONE;
use crate::instance::Instance;

impl Slate {
    /// Edges that the group's tree may use for at most `room` more than the bound, sorted, and
    /// the work of finding them.
    pub fn within(
        &mut self,
        inst: &Instance,
        group: usize,
        part: Part,
        loose: f64,
        room: f64,
    ) -> (Vec<u32>, u64) {
        if self.ascend(inst, group, part, loose).is_none() {
            return (Vec::new(), self.work);
        }
        let terminals = &inst.terminals[group];
        let from = self.spread(inst, group, &terminals[..1], false, room);
        self.spread(inst, group, &terminals[1..], true, room);
        let mut kept = Vec::new();
        for (node, dist) in from {
            for link in inst.links.of(node) {
                let slack = self.slack[link.arc as usize];
                if dist + slack + self.reach.dist[link.to as usize] <= room {
                    kept.push(link.edge());
                }
            }
        }
        kept.sort_unstable();
        kept.dedup();
        (kept, self.work)
    }

    /// Per edge of the part, how far the cheapest way through it lies above the bound, with what has
    /// been lifted; infinite if by `most` or more.
    pub fn above(&mut self, inst: &Instance, group: usize, part: Part, most: f64) -> Vec<f64> {
        self.start(inst, group, part);
        let terminals = &inst.terminals[group];
        let from = self.spread(inst, group, &terminals[..1], false, most);
        for (node, dist) in &from {
            self.inside[*node as usize] = *dist;
        }
        self.spread(inst, group, &terminals[1..], true, most);
        let above = (part.edges.iter())
            .map(|edge| {
                let (a, b) = inst.ends(*edge);
                let (a, b) = (a as usize, b as usize);
                let at = 2 * *edge as usize;
                let there = self.inside[a] + self.slack[at] + self.reach.dist[b];
                let back = self.inside[b] + self.slack[at + 1] + self.reach.dist[a];
                there.min(back)
            })
            .collect();
        for (node, _) in &from {
            self.inside[*node as usize] = f64::INFINITY;
        }
        above
    }

    /// Nodes whose least slack from the starts, or to them if `back`, is at most `room`; left in
    /// `reach` too.
    fn spread(
        &mut self,
        inst: &Instance,
        group: usize,
        starts: &[u32],
        back: bool,
        room: f64,
    ) -> Vec<(u32, f64)> {
        self.reach.clear();
        for node in starts {
            self.reach.offer(*node, 0.0, NONE);
        }
        let mut near = Vec::new();
        while let Some((dist, node)) = self.reach.next() {
            if dist > room {
                break;
            }
            near.push((node, dist));
            let links = inst.links.of(node);
            self.work += links.len() as u64;
            for link in links {
                self.touch(inst, group, link.edge());
                let arc = if back { link.arc ^ 1 } else { link.arc };
                let slack = self.slack[arc as usize];
                if slack.is_finite() {
                    self.reach.offer(link.to, dist + slack, link.arc);
                }
            }
        }
        near
    }

    /// A tree grown along edges without slack, by the nearest terminal at full price.
    pub(super) fn tree(&mut self, inst: &Instance, group: usize) -> Option<Vec<u32>> {
        let terminals = &inst.terminals[group];
        self.reach.clear();
        for node in &terminals[1..] {
            self.waiting[*node as usize] = true;
        }
        let mut left = terminals.len() - 1;
        let mut tree = Vec::new();
        self.members.clear();
        self.settle(terminals[0]);
        self.reach.offer(terminals[0], 0.0, NONE);
        while left > 0 {
            let Some((_, node)) = self.reach.next() else {
                break;
            };
            if self.waiting[node as usize] {
                let mut at = node;
                while self.inside[at as usize].is_infinite() {
                    left -= usize::from(std::mem::take(&mut self.waiting[at as usize]));
                    self.settle(at);
                    let arc = self.reach.by[at as usize];
                    tree.push(arc / 2);
                    self.reach.offer(at, 0.0, arc);
                    at = inst.tail(arc);
                }
            }
            let dist = self.reach.dist[node as usize];
            let links = inst.links.of(node);
            self.work += links.len() as u64;
            for link in links {
                self.touch(inst, group, link.edge());
                let at = link.arc as usize;
                if self.slack[at].min(self.slack[at ^ 1]) <= 0.0 {
                    let price = self.price[link.edge() as usize];
                    self.reach.offer(link.to, dist + price, link.arc);
                }
            }
        }
        for node in &terminals[1..] {
            self.waiting[*node as usize] = false;
        }
        for node in &self.members {
            self.inside[*node as usize] = f64::INFINITY;
        }
        tree.sort_unstable();
        (left == 0).then_some(tree)
    }

    /// Marks a node as part of the tree.
    fn settle(&mut self, node: u32) {
        self.inside[node as usize] = 0.0;
        self.members.push(node);
    }
}
