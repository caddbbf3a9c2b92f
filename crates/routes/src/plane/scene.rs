//! Obstacles and grounds together: what a straight line costs.

use super::exact::far;
use super::grounds::{Grounds, Passage, Surface};
use super::{PlaneError, Walls, Ways};
use geo::{Coord, Polygon};

/// A plane with obstacles and with grounds that differ in cost.
#[derive(Debug, Clone)]
pub struct Plane {
    ways: Ways,
    grounds: Grounds,
}

impl Plane {
    /// Obstacles, surfaces (later ones on top) and the cost per unit of length elsewhere.
    ///
    /// # Errors
    ///
    /// If a coordinate or a cost is not finite, or a cost is negative.
    pub fn new(walls: Walls, surfaces: &[Surface], base: f64) -> Result<Plane, PlaneError> {
        let grounds = Grounds::new(surfaces, base)?;
        let ways = Ways::new(walls);
        Ok(Plane { ways, grounds })
    }

    /// The obstacles.
    pub fn walls(&self) -> &Walls {
        self.ways.walls()
    }

    /// The shortest ways around the obstacles.
    pub fn ways(&self) -> &Ways {
        &self.ways
    }

    /// Cost of the straight line between two places, integrated exactly over the grounds it crosses;
    /// infinite if an obstacle lies in the way. Where it follows a border (see
    /// [`AT_BORDER`](super::AT_BORDER)) it pays the cheaper side if that side is open: the least
    /// value that lines beside the border come as near to as one likes.
    pub fn cost(&self, a: Coord, b: Coord) -> f64 {
        if self.walls().is_open(a, b) {
            self.grounds.integral(a, b, self.walls())
        } else {
            f64::INFINITY
        }
    }

    /// The same if it is known that an end lies in no obstacle.
    pub(crate) fn cost_from(&self, a: Coord, b: Coord) -> f64 {
        if self.walls().is_clear(a, b) {
            self.grounds.integral(a, b, self.walls())
        } else {
            f64::INFINITY
        }
    }

    /// Cost per unit of length at a place.
    pub fn unit_at(&self, place: Coord) -> f64 {
        self.grounds.unit_at(place)
    }

    /// The least cost per unit of length anywhere.
    pub fn least_unit(&self) -> f64 {
        self.grounds.least()
    }

    /// Whether every open line costs the same per unit of length.
    pub fn is_uniform(&self) -> bool {
        self.grounds.is_uniform()
    }

    pub(crate) fn passages(&self, a: Coord, b: Coord) -> Vec<Passage> {
        if self.grounds.is_uniform() {
            return Vec::new();
        }
        self.grounds.passages(a, b)
    }

    pub(crate) fn borders(&self) -> impl Iterator<Item = (Coord, Coord)> + '_ {
        self.grounds.borders()
    }

    /// Cost of the straight line between two places or, if it is not open, of the shortest way around
    /// the obstacles; and where that way turns.
    pub(crate) fn route(&self, a: Coord, b: Coord) -> (f64, Vec<Coord>) {
        let straight = self.cost(a, b);
        if straight.is_finite() {
            return (straight, Vec::new());
        }
        let Some(way) = self.ways.way(a, b) else {
            return (straight, Vec::new());
        };
        let parts = way.places.windows(2);
        let cost = parts.map(|pair| self.cost_from(pair[0], pair[1])).sum();
        let last = way.places.len() - 1;
        (cost, way.places[1..last.max(1)].to_vec())
    }

    /// Cost of an open line per unit of its length.
    pub(crate) fn mean_unit(&self, a: Coord, b: Coord) -> f64 {
        let length = far(a, b);
        if length > 0.0 {
            self.grounds.integral(a, b, self.walls()) / length
        } else {
            self.unit_at(a)
        }
    }
}

/// Closed outline of places as a polygon without holes.
pub fn polygon(places: &[Coord]) -> Polygon {
    Polygon::new(places.to_vec().into(), Vec::new())
}
