//! Ground as polygons that straight ways are held against.

use crate::Regions;
use crate::free::distance;
use crate::rim::Rim;
use geo::{Coord, Line, LinesIter, MultiPolygon};

/// Polygons, each with its position as its index.
#[derive(Debug, Clone)]
pub(crate) struct Area {
    regions: Regions,
    rim: Rim,
}

impl Area {
    pub fn new(polygons: MultiPolygon) -> Self {
        let numbered: Vec<_> = (0u32..).zip(polygons).collect();
        let edges = numbered.iter().flat_map(|(i, polygon)| {
            let i = *i;
            polygon.lines_iter().map(move |line| (line, i))
        });
        let rim = Rim::new(edges.collect());
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
        let way = Line::new(from, from + heading * most);
        self.rim.first(way).unwrap_or(most)
    }

    /// Whether the straight line between two places inside stays inside.
    pub fn sees(&self, a: Coord, b: Coord) -> bool {
        let length = distance(a, b);
        length <= 0.0 || self.exit(a, (b - a) / length, length) >= length
    }

    /// The polygons that a straight line touches, those near its start first; one may come again.
    pub fn touched(&self, from: Coord, to: Coord) -> impl Iterator<Item = u32> + '_ {
        let crossed = self.rim.crossed(Line::new(from, to));
        self.at(from).into_iter().chain(crossed)
    }
}
