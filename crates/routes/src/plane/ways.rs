//! Shortest ways around obstacles, many of them in one scene.

use super::Walls;
use super::exact::far;
use super::walls::Corner;
use geo::Coord;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Shortest ways around obstacles. Which corners see each other, and how far all are from each
/// other, is worked out once; a query then looks only at what its two ends see.
///
/// For `n` corners that can be turned round, the set-up looks at `n²/2` pairs and keeps `n²`
/// distances; a query looks at `n` lines from each end.
///
/// Source: a shortest way among polygons turns only at their corners and touches them there
/// (T. Lozano-Pérez and M. A. Wesley, Communications of the ACM 22 (1979), 560–570, from memory).
#[derive(Debug, Clone)]
pub struct Ways {
    walls: Walls,
    corners: Vec<Corner>,
    /// Distance from corner to corner, row by row; infinite if there is no way.
    apart: Vec<f64>,
    /// The corner before the second one on the way from the first.
    before: Vec<u32>,
}

/// A shortest way.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Its length, in the unit of the coordinates.
    pub length: f64,
    /// Its ends and the corners at which it turns.
    pub places: Vec<Coord>,
}

impl Ways {
    /// Looks at every pair of corners once.
    pub fn new(walls: Walls) -> Ways {
        let corners = walls.corners();
        let n = corners.len();
        let mut beside: Vec<Vec<(u32, f64)>> = vec![Vec::new(); n];
        for i in 0..n {
            for j in i + 1..n {
                let (a, b) = (corners[i], corners[j]);
                if a.is_passed_from(b.at) && b.is_passed_from(a.at) && walls.is_clear(a.at, b.at) {
                    let length = far(a.at, b.at);
                    beside[i].push((j as u32, length));
                    beside[j].push((i as u32, length));
                }
            }
        }
        let mut ways = Ways {
            walls,
            corners,
            apart: Vec::with_capacity(n * n),
            before: Vec::with_capacity(n * n),
        };
        for from in 0..n {
            let (apart, before) = distances(&beside, from);
            ways.apart.extend(apart);
            ways.before.extend(before);
        }
        ways
    }

    /// The obstacles.
    pub fn walls(&self) -> &Walls {
        &self.walls
    }

    /// The corners that a way may turn round.
    pub fn corners(&self) -> &[Corner] {
        &self.corners
    }

    /// Length of the shortest way between two places; `None` if there is none, as when one of them
    /// lies inside an obstacle.
    pub fn length(&self, a: Coord, b: Coord) -> Option<f64> {
        self.find(a, b).map(|found| found.0)
    }

    /// The shortest way between two places.
    pub fn way(&self, a: Coord, b: Coord) -> Option<Way> {
        let (length, turns) = self.find(a, b)?;
        let mut places = vec![b];
        if let Some((first, last)) = turns {
            let row = first as usize * self.corners.len();
            let mut here = last;
            places.push(self.corners[here as usize].at);
            while here != first {
                here = self.before[row + here as usize];
                places.push(self.corners[here as usize].at);
            }
        }
        places.push(a);
        places.dedup();
        places.reverse();
        Some(Way { length, places })
    }

    /// The length, and the first and last corner if the way is not straight.
    fn find(&self, a: Coord, b: Coord) -> Option<(f64, Option<(u32, u32)>)> {
        if !self.walls.holds(a) || !self.walls.holds(b) {
            return None;
        }
        if self.walls.is_clear(a, b) {
            return Some((far(a, b), None));
        }
        let (of_a, of_b) = (self.seen_from(a), self.seen_from(b));
        let mut best = f64::INFINITY;
        let mut turns = None;
        for (i, to_i) in &of_a {
            let row = &self.apart[*i as usize * self.corners.len()..];
            for (j, to_j) in &of_b {
                let length = to_i + row[*j as usize] + to_j;
                if length < best {
                    (best, turns) = (length, Some((*i, *j)));
                }
            }
        }
        turns.map(|turns| (best, Some(turns)))
    }

    fn seen_from(&self, place: Coord) -> Vec<(u32, f64)> {
        let corners = self.corners.iter().enumerate();
        corners
            .filter(|(_, c)| c.is_passed_from(place) && self.walls.is_clear(place, c.at))
            .map(|(i, c)| (i as u32, far(place, c.at)))
            .collect()
    }
}

/// Distances from one node of a graph to all, and the node before each.
fn distances(beside: &[Vec<(u32, f64)>], from: usize) -> (Vec<f64>, Vec<u32>) {
    let mut apart = vec![f64::INFINITY; beside.len()];
    let mut before = vec![from as u32; beside.len()];
    let mut heap = BinaryHeap::from([(Reverse(Far(0.0)), from as u32)]);
    apart[from] = 0.0;
    while let Some((Reverse(Far(so_far)), here)) = heap.pop() {
        if so_far > apart[here as usize] {
            continue;
        }
        for (next, length) in &beside[here as usize] {
            let further = so_far + length;
            if further < apart[*next as usize] {
                apart[*next as usize] = further;
                before[*next as usize] = here;
                heap.push((Reverse(Far(further)), *next));
            }
        }
    }
    (apart, before)
}

/// A length that can be ordered.
#[derive(PartialEq)]
pub(crate) struct Far(pub f64);

impl Eq for Far {}

impl PartialOrd for Far {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Far {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}
