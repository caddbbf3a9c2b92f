//! Open ground for the centre line of a trench.

use geo::algorithm::buffer::{BufferStyle, LineCap, LineJoin};
use geo::algorithm::line_intersection::{LineIntersection, line_intersection};
use geo::{
    Area, BooleanOps, Buffer, Coord, Intersects, Line, LineString, MultiPolygon, Orient, Point,
    Polygon, orient::Direction,
};
use rstar::{AABB, PointDistance, RTree, RTreeObject};

/// How far the rim that a trench must not cross lies behind the open ground's edge, in metres, so
/// that a trench along the edge does not cross it by rounding.
const RIM_SLACK: f64 = 1e-4;

/// Corners sharper than this many radians are cut off when an outline is grown.
const SHARPEST_MITRE: f64 = 0.5;

/// Ground in which the centre line of a trench may lie: polygons with holes.
#[derive(Debug, Clone)]
pub struct FreeGround {
    area: MultiPolygon,
    rim: RTree<RimEdge>,
}

#[derive(Debug, Clone, Copy)]
struct RimEdge(Line);

impl RTreeObject for RimEdge {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        let Line { start, end } = self.0;
        AABB::from_corners([start.x, start.y], [end.x, end.y])
    }
}

impl PointDistance for RimEdge {
    fn distance_2(&self, point: &[f64; 2]) -> f64 {
        let foot = foot_on(
            self.0,
            Coord {
                x: point[0],
                y: point[1],
            },
        );
        (foot.x - point[0]).powi(2) + (foot.y - point[1]).powi(2)
    }
}

impl FreeGround {
    /// What is left of an area when blocked polygons are taken out of it.
    pub fn new(area: &MultiPolygon, blocked: &MultiPolygon) -> Self {
        Self::with_slack(area, blocked, RIM_SLACK)
    }

    /// The same with a rim that lies `slack` metres behind the edge.
    pub fn with_slack(area: &MultiPolygon, blocked: &MultiPolygon, slack: f64) -> Self {
        let area = area.difference(blocked).orient(Direction::Default);
        let edges = area.iter().flat_map(|polygon| {
            std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .flat_map(|ring| {
                    pushed_out(ring, slack)
                        .lines()
                        .map(RimEdge)
                        .collect::<Vec<_>>()
                })
        });
        let rim = RTree::bulk_load(edges.collect());
        Self { area, rim }
    }

    /// The ground as polygons; outer rings run counter-clockwise, holes clockwise.
    pub fn area(&self) -> &MultiPolygon {
        &self.area
    }

    /// Whether a place lies in it or on its edge.
    pub fn holds(&self, place: Coord) -> bool {
        self.area.intersects(&Point::from(place))
    }

    /// Whether the straight line between two places of the ground stays in it.
    pub fn is_open(&self, a: Coord, b: Coord) -> bool {
        let line = Line::new(a, b);
        let envelope = AABB::from_corners([a.x, a.y], [b.x, b.y]);
        !self
            .rim
            .locate_in_envelope_intersecting(&envelope)
            .any(|edge| edge.0.intersects(&line))
    }

    /// Where the straight line between two places crosses the rim, as shares of it in ascending
    /// order; crossings a millimetre apart are one, as at a corner. The places may lie outside the
    /// ground: a line from a place outside to one in it crosses at least once.
    pub fn rim_crossings(&self, a: Coord, b: Coord) -> Vec<f64> {
        let line = Line::new(a, b);
        let envelope = AABB::from_corners([a.x, a.y], [b.x, b.y]);
        let mut shares: Vec<f64> = self
            .rim
            .locate_in_envelope_intersecting(&envelope)
            .filter_map(|edge| share_at(line, edge.0))
            .collect();
        shares.sort_by(f64::total_cmp);
        let length = distance(a, b);
        shares.dedup_by(|p, q| (*p - *q).abs() * length < 10.0 * RIM_SLACK);
        shares
    }

    /// How far along the straight line from `a` to `b` one gets before it leaves the ground, as a
    /// share of it; 1 if it does not leave it.
    pub fn open_share(&self, a: Coord, b: Coord) -> f64 {
        let line = Line::new(a, b);
        let envelope = AABB::from_corners([a.x, a.y], [b.x, b.y]);
        self.rim
            .locate_in_envelope_intersecting(&envelope)
            .filter_map(|edge| share_at(line, edge.0))
            .fold(1.0, f64::min)
    }

    /// The corners round which a shortest way can turn, in the order of the rings.
    pub fn turning_corners(&self) -> Vec<Coord> {
        let rings = self
            .area
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
        rings.flat_map(reflex_corners).collect()
    }

    /// The place of the ground nearest to one outside it, among those that are accepted.
    pub fn nearest(&self, place: Coord, accepts: impl Fn(Coord) -> bool) -> Option<Coord> {
        let edges = self.area.iter().flat_map(|polygon| {
            std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .flat_map(LineString::lines)
        });
        let mut feet: Vec<Coord> = edges.map(|edge| foot_on(edge, place)).collect();
        feet.sort_by(|a, b| distance(*a, place).total_cmp(&distance(*b, place)));
        feet.into_iter().find(|foot| accepts(*foot))
    }

    /// Which connected part of the ground a place lies in.
    pub fn part_of(&self, place: Coord) -> Option<usize> {
        let point = Point::from(place);
        self.area
            .iter()
            .position(|polygon| polygon.intersects(&point))
    }
}

/// An outline grown outward with square corners; negative distances shrink it.
pub fn grow(polygon: &Polygon, by: f64) -> MultiPolygon {
    if by.abs() < f64::EPSILON {
        return MultiPolygon::new(vec![polygon.clone()]);
    }
    let style = BufferStyle::new(by).line_join(LineJoin::Miter(SHARPEST_MITRE));
    polygon.buffer_with_style(style)
}

/// A line grown to a band that reaches `by` to each side and beyond its ends.
pub fn grow_line(line: &LineString, by: f64) -> MultiPolygon {
    let style = BufferStyle::new(by)
        .line_join(LineJoin::Miter(SHARPEST_MITRE))
        .line_cap(LineCap::Square);
    line.buffer_with_style(style)
}

/// A regular polygon around a circle, never inside it.
pub fn polygon_around(centre: Coord, radius: f64, sides: u32) -> Polygon {
    let step = std::f64::consts::TAU / f64::from(sides);
    let outer = radius / (step / 2.0).cos();
    let ring = (0..=sides).map(|i| {
        let angle = step * f64::from(i % sides);
        Coord {
            x: centre.x + outer * angle.cos(),
            y: centre.y + outer * angle.sin(),
        }
    });
    Polygon::new(LineString::from_iter(ring), Vec::new())
}

/// The ring moved to its right, away from the ground that lies to its left.
fn pushed_out(ring: &LineString, slack: f64) -> LineString {
    let n = ring.0.len().saturating_sub(1);
    let at = |i: usize| ring.0[i % n];
    let moved = (0..n).map(|i| {
        let (before, here, after) = (at(i + n - 1), at(i), at(i + 1));
        let (a, b) = (right_normal(before, here), right_normal(here, after));
        let dot = a.x * b.x + a.y * b.y;
        let scale = slack / (1.0 + dot).max(0.2);
        Coord {
            x: here.x + (a.x + b.x) * scale,
            y: here.y + (a.y + b.y) * scale,
        }
    });
    let mut ring: Vec<Coord> = moved.collect();
    ring.extend(ring.first().copied());
    LineString::new(ring)
}

fn right_normal(a: Coord, b: Coord) -> Coord {
    let length = distance(a, b).max(f64::MIN_POSITIVE);
    Coord {
        x: (b.y - a.y) / length,
        y: -(b.x - a.x) / length,
    }
}

/// Corners at which the ground to the left of the ring makes an angle beyond a straight one.
fn reflex_corners(ring: &LineString) -> Vec<Coord> {
    let n = ring.0.len().saturating_sub(1);
    let at = |i: usize| ring.0[i % n];
    (0..n)
        .filter(|i| {
            let (before, here, after) = (at(i + n - 1), at(*i), at(i + 1));
            let (u, v) = (here - before, after - here);
            u.x * v.y - u.y * v.x < -1e-9 * distance(before, here) * distance(here, after)
        })
        .map(at)
        .collect()
}

fn share_at(line: Line, edge: Line) -> Option<f64> {
    let hit = match line_intersection(line, edge)? {
        LineIntersection::SinglePoint { intersection, .. } => intersection,
        LineIntersection::Collinear { intersection } => intersection.start,
    };
    let length = distance(line.start, line.end);
    (length > 0.0).then(|| distance(line.start, hit) / length)
}

/// The place on a line nearest to another place.
pub(crate) fn foot_on(line: Line, place: Coord) -> Coord {
    let along = line.end - line.start;
    let length2 = along.x * along.x + along.y * along.y;
    if length2 <= 0.0 {
        return line.start;
    }
    let to = place - line.start;
    let t = ((to.x * along.x + to.y * along.y) / length2).clamp(0.0, 1.0);
    Coord {
        x: line.start.x + along.x * t,
        y: line.start.y + along.y * t,
    }
}

pub(crate) fn distance(a: Coord, b: Coord) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

/// Whether an area has a reasonable extent.
pub(crate) fn is_area(polygon: &Polygon) -> bool {
    polygon.unsigned_area() > 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Rect, coord};

    fn yard_with_house() -> FreeGround {
        let yard = Rect::new(coord! {x: 0., y: 0.}, coord! {x: 20., y: 20.}).to_polygon();
        let house = Rect::new(coord! {x: 8., y: 8.}, coord! {x: 12., y: 12.}).to_polygon();
        FreeGround::new(&MultiPolygon::new(vec![yard]), &grow(&house, 0.5))
    }

    #[test]
    fn a_trench_keeps_clear_of_the_house() {
        let free = yard_with_house();
        assert!(!free.is_open(coord! {x: 1., y: 10.}, coord! {x: 19., y: 10.}));
        assert!(free.is_open(coord! {x: 7.5, y: 1.}, coord! {x: 7.5, y: 19.}));
        assert!(!free.holds(coord! {x: 7.6, y: 10.}));
    }

    #[test]
    fn the_four_corners_of_the_grown_house_can_be_turned_round() {
        let corners = yard_with_house().turning_corners();
        assert_eq!(corners.len(), 4);
        assert!(
            corners
                .iter()
                .all(|c| (distance(*c, coord! {x: 10., y: 10.}) - 2.5 * 2f64.sqrt()).abs() < 1e-6)
        );
    }

    #[test]
    fn a_polygon_around_a_circle_contains_it() {
        let around = polygon_around(coord! {x: 0., y: 0.}, 2.0, 16);
        let nearest = around
            .exterior()
            .lines()
            .map(|l| distance(foot_on(l, coord! {x: 0., y: 0.}), coord! {x: 0., y: 0.}))
            .fold(f64::INFINITY, f64::min);
        assert!((nearest - 2.0).abs() < 1e-9);
    }
}
