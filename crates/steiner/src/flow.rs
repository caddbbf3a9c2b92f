//! Broken cuts of a fractional solution, by largest flows from the root to each terminal (T. Koch
//! and A. Martin, "Solving Steiner tree problems in graphs to optimality", Networks 32, 1998:
//! cuts on either side of the bottleneck, nested ones, and a little flow on every arc so that cuts
//! of few arcs are found). Flows by E. A. Dinic, "Algorithm for solution of a problem of maximum
//! flow in networks with power estimation", Soviet Mathematics Doklady 11, 1970.

use crate::grow::NONE;
use crate::problem::Link;

/// A graph of arcs: those of edge `e` are `2 e` and, back, `2 e + 1`.
pub(crate) trait Net {
    fn nodes(&self) -> usize;
    fn arcs(&self) -> usize;
    /// The links out of a node.
    fn of(&self, node: u32) -> &[Link];
    /// The node an arc leaves.
    fn tail(&self, arc: u32) -> u32;
}

/// Room for flows on one graph.
pub(crate) struct Flows {
    /// Links looked at so far.
    pub work: u64,
    capacity: Vec<f64>,
    shut: Vec<bool>,
    rest: Vec<f64>,
    /// Steps from the root; [`NONE`] beyond reach.
    level: Vec<u32>,
    /// Next link to be tried, per node.
    next: Vec<u32>,
    seen: Vec<u32>,
    inside: Vec<bool>,
}

/// Flow below this is rounding.
const LITTLE: f64 = 1e-9;
/// A cut crossed by at least this much is not broken.
const WHOLE: f64 = 1.0 - 1e-4;

impl Flows {
    pub fn new(net: &impl Net) -> Flows {
        Flows {
            work: 0,
            capacity: vec![0.0; net.arcs()],
            shut: Vec::new(),
            rest: vec![0.0; net.arcs()],
            level: vec![NONE; net.nodes()],
            next: vec![0; net.nodes()],
            seen: Vec::new(),
            inside: vec![false; net.nodes()],
        }
    }

    /// Takes over a fractional solution as capacities, with `creep` more on every open arc.
    pub fn load(&mut self, support: impl Iterator<Item = (u32, f64)>, shut: &[bool], creep: f64) {
        self.shut.clear();
        self.shut.extend_from_slice(shut);
        for (capacity, shut) in self.capacity.iter_mut().zip(shut) {
            *capacity = if *shut { 0.0 } else { creep };
        }
        for (arc, value) in support {
            self.capacity[arc as usize] += value.clamp(0.0, 1.0);
        }
    }

    /// Cuts around a terminal that the solution crosses by less than 1, at most `most` times two:
    /// per cut its entering arcs.
    pub fn cuts(
        &mut self,
        net: &impl Net,
        (root, terminal): (u32, u32),
        most: usize,
    ) -> Vec<Vec<u32>> {
        self.rest.clone_from(&self.capacity);
        let mut found: Vec<Vec<u32>> = Vec::new();
        let mut flow = 0.0;
        for _ in 0..most {
            while flow < WHOLE && self.levels(net, root, terminal) {
                self.next.fill(0);
                while flow < WHOLE {
                    let more = self.push(net, root, terminal, 1.0);
                    if more <= LITTLE {
                        break;
                    }
                    flow += more;
                }
            }
            if flow >= WHOLE {
                break;
            }
            let beyond = self.border(net, 0);
            self.back(net, terminal);
            let before = self.border(net, 1);
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

    /// Steps from the root along what is left; true if the terminal is among the nodes met, which
    /// are all marked.
    fn levels(&mut self, net: &impl Net, root: u32, terminal: u32) -> bool {
        self.level.fill(NONE);
        self.spread(net, root, 0, Some(terminal));
        self.inside[terminal as usize]
    }

    /// Marks every node from which the terminal can still be reached.
    fn back(&mut self, net: &impl Net, terminal: u32) {
        self.spread(net, terminal, 1, None);
    }

    /// Marks what can be reached along what is left, against the arcs if `side` is 1, and counts the
    /// steps; no further than `until`.
    fn spread(&mut self, net: &impl Net, from: u32, side: u32, until: Option<u32>) {
        self.reset();
        self.enter(from, 0);
        let mut at = 0;
        while let Some(node) = self.seen.get(at).copied() {
            let links = net.of(node);
            self.work += links.len() as u64;
            let next = self.level[node as usize] + 1;
            for link in links {
                let rest = self.rest[(link.arc ^ side) as usize];
                if rest > LITTLE && !self.inside[link.to as usize] {
                    self.enter(link.to, next);
                }
            }
            if until.is_some_and(|node| self.inside[node as usize]) {
                return;
            }
            at += 1;
        }
    }

    /// Sends up to `most` to the terminal along rising levels.
    fn push(&mut self, net: &impl Net, root: u32, terminal: u32, most: f64) -> f64 {
        let mut path: Vec<u32> = Vec::new();
        let mut at = root;
        let mut work = 0;
        while at != terminal {
            let links = net.of(at);
            let mut stepped = false;
            while (self.next[at as usize] as usize) < links.len() {
                let link = links[self.next[at as usize] as usize];
                work += 1;
                let up = self.level[link.to as usize] == self.level[at as usize].wrapping_add(1);
                if up && self.rest[link.arc as usize] > LITTLE {
                    path.push(link.arc);
                    at = link.to;
                    stepped = true;
                    break;
                }
                self.next[at as usize] += 1;
            }
            if !stepped {
                let Some(arc) = path.pop() else {
                    self.work += work;
                    return 0.0;
                };
                at = net.tail(arc);
                self.next[at as usize] += 1;
            }
        }
        let flow = path
            .iter()
            .fold(most, |least, arc| least.min(self.rest[*arc as usize]));
        for arc in path {
            self.rest[arc as usize] -= flow;
            self.rest[arc as usize ^ 1] += flow;
        }
        self.work += work;
        flow
    }

    fn enter(&mut self, node: u32, level: u32) {
        self.inside[node as usize] = true;
        self.level[node as usize] = level;
        self.seen.push(node);
    }

    fn reset(&mut self) {
        for node in self.seen.drain(..) {
            self.inside[node as usize] = false;
        }
    }

    /// Open arcs that leave the marked nodes, or enter them if `side` is 1, sorted.
    fn border(&self, net: &impl Net, side: u32) -> Vec<u32> {
        let links = self.seen.iter().flat_map(|node| net.of(*node));
        let mut arcs: Vec<u32> = links
            .filter(|link| !self.inside[link.to as usize])
            .map(|link| link.arc ^ side)
            .filter(|arc| !self.shut[*arc as usize])
            .collect();
        arcs.sort_unstable();
        arcs
    }
}
