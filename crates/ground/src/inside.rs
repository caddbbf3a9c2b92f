//! Which places lie inside a polygon, answered without looking at every corner.

use geo::indexed::IntervalTreeMultiPolygon;
use geo::{Contains, Coord, MultiPolygon, Orient, orient::Direction};
use std::fmt;
use std::sync::Arc;

/// The inside of polygons; built once, asked many times. Clones share it.
#[derive(Clone)]
pub(crate) struct Inside(Arc<IntervalTreeMultiPolygon<f64>>);

impl Inside {
    pub fn new(area: &MultiPolygon) -> Self {
        // The index counts windings: holes have to run against their outer ring.
        let area = area.orient(Direction::Default);
        Self(Arc::new(IntervalTreeMultiPolygon::new(&area)))
    }

    /// Whether a place lies inside, edges not counted.
    pub fn holds(&self, place: Coord) -> bool {
        self.0.contains(&place)
    }
}

impl fmt::Debug for Inside {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Inside")
    }
}
