//! Broken cuts of a fractional solution, by largest flows from the root to each terminal (T. Koch
//! and A. Martin, "Solving Steiner tree problems in graphs to optimality", Networks 32, 1998:
//! cuts on either side of the bottleneck, and nested ones).

use crate::grow::NONE;
use crate::single::kernel::Kernel;
use crate::single::watch::Watch;
use std::collections::VecDeque;

/// Room for flows on one kernel.
pub(crate) struct Flows {
    /// Links along edges with a value, per node.
    near: Vec<Vec<u32>>,
    nodes: Vec<u32>,
    capacity: Vec<f64>,
    rest: Vec<f64>,
    used: Vec<u32>,
    by: Vec<u32>,
    seen: Vec<u32>,
    inside: Vec<bool>,
}

const LITTLE: f64 = 1e-6;

impl Flows {
    pub fn new(kernel: &Kernel) -> Flows {
        Flows {
            near: vec![Vec::new(); kernel.nodes()],
            nodes: Vec::new(),
            capacity: vec![0.0; kernel.arcs()],
            rest: vec![0.0; kernel.arcs()],
            used: Vec::new(),
            by: vec![NONE; kernel.nodes()],
            seen: Vec::new(),
            inside: vec![false; kernel.nodes()],
        }
    }

    /// Takes over a fractional solution as capacities.
    pub fn load(&mut self, kernel: &Kernel, support: impl Iterator<Item = (u32, f64)>) {
        for arc in self.used.drain(..) {
            self.capacity[arc as usize] = 0.0;
        }
        for node in self.nodes.drain(..) {
            self.near[node as usize].clear();
        }
        for (arc, value) in support.filter(|(_, value)| *value > LITTLE) {
            if self.capacity[arc as usize ^ 1] == 0.0 {
                for arc in [arc, arc ^ 1] {
                    let tail = kernel.tail(arc);
                    self.near[tail as usize].push(arc);
                    self.nodes.push(tail);
                }
            }
            self.capacity[arc as usize] = value.min(1.0);
            self.used.push(arc);
        }
    }

    /// Cuts around a terminal that the solution crosses by less than 1, at most `most` times two:
    /// per cut its entering arcs among the open ones.
    pub fn cuts(
        &mut self,
        kernel: &Kernel,
        (root, terminal): (u32, u32),
        open: impl Fn(u32) -> bool,
        most: usize,
        watch: &mut Watch,
    ) -> Vec<Vec<u32>> {
        for arc in &self.used {
            self.rest[*arc as usize ^ 1] = 0.0;
        }
        for arc in &self.used {
            self.rest[*arc as usize] = self.capacity[*arc as usize];
        }
        let mut found = Vec::new();
        let mut flow = 0.0;
        for _ in 0..most {
            while flow < 1.0 - 1e-4 && self.search(kernel, root, terminal, watch) {
                flow += self.push(kernel, root, terminal);
            }
            if flow >= 1.0 - 1e-4 {
                break;
            }
            // The search has left behind what the root still reaches.
            let beyond: Vec<u32> = self.leaving(kernel).into_iter().filter(|arc| open(*arc)).collect();
            self.reset();
            self.back(kernel, terminal, watch);
            let before: Vec<u32> = self.entering(kernel).into_iter().filter(|arc| open(*arc)).collect();
            self.reset();
            for arc in &before {
                // A cut found counts as crossed, so that the next one lies beyond it.
                self.rest[*arc as usize] += 1.0;
            }
            let same = before == beyond;
            found.push(before);
            if !same {
                found.push(beyond);
            }
        }
        self.reset();
        found
    }

    /// Breadth first from the root along what is left; true if it meets the terminal.
    fn search(&mut self, kernel: &Kernel, root: u32, terminal: u32, watch: &mut Watch) -> bool {
        self.reset();
        let mut open = VecDeque::from([root]);
        self.enter(root);
        while let Some(node) = open.pop_front() {
            for at in 0..self.near[node as usize].len() {
                let arc = self.near[node as usize][at];
                let to = kernel.head(arc);
                if self.rest[arc as usize] > LITTLE && !self.inside[to as usize] {
                    self.enter(to);
                    self.by[to as usize] = arc;
                    if to == terminal {
                        watch.tick(self.seen.len() as u64 * 3);
                        return true;
                    }
                    open.push_back(to);
                }
            }
        }
        watch.tick(self.seen.len() as u64 * 3);
        false
    }

    fn enter(&mut self, node: u32) {
        self.inside[node as usize] = true;
        self.seen.push(node);
    }

    fn reset(&mut self) {
        for node in self.seen.drain(..) {
            self.inside[node as usize] = false;
        }
    }

    fn push(&mut self, kernel: &Kernel, root: u32, terminal: u32) -> f64 {
        let mut most = f64::INFINITY;
        let mut at = terminal;
        while at != root {
            let arc = self.by[at as usize];
            most = most.min(self.rest[arc as usize]);
            at = kernel.tail(arc);
        }
        at = terminal;
        while at != root {
            let arc = self.by[at as usize];
            self.rest[arc as usize] -= most;
            self.rest[arc as usize ^ 1] += most;
            at = kernel.tail(arc);
        }
        most
    }

    /// Marks every node from which the terminal can still be reached.
    fn back(&mut self, kernel: &Kernel, terminal: u32, watch: &mut Watch) {
        self.enter(terminal);
        let mut at = 0;
        while let Some(node) = self.seen.get(at).copied() {
            for link in 0..self.near[node as usize].len() {
                let arc = self.near[node as usize][link] ^ 1;
                let from = kernel.tail(arc);
                if self.rest[arc as usize] > LITTLE && !self.inside[from as usize] {
                    self.enter(from);
                }
            }
            at += 1;
        }
        watch.tick(self.seen.len() as u64 * 3);
    }

    /// Arcs that leave the marked nodes, sorted.
    fn leaving(&self, kernel: &Kernel) -> Vec<u32> {
        let links = self.seen.iter().flat_map(|node| kernel.of(*node));
        let mut arcs: Vec<u32> = (links.filter(|link| !self.inside[link.to as usize]))
            .map(|link| link.arc)
            .collect();
        arcs.sort_unstable();
        arcs
    }

    /// Arcs that enter the marked nodes, sorted.
    fn entering(&self, kernel: &Kernel) -> Vec<u32> {
        let mut arcs = self.leaving(kernel);
        arcs.iter_mut().for_each(|arc| *arc ^= 1);
        arcs.sort_unstable();
        arcs
    }
}
