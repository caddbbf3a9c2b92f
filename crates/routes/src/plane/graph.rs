//! The graph of candidate places and straight parts in which trees are looked for.

use super::exact::far;
use super::net::Net;
use super::walls::Corner;
use super::{Hold, Plane};
use geo::Coord;
use std::collections::BTreeMap;
use steiner::{Edge, Group, Problem};

/// Candidate places, terminals first, and the cost of straight parts between them.
#[derive(Debug, Clone)]
pub(crate) struct Graph<'p> {
    pub plane: &'p Plane,
    pub terminals: usize,
    pub at: Vec<Coord>,
    pub hold: Vec<Hold>,
    /// The obstacle's corner that a place is, if it is one and no terminal.
    corner: Vec<Option<Corner>>,
    pub edges: BTreeMap<(u32, u32), f64>,
    /// Cost of the straight line from each place to each terminal.
    table: Vec<Vec<f64>>,
    /// The same, cheapest first, with the terminal.
    near: Vec<Vec<(f64, u32)>>,
    known: BTreeMap<(u64, u64), u32>,
}

impl<'p> Graph<'p> {
    pub fn new(plane: &'p Plane, terminals: &[Coord]) -> Graph<'p> {
        let mut graph = Graph {
            plane,
            terminals: terminals.len(),
            at: Vec::new(),
            hold: Vec::new(),
            corner: Vec::new(),
            edges: BTreeMap::new(),
            table: Vec::new(),
            near: Vec::new(),
            known: BTreeMap::new(),
        };
        graph.at.extend_from_slice(terminals);
        for place in terminals {
            graph.hold.push(Hold::Fixed);
            graph.corner.push(None);
            graph.measure(*place);
        }
        for (number, place) in terminals.iter().enumerate() {
            graph.known.entry(key(*place)).or_insert(number as u32);
        }
        graph
    }

    /// Notes what a place costs from the terminals.
    fn measure(&mut self, place: Coord) {
        let terminals = &self.at[..self.terminals];
        let costs = terminals.iter().map(|t| self.plane.cost_from(place, *t));
        let row: Vec<f64> = costs.collect();
        let mut near: Vec<(f64, u32)> = row.iter().copied().zip(0..).collect();
        near.retain(|(cost, _)| cost.is_finite());
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        self.table.push(row);
        self.near.push(near);
    }

    /// The number of a place that is held by no obstacle; a new one if it is not there yet.
    pub fn place(&mut self, at: Coord, hold: Hold) -> u32 {
        if let Some(number) = self.known.get(&key(at)) {
            return *number;
        }
        let number = self.at.len() as u32;
        self.known.insert(key(at), number);
        self.at.push(at);
        self.hold.push(hold);
        self.corner.push(None);
        self.measure(at);
        number
    }

    /// The number of an obstacle's corner.
    pub fn place_corner(&mut self, corner: Corner) -> u32 {
        let number = self.place(corner.at, Hold::Fixed);
        if number as usize >= self.terminals {
            self.corner[number as usize] = Some(corner);
        }
        number
    }

    /// How many places there are.
    pub fn count(&self) -> usize {
        self.at.len()
    }

    /// Forgets the places after the first `count`; no edges must lead to them.
    pub fn shorten(&mut self, count: usize) {
        for at in self.at.drain(count..) {
            self.known.remove(&key(at));
        }
        self.hold.truncate(count);
        self.corner.truncate(count);
        self.table.truncate(count);
        self.near.truncate(count);
    }

    /// Whether a tree with a part of this cost between two places can be made cheaper: some terminal
    /// is nearer to both than they are to each other. (Without the part the tree falls in two, and
    /// the terminal joins them again for less.)
    pub fn is_needless(&self, a: u32, b: u32, cost: f64) -> bool {
        let row = &self.table[b as usize];
        let closer = self.near[a as usize].iter();
        closer
            .take_while(|(to_a, _)| *to_a < cost)
            .any(|(_, terminal)| row[*terminal as usize] < cost)
    }

    /// Whether a straight part from a place may end at another and be of use: a shortest way touches an
    /// obstacle's corner and runs on past it.
    pub fn touches(&self, from: Coord, to: u32) -> bool {
        self.corner[to as usize].is_none_or(|corner| corner.is_passed_from(from))
    }

    /// Adds the straight part between two places if it is open and can be of use.
    pub fn join(&mut self, a: u32, b: u32) {
        let (at_a, at_b) = (self.at[a as usize], self.at[b as usize]);
        let least = self.plane.least_unit() * far(at_a, at_b);
        if a == b
            || !self.touches(at_a, b)
            || !self.touches(at_b, a)
            || self.is_needless(a, b, least)
        {
            return;
        }
        let cost = self.plane.cost_from(at_a, at_b);
        if cost.is_finite() && !self.is_needless(a, b, cost) {
            self.insert(a, b, cost);
        }
    }

    /// Adds a part of known cost.
    pub fn insert(&mut self, a: u32, b: u32, cost: f64) {
        if a != b {
            self.edges.insert((a.min(b), a.max(b)), cost);
        }
    }

    /// Adds a part whatever its use, if it is open.
    pub fn force(&mut self, a: u32, b: u32) {
        let (at_a, at_b) = (self.at[a as usize], self.at[b as usize]);
        let cost = self.plane.cost_from(at_a, at_b);
        if cost.is_finite() {
            self.insert(a, b, cost);
        }
    }

    /// Adds the parts of a tree; gives the number of each of its places.
    pub fn take(&mut self, net: &Net) -> Vec<u32> {
        let places = net.at.iter().zip(&net.hold).enumerate();
        let numbers: Vec<u32> = places
            .map(|(i, (at, hold))| {
                if i < self.terminals {
                    i as u32
                } else {
                    self.place(*at, *hold)
                }
            })
            .collect();
        for (a, b) in net.parts() {
            self.force(numbers[a], numbers[b]);
        }
        numbers
    }

    /// The problem for the tree search; costs are changed by `vary`, which gets the edge's number.
    pub fn problem(&self, vary: &mut dyn FnMut(f64) -> f64) -> Option<Problem> {
        let edge = |((a, b), cost): (&(u32, u32), &f64)| Edge {
            a: *a,
            b: *b,
            shared: vary(*cost),
            length: 0.0,
        };
        let edges = self.edges.iter().map(edge).collect();
        let group = Group {
            terminals: (0..self.terminals as u32).collect(),
            rate: 0.0,
        };
        Problem::new(self.at.len(), edges, vec![group]).ok()
    }

    /// The edges of a tree that was taken in.
    pub fn edges_of(&self, net: &Net, numbers: &[u32]) -> Vec<u32> {
        let mut wanted: Vec<(u32, u32)> = net
            .parts()
            .iter()
            .map(|(a, b)| (numbers[*a], numbers[*b]))
            .map(|(a, b)| (a.min(b), a.max(b)))
            .collect();
        wanted.sort_unstable();
        let mut found = Vec::new();
        let mut wanted = wanted.iter().peekable();
        for (number, ends) in self.edges.keys().enumerate() {
            while wanted.next_if(|w| *w < ends).is_some() {}
            if wanted.next_if(|w| *w == ends).is_some() {
                found.push(number as u32);
            }
        }
        found
    }

    /// A tree of edges as a network.
    pub fn net(&self, tree: &[u32]) -> Net {
        let mut net = Net::new(&self.at[..self.terminals]);
        let mut numbers: BTreeMap<u32, usize> = BTreeMap::new();
        let ends: Vec<(u32, u32)> = self.edges.keys().copied().collect();
        for edge in tree {
            let (a, b) = ends[*edge as usize];
            let [a, b] = [a, b].map(|p| {
                if (p as usize) < self.terminals {
                    return p as usize;
                }
                let at = p as usize;
                let new = || net.add(self.at[at], self.hold[at]);
                *numbers.entry(p).or_insert_with(new)
            });
            net.link(a, b);
        }
        net
    }
}

fn key(at: Coord) -> (u64, u64) {
    // Adding zero makes both zeros one.
    ((at.x + 0.0).to_bits(), (at.y + 0.0).to_bits())
}
