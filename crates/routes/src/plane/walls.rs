//! Obstacles in the plane: what no line may enter, decided exactly.

use super::PlaneError;
use super::exact::{Frame, between, share, side};
use geo::{Coord, LineString, Polygon};
use rstar::{AABB, RTree, RTreeObject};
use std::cmp::Ordering;

/// This many sides of a ring are looked at together.
const RUN: usize = 8;
/// Seams shorter than this share of a line come from rounding.
const SEAM: f64 = 1e-12;

/// Obstacles, and perhaps a boundary around everything. Their interior is forbidden (the boundary's
/// exterior); their edges and corners may be touched and followed, except a seam where two of them
/// lie edge to edge. Places where two touch in a point may be passed.
///
/// Obstacles may overlap. All answers are exact for the coordinates as given: nothing is rounded.
#[derive(Debug, Clone)]
pub struct Walls {
    rings: Vec<Ring>,
    /// For each obstacle the rings it is made of; the boundary is one of them.
    blocks: Vec<Block>,
    runs: RTree<Run>,
}

/// A closed ring without repeated places; the forbidden ground lies to its left.
#[derive(Debug, Clone)]
struct Ring(Vec<Coord>);

#[derive(Debug, Clone)]
struct Block {
    rings: std::ops::Range<usize>,
    frame: Frame,
    /// Whether the ground outside its rings is forbidden.
    outside: bool,
}

#[derive(Debug, Clone)]
struct Run {
    ring: usize,
    sides: std::ops::Range<usize>,
    frame: Frame,
}

impl RTreeObject for Run {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        let Frame { low, high } = self.frame;
        AABB::from_corners([low.x, low.y], [high.x, high.y])
    }
}

/// A corner round which a shortest way can turn, and its neighbours on the outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// The corner.
    pub at: Coord,
    /// The place before it on its outline.
    pub before: Coord,
    /// The place after it.
    pub after: Coord,
}

impl Corner {
    /// Whether a line from a place to this corner may run on past it without entering its obstacle.
    pub(crate) fn is_passed_from(&self, from: Coord) -> bool {
        let before = side(from, self.at, self.before);
        let after = side(from, self.at, self.after);
        before == Ordering::Equal || after == Ordering::Equal || before == after
    }
}

impl Walls {
    /// The obstacles (which may have holes), and a boundary around the ground if there is one.
    ///
    /// # Errors
    ///
    /// If a coordinate is not finite. Rings of fewer than three different places, and of no area,
    /// are passed over.
    pub fn new(boundary: Option<&Polygon>, obstacles: &[Polygon]) -> Result<Walls, PlaneError> {
        let mut walls = Walls {
            rings: Vec::new(),
            blocks: Vec::new(),
            runs: RTree::new(),
        };
        for polygon in obstacles {
            walls.add(polygon, false)?;
        }
        if let Some(boundary) = boundary {
            walls.add(boundary, true)?;
        }
        let runs = walls.rings.iter().enumerate();
        walls.runs = RTree::bulk_load(runs.flat_map(|(i, ring)| ring.runs(i)).collect());
        Ok(walls)
    }

    fn add(&mut self, polygon: &Polygon, outside: bool) -> Result<(), PlaneError> {
        let first = self.rings.len();
        if let Some(ring) = Ring::new(polygon.exterior(), !outside)? {
            self.rings.push(ring);
            for hole in polygon.interiors() {
                self.rings.extend(Ring::new(hole, outside)?);
            }
        }
        let rings = first..self.rings.len();
        if !rings.is_empty() {
            let places = self.rings[rings.clone()].iter().flat_map(|ring| &ring.0);
            let frame = Frame::of(places.copied());
            self.blocks.push(Block {
                rings,
                frame,
                outside,
            });
        }
        Ok(())
    }

    /// Whether a place lies in no obstacle's interior and not beyond the boundary.
    pub fn holds(&self, place: Coord) -> bool {
        !self.blocks.iter().any(|block| {
            if !block.frame.holds(place) {
                return block.outside;
            }
            let rings = &self.rings[block.rings.clone()];
            match parity(rings.iter().map(|ring| ring.0.as_slice()), place) {
                Some(inside) => inside != block.outside,
                None => false,
            }
        })
    }

    /// Whether the straight line between two places enters no obstacle and follows no seam. A line
    /// without length is open if its place is.
    pub fn is_open(&self, a: Coord, b: Coord) -> bool {
        self.holds(a) && self.is_clear(a, b)
    }

    /// The same if it is known that one of the places is held.
    pub(crate) fn is_clear(&self, a: Coord, b: Coord) -> bool {
        if a == b {
            return true;
        }
        let mut seams = Vec::new();
        let envelope = AABB::from_corners([a.x, a.y], [b.x, b.y]);
        let mut runs = self.runs.locate_in_envelope_intersecting(&envelope);
        let barred = runs.any(|run| {
            !run.is_beside(a, b) && self.rings[run.ring].bars(&run.sides, a, b, &mut seams)
        });
        !barred && !follows_seam(&seams)
    }

    /// The corners round which a shortest way can turn, in the order of the outlines.
    pub fn corners(&self) -> Vec<Corner> {
        let mut corners = Vec::new();
        for Ring(ring) in &self.rings {
            for i in 0..ring.len() {
                let (before, at, after) = around(ring, i);
                if side(before, at, after) == Ordering::Greater && self.holds(at) {
                    corners.push(Corner { at, before, after });
                }
            }
        }
        corners
    }
}

impl Ring {
    /// The ring run through so that its inside lies to the left (`left`) or to the right.
    fn new(line: &LineString, left: bool) -> Result<Option<Ring>, PlaneError> {
        let places = line.0.iter();
        if !places.clone().all(|c| (c.x.abs() + c.y.abs()).is_finite()) {
            return Err(PlaneError::NotFinite);
        }
        let mut ring: Vec<Coord> = places.copied().collect();
        ring.dedup();
        while ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
        let area = twice_area(&ring);
        if ring.len() < 3 || area.abs() <= 0.0 {
            return Ok(None);
        }
        if (area > 0.0) != left {
            ring.reverse();
        }
        Ok(Some(Ring(ring)))
    }

    fn runs(&self, ring: usize) -> impl Iterator<Item = Run> + '_ {
        let n = self.0.len();
        (0..n).step_by(RUN).map(move |from| {
            let sides = from..(from + RUN).min(n);
            let frame = Frame::of((from..=sides.end).map(|i| self.0[i % n]));
            Run { ring, sides, frame }
        })
    }

    /// Whether a line enters the forbidden ground at one of these sides or their first corners.
    /// Collinear sides are noted with the part of the line beside them.
    fn bars(
        &self,
        sides: &std::ops::Range<usize>,
        a: Coord,
        b: Coord,
        seams: &mut Vec<(f64, f64, bool)>,
    ) -> bool {
        let n = self.0.len();
        let mut of_this = side(a, b, self.0[sides.start]);
        for i in sides.clone() {
            let (u, v) = (self.0[i], self.0[(i + 1) % n]);
            let of_next = side(a, b, v);
            let barred = match (of_this, of_next) {
                (Ordering::Equal, Ordering::Equal) => {
                    seams.extend(beside(a, b, u, v));
                    self.corner_bars(i, a, b)
                }
                (Ordering::Equal, _) => self.corner_bars(i, a, b),
                (_, Ordering::Equal) => false,
                (this, next) => this != next && side_bars(u, v, a, b),
            };
            if barred {
                return true;
            }
            of_this = of_next;
        }
        false
    }

    /// Whether a line through a corner on its way runs into the forbidden wedge there.
    fn corner_bars(&self, i: usize, a: Coord, b: Coord) -> bool {
        let (before, at, after) = around(&self.0, i);
        between(a, b, at)
            && ((at != b && in_wedge(before, at, after, b))
                || (at != a && in_wedge(before, at, after, a)))
    }
}

impl Run {
    /// Whether all of it lies clearly to one side of the line.
    fn is_beside(&self, a: Coord, b: Coord) -> bool {
        let Frame { low, high } = self.frame;
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let left = |x: f64, y: f64| dx * (y - a.y) - dy * (x - a.x);
        let corners = [
            left(low.x, low.y),
            left(high.x, low.y),
            left(low.x, high.y),
            left(high.x, high.y),
        ];
        let reach = [low.x, low.y, high.x, high.y, a.x, a.y]
            .iter()
            .fold(0.0_f64, |most, value| most.max(value.abs()));
        let margin = 1e-12 * reach * (dx.abs() + dy.abs());
        corners.iter().all(|c| *c > margin) || corners.iter().all(|c| *c < -margin)
    }
}

/// The side `u`–`v` has its ends strictly on both sides of the line through `a` and `b`.
fn side_bars(u: Coord, v: Coord, a: Coord, b: Coord) -> bool {
    use Ordering::{Equal, Greater};
    match (side(u, v, a), side(u, v, b)) {
        // An end on the side: the line leaves it into the forbidden ground or not.
        (Equal, other) | (other, Equal) => other == Greater,
        (of_a, of_b) => of_a != of_b,
    }
}

/// Whether the way from a corner towards `to` lies inside the forbidden wedge to the left of the ring.
fn in_wedge(before: Coord, at: Coord, after: Coord, to: Coord) -> bool {
    let left_in = side(before, at, to) == Ordering::Greater;
    let left_out = side(at, after, to) == Ordering::Greater;
    if side(before, at, after) == Ordering::Greater {
        left_in && left_out
    } else {
        left_in || left_out
    }
}

/// The part of the line from `a` to `b` that lies on a side of the same line, and whether the
/// forbidden ground is to its left.
fn beside(a: Coord, b: Coord, u: Coord, v: Coord) -> Option<(f64, f64, bool)> {
    let (from, to) = (share(a, b, u), share(a, b, v));
    let (low, high) = (from.min(to).max(0.0), from.max(to).min(1.0));
    (low < high).then_some((low, high, from < to))
}

/// Whether forbidden ground lies on both sides of some part.
fn follows_seam(parts: &[(f64, f64, bool)]) -> bool {
    parts.iter().enumerate().any(|(i, (low, high, left))| {
        parts[i + 1..]
            .iter()
            .any(|(l, h, other)| other != left && high.min(*h) - low.max(*l) > SEAM)
    })
}

fn around(ring: &[Coord], i: usize) -> (Coord, Coord, Coord) {
    let n = ring.len();
    (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n])
}

fn twice_area(ring: &[Coord]) -> f64 {
    let n = ring.len();
    let origin = ring.first().copied().unwrap_or_default();
    let part = |i: usize| {
        let (p, q) = (ring[i] - origin, ring[(i + 1) % n] - origin);
        p.x * q.y - p.y * q.x
    };
    (0..n).map(part).sum()
}

/// Whether a place lies inside rings by even-odd counting; nothing if it lies on one of them.
pub(crate) fn parity<'r>(rings: impl Iterator<Item = &'r [Coord]>, p: Coord) -> Option<bool> {
    let mut inside = false;
    for ring in rings {
        for i in 0..ring.len() {
            let (u, v) = (ring[i], ring[(i + 1) % ring.len()]);
            if u.y.min(v.y) > p.y || u.y.max(v.y) < p.y || u.x.max(v.x) < p.x {
                continue;
            }
            let of_p = side(u, v, p);
            if of_p == Ordering::Equal && between(u, v, p) {
                return None;
            }
            if (u.y > p.y) != (v.y > p.y) && (of_p == Ordering::Greater) == (v.y > u.y) {
                inside = !inside;
            }
        }
    }
    Some(inside)
}
