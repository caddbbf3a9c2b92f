//! Polygons that carry an index, and which of them a place lies in.

use crate::inside::Inside;
use geo::{BooleanOps, BoundingRect, Coord, LinesIter, MultiPolygon, Polygon};
use rstar::{AABB, RTree, primitives::GeomWithData, primitives::Rectangle};

/// Polygons with an index each; where polygons overlap, the later one counts.
#[derive(Debug, Clone)]
pub struct Regions {
    polygons: Vec<(u32, Polygon)>,
    insides: Vec<Inside>,
    boxes: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
}

impl Regions {
    /// Regions from polygons with their index, in the order in which they lie on each other.
    pub fn new(polygons: Vec<(u32, Polygon)>) -> Self {
        let boxes = polygons
            .iter()
            .enumerate()
            .filter_map(|(i, (_, polygon))| {
                let bounds = polygon.bounding_rect()?;
                let (low, high) = (bounds.min(), bounds.max());
                let rectangle = Rectangle::from_corners([low.x, low.y], [high.x, high.y]);
                Some(GeomWithData::new(rectangle, i))
            })
            .collect();
        let insides = polygons
            .iter()
            .map(|(_, polygon)| Inside::new(&MultiPolygon::new(vec![polygon.clone()])))
            .collect();
        Self {
            polygons,
            insides,
            boxes: RTree::bulk_load(boxes),
        }
    }

    /// Regions in which a polygon covers those before it: each keeps only what is seen of it.
    pub fn layered(polygons: Vec<(u32, Polygon)>) -> Self {
        let mut seen: Vec<(u32, Polygon)> = Vec::new();
        let mut above = MultiPolygon::new(Vec::new());
        for (index, polygon) in polygons.into_iter().rev() {
            let left = polygon.difference(&above);
            above = above.union(&polygon);
            seen.extend(left.0.into_iter().map(|part| (index, part)));
        }
        seen.reverse();
        Self::new(seen)
    }

    /// The polygons with their index.
    pub fn polygons(&self) -> &[(u32, Polygon)] {
        &self.polygons
    }

    /// The index of the topmost polygon that a place lies in.
    pub fn at(&self, place: Coord) -> Option<u32> {
        self.hits(place).max().map(|i| self.polygons[i].0)
    }

    /// The position in [`Self::polygons`] of the topmost polygon that a place lies in.
    pub fn position_at(&self, place: Coord) -> Option<usize> {
        self.hits(place).max()
    }

    /// The indices of all polygons that a place lies in, ascending.
    pub fn all_at(&self, place: Coord) -> Vec<u32> {
        let mut found: Vec<u32> = self.hits(place).map(|i| self.polygons[i].0).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    fn hits(&self, place: Coord) -> impl Iterator<Item = usize> + '_ {
        let envelope = AABB::from_point([place.x, place.y]);
        self.boxes
            .locate_in_envelope_intersecting(&envelope)
            .map(|found| found.data)
            .filter(move |i| self.insides[*i].holds(place))
    }

    /// All edges of all polygons.
    pub fn edges(&self) -> impl Iterator<Item = geo::Line> + '_ {
        self.polygons
            .iter()
            .flat_map(|(_, polygon)| polygon.lines_iter())
    }
}
