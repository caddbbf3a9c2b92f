//! The graph while it is being reduced, and the way back to the edges of the problem.

use crate::instance::Instance;

/// An edge of the graph as it stands.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    pub ends: [u32; 2],
    pub cost: f64,
    pub alive: bool,
}

/// What an edge is made of.
#[derive(Clone, Copy, Debug)]
enum Part {
    /// An edge of the problem.
    Whole(u32),
    /// Two edges of this graph, one after the other.
    Two(u32, u32),
}

/// A graph with terminals that can be cut down. A tree of it, together with the edges `kept`, is
/// a tree of the problem; it costs `offset` more there.
#[derive(Clone, Debug)]
pub(crate) struct Graph {
    pub lines: Vec<Line>,
    parts: Vec<Part>,
    /// Edges alive at each node.
    pub near: Vec<Vec<u32>>,
    pub terminal: Vec<bool>,
    pub terminals: usize,
    pub kept: Vec<u32>,
    pub offset: f64,
}

impl Graph {
    /// The open edges of the only group, without loops, and of parallel edges only the cheapest.
    pub fn new(inst: &Instance) -> Graph {
        let mut graph = Graph {
            lines: Vec::with_capacity(inst.edges()),
            parts: Vec::with_capacity(inst.edges()),
            near: vec![Vec::new(); inst.nodes()],
            terminal: vec![false; inst.nodes()],
            terminals: inst.terminals[0].len(),
            kept: Vec::new(),
            offset: 0.0,
        };
        for node in &inst.terminals[0] {
            graph.terminal[*node as usize] = true;
        }
        let mut open: Vec<(u32, u32, f64, u32)> = (0..inst.edges() as u32)
            .filter(|edge| inst.open(0, *edge))
            .map(|edge| {
                let (a, b) = inst.ends(edge);
                let cost = inst.own(0, edge) + inst.shared[edge as usize];
                (a.min(b), a.max(b), cost, edge)
            })
            .filter(|(a, b, ..)| a != b)
            .collect();
        open.sort_unstable_by(|a, b| {
            (a.0, a.1)
                .cmp(&(b.0, b.1))
                .then(a.2.total_cmp(&b.2))
                .then(a.3.cmp(&b.3))
        });
        open.dedup_by_key(|(a, b, ..)| (*a, *b));
        for (a, b, cost, edge) in open {
            graph.push(a, b, cost, Part::Whole(edge));
        }
        graph
    }

    fn push(&mut self, a: u32, b: u32, cost: f64, part: Part) -> u32 {
        let id = self.lines.len() as u32;
        self.lines.push(Line {
            ends: [a, b],
            cost,
            alive: true,
        });
        self.parts.push(part);
        self.near[a as usize].push(id);
        self.near[b as usize].push(id);
        id
    }

    pub fn degree(&self, node: u32) -> usize {
        self.near[node as usize].len()
    }

    pub fn cost(&self, line: u32) -> f64 {
        self.lines[line as usize].cost
    }

    pub fn other(&self, line: u32, node: u32) -> u32 {
        let [a, b] = self.lines[line as usize].ends;
        if a == node { b } else { a }
    }

    /// The edge between two nodes, if there is one.
    pub fn between(&self, a: u32, b: u32) -> Option<u32> {
        let (from, to) = if self.degree(a) <= self.degree(b) {
            (a, b)
        } else {
            (b, a)
        };
        let list = self.near[from as usize].iter();
        list.copied().find(|line| self.other(*line, from) == to)
    }

    pub fn remove(&mut self, line: u32) {
        let entry = &mut self.lines[line as usize];
        if !std::mem::take(&mut entry.alive) {
            return;
        }
        for node in entry.ends {
            self.near[node as usize].retain(|other| *other != line);
        }
    }

    pub fn remove_node(&mut self, node: u32) {
        for line in std::mem::take(&mut self.near[node as usize]) {
            self.remove(line);
        }
    }

    /// An edge in place of two that meet at a node, unless there is one as cheap already.
    pub fn join(&mut self, one: u32, two: u32, a: u32, b: u32) {
        let cost = self.cost(one) + self.cost(two);
        match self.between(a, b) {
            Some(line) if self.cost(line) <= cost => return,
            Some(line) => self.remove(line),
            None => {}
        }
        if a != b {
            self.push(a, b, cost, Part::Two(one, two));
        }
    }

    /// Takes an edge into every tree, and its two ends together as one terminal, the first of the
    /// given node and the other end.
    pub fn contract(&mut self, line: u32, into: u32) {
        let from = self.other(line, into);
        self.kept.push(line);
        self.offset += self.cost(line);
        self.remove(line);
        for moved in std::mem::take(&mut self.near[from as usize]) {
            let to = self.other(moved, from);
            let cost = self.cost(moved);
            match self.between(into, to) {
                Some(known) if self.cost(known) <= cost => {
                    self.lines[moved as usize].alive = false;
                    self.near[to as usize].retain(|other| *other != moved);
                    continue;
                }
                Some(known) => self.remove(known),
                None => {}
            }
            self.lines[moved as usize].ends = [into, to];
            self.near[into as usize].push(moved);
        }
        let both = self.terminal[from as usize] && self.terminal[into as usize];
        self.terminals -= usize::from(both);
        self.terminal[from as usize] = false;
        self.terminal[into as usize] = true;
    }

    /// The edges of the problem in a tree of this graph, with those in every tree; sorted.
    pub fn unfold(&self, tree: &[u32]) -> Vec<u32> {
        let mut edges = Vec::new();
        let mut open: Vec<u32> = tree.iter().chain(&self.kept).copied().collect();
        while let Some(line) = open.pop() {
            match self.parts[line as usize] {
                Part::Whole(edge) => edges.push(edge),
                Part::Two(one, two) => open.extend([one, two]),
            }
        }
        edges.sort_unstable();
        edges.dedup();
        edges
    }

    /// Whether all edges of the problem in an edge are among the given sorted ones.
    pub fn within(&self, line: u32, edges: &[u32]) -> bool {
        match self.parts[line as usize] {
            Part::Whole(edge) => edges.binary_search(&edge).is_ok(),
            Part::Two(one, two) => self.within(one, edges) && self.within(two, edges),
        }
    }

    /// Edges alive.
    pub fn alive(&self) -> impl Iterator<Item = u32> + '_ {
        (0..self.lines.len() as u32).filter(|line| self.lines[*line as usize].alive)
    }
}
