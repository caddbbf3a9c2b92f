//! Ways between the places of a job: what a trench costs there, and how long it is.
//!
//! Ways are straight between places and the corners of what stands in the way. Each place is joined to
//! those it sees, in every direction to the nearest few; over these parts the least costly ways are
//! found. A part costs what its ground costs, as spans of ground, and what its crossings cost.

use crate::GroupCosts;
use geo::{Coord, MultiPolygon, Polygon};
use ground::{Class, Ground, grow_line};
use job::{Job, ObstacleKind, Shape};
use routes::plane::Walls;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// Half the width that a wall drawn as a line has here, metres.
const WALL: f64 = 1e-3;

/// Directions in each of which a place is joined to the nearest that it sees.
const SECTORS: usize = 8;
/// To so many in each direction.
const IN_SECTOR: usize = 2;
/// And at most so many places are looked at for it.
const LOOKED_AT: usize = 64;

/// Ways between places: cost and length, row by row.
pub(crate) struct Apart {
    pub cost: Vec<f64>,
    pub length: Vec<f64>,
    /// Whether some places cannot be joined: straight lines then stand for ways.
    pub broken: bool,
}

/// The ways between all pairs of places.
pub(crate) fn apart(job: &Job, ground: &Ground, costs: &GroupCosts, places: &[Coord]) -> Apart {
    let walls = walls(job);
    let corners = walls.as_ref().map(Walls::corners).unwrap_or_default();
    let mut nodes = places.to_vec();
    nodes.extend(corners.iter().map(|c| c.at));
    let mut parts = Parts::new(ground, costs, walls.as_ref(), &nodes);
    parts.join(LOOKED_AT);
    let mut apart = parts.all(places.len());
    if apart.broken {
        parts.join(nodes.len());
        apart = parts.all(places.len());
    }
    apart
}

/// What no trench passes; nothing if a coordinate is no number, which a checked job does not have.
fn walls(job: &Job) -> Option<Walls> {
    let mut solid: Vec<Polygon> = Vec::new();
    for obstacle in &job.survey.obstacles {
        match (&obstacle.shape, obstacle.kind) {
            // A trench is dug under a fence.
            (_, ObstacleKind::Fence) => {}
            (Shape::Area(area), _) => solid.push(area.clone()),
            (Shape::Line(line), _) => {
                let MultiPolygon(band) = grow_line(line, WALL);
                solid.extend(band);
            }
        }
    }
    solid.extend(job.decisions.keep_outs.iter().map(|k| k.polygon.clone()));
    Walls::new(Some(&job.survey.boundary.polygon), &solid).ok()
}

/// Straight parts between places that see each other.
struct Parts<'a> {
    ground: &'a Ground,
    costs: &'a GroupCosts<'a>,
    walls: Option<&'a Walls>,
    nodes: &'a [Coord],
    /// For each node the other end, cost and length of its parts.
    beside: Vec<Vec<(u32, f64, f64)>>,
    known: BTreeMap<(u32, u32), bool>,
    unit: BTreeMap<Class, f64>,
}

impl<'a> Parts<'a> {
    fn new(
        ground: &'a Ground,
        costs: &'a GroupCosts<'a>,
        walls: Option<&'a Walls>,
        nodes: &'a [Coord],
    ) -> Self {
        Self {
            ground,
            costs,
            walls,
            nodes,
            beside: vec![Vec::new(); nodes.len()],
            known: BTreeMap::new(),
            unit: BTreeMap::new(),
        }
    }

    /// Joins each node to the nearest that it sees in each direction.
    fn join(&mut self, looked_at: usize) {
        for node in 0..self.nodes.len() as u32 {
            let here = self.nodes[node as usize];
            let mut others: Vec<(f64, u32)> = (0..self.nodes.len() as u32)
                .filter(|o| *o != node)
                .map(|o| (far(here, self.nodes[o as usize]), o))
                .collect();
            let most = looked_at.min(others.len());
            if most < others.len() {
                others.select_nth_unstable_by(most, by_distance);
                others.truncate(most);
            }
            others.sort_by(by_distance);
            let mut seen = [0; SECTORS];
            for (_, other) in others {
                let sector = sector(here, self.nodes[other as usize]);
                if seen[sector] < IN_SECTOR && self.sees(node, other) {
                    seen[sector] += 1;
                }
            }
        }
    }

    /// Whether two nodes see each other; they are then joined.
    fn sees(&mut self, a: u32, b: u32) -> bool {
        let pair = (a.min(b), a.max(b));
        if let Some(open) = self.known.get(&pair) {
            return *open;
        }
        let (from, to) = (self.nodes[pair.0 as usize], self.nodes[pair.1 as usize]);
        let open = self.walls.is_none_or(|w| w.is_open(from, to));
        self.known.insert(pair, open);
        if open {
            let (cost, length) = (self.price(from, to), far(from, to));
            self.beside[a as usize].push((b, cost, length));
            self.beside[b as usize].push((a, cost, length));
        }
        open
    }

    fn price(&mut self, a: Coord, b: Coord) -> f64 {
        let length = far(a, b);
        if length <= 0.0 {
            return 0.0;
        }
        let mut cost = self.ground.crossings(a, b).len() as f64 * self.costs.crossing;
        for span in self.ground.spans(a, b) {
            let middle = a + (b - a) * ((span.from + span.to) / 2.0);
            let (ground, trench) = (self.ground, self.costs.trench);
            let unit = *self
                .unit
                .entry(span.class.clone())
                .or_insert_with(|| trench(&ground.describe(&span.class, middle)));
            cost += unit * length * (span.to - span.from);
        }
        cost
    }

    /// The least costly ways between the first nodes.
    fn all(&self, places: usize) -> Apart {
        let mut apart = Apart {
            cost: vec![0.0; places * places],
            length: vec![0.0; places * places],
            broken: false,
        };
        for a in 0..places {
            let ways = self.from(a);
            for (b, way) in ways.iter().enumerate().take(places).skip(a + 1) {
                let (mut cost, mut length) = *way;
                if !cost.is_finite() {
                    apart.broken = true;
                    length = far(self.nodes[a], self.nodes[b]);
                    cost = length * self.dearest();
                }
                for at in [a * places + b, b * places + a] {
                    apart.cost[at] = cost;
                    apart.length[at] = length;
                }
            }
        }
        apart
    }

    /// A metre of the dearest ground met.
    fn dearest(&self) -> f64 {
        self.unit.values().copied().fold(0.0, f64::max)
    }

    /// Cost and length of the least costly way to every node.
    fn from(&self, start: usize) -> Vec<(f64, f64)> {
        let mut ways = vec![(f64::INFINITY, f64::INFINITY); self.nodes.len()];
        ways[start] = (0.0, 0.0);
        let mut heap = BinaryHeap::from([Reverse(Reached(0.0, start as u32))]);
        while let Some(Reverse(Reached(cost, node))) = heap.pop() {
            let (known, length) = ways[node as usize];
            if cost > known {
                continue;
            }
            for (next, price, further) in &self.beside[node as usize] {
                let sum = cost + price;
                if sum < ways[*next as usize].0 {
                    ways[*next as usize] = (sum, length + further);
                    heap.push(Reverse(Reached(sum, *next)));
                }
            }
        }
        ways
    }
}

/// A cost that can be ordered, with the node reached for it.
#[derive(PartialEq)]
struct Reached(f64, u32);

impl Eq for Reached {}

impl PartialOrd for Reached {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Reached {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0).then(self.1.cmp(&other.1))
    }
}

fn by_distance(a: &(f64, u32), b: &(f64, u32)) -> std::cmp::Ordering {
    a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))
}

fn far(a: Coord, b: Coord) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

fn sector(from: Coord, to: Coord) -> usize {
    let turn = (to.y - from.y).atan2(to.x - from.x) / std::f64::consts::TAU + 0.5;
    ((turn * SECTORS as f64) as usize).min(SECTORS - 1)
}
