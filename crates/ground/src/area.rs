//! Ground as polygons that straight ways are held against.

use crate::Regions;
use crate::free::distance;
use crate::solids::{Edge, edge, line};
use geo::algorithm::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Line, LinesIter, MultiPolygon};
use rstar::{AABB, RTree, primitives::GeomWithData};

/// A way is looked at in pieces of this many metres, so that a long one does not touch all edges.
const PIECE: f64 = 4.0;

/// Polygons, each with its position as its index.
#[derive(Debug, Clone)]
pub(crate) struct Area {
    regions: Regions,
    rim: RTree<GeomWithData<Edge, u32>>,
}

impl Area {
    pub fn new(polygons: MultiPolygon) -> Self {
        let numbered: Vec<_> = (0u32..).zip(polygons).collect();
        let edges = numbered.iter().flat_map(|(i, polygon)| {
            let i = *i;
            polygon
                .lines_iter()
                .map(move |line| GeomWithData::new(edge(line), i))
        });
        let rim = RTree::bulk_load(edges.collect());
        Self {
            regions: Regions::new(numbered),
            rim,
        }
    }

    pub fn regions(&self) -> &Regions {
        &self.regions
    }

    pub fn len(&self) -> usize {
        self.regions.polygons().len()
    }

    /// The polygon that a place lies in, edges not counted.
    pub fn at(&self, place: Coord) -> Option<u32> {
        self.regions.at(place)
    }

    /// How far one gets from a place inside in a direction (a unit vector) before the rim is met, in
    /// metres, and at most so far.
    pub fn exit(&self, from: Coord, heading: Coord, most: f64) -> f64 {
        let mut done = 0.0;
        while done < most {
            let next = (done + PIECE).min(most);
            let piece = Line::new(from + heading * done, from + heading * next);
            let first = self
                .crossings(piece)
                .map(|(at, _)| distance(piece.start, at))
                .fold(f64::INFINITY, f64::min);
            if first.is_finite() {
                return done + first;
            }
            done = next;
        }
        most
    }

    /// Whether the straight line between two places inside stays inside.
    pub fn sees(&self, a: Coord, b: Coord) -> bool {
        let length = distance(a, b);
        length <= 0.0 || self.exit(a, (b - a) / length, length) >= length
    }

    /// The polygons that a straight line touches, nearest first in steps of a few metres.
    pub fn touched(&self, from: Coord, to: Coord) -> impl Iterator<Item = u32> + '_ {
        let length = distance(from, to);
        let pieces = (length / PIECE).ceil().max(1.0) as u32;
        let at = move |i: u32| from + (to - from) * (f64::from(i) / f64::from(pieces));
        let crossed = (0..pieces).flat_map(move |i| {
            self.crossings(Line::new(at(i), at(i + 1)))
                .map(|(_, polygon)| polygon)
        });
        self.at(from).into_iter().chain(crossed)
    }

    fn crossings(&self, piece: Line) -> impl Iterator<Item = (Coord, u32)> + '_ {
        let (a, b) = (piece.start, piece.end);
        let envelope = AABB::from_corners([a.x, a.y], [b.x, b.y]);
        self.rim
            .locate_in_envelope_intersecting(&envelope)
            .filter_map(move |found| {
                let at = match line_intersection(piece, line(found.geom()))? {
                    LineIntersection::SinglePoint { intersection, .. } => intersection,
                    LineIntersection::Collinear { intersection } => intersection.start,
                };
                Some((at, found.data))
            })
    }
}
