//! A place on the property in local plane coordinates.

use geo::Coord;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A place in local plane coordinates, metres; x to the plan's right, y up. Serialised as `[x, y]`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(into = "[f64; 2]", from = "[f64; 2]")]
pub struct Place {
    /// Metres to the right.
    pub x: f64,
    /// Metres up.
    pub y: f64,
}

impl Place {
    /// A place at x and y, metres.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Metres to another place.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// The place a fraction `t` of the way to another.
    pub fn toward(self, other: Self, t: f64) -> Self {
        Self::new(
            self.x + (other.x - self.x) * t,
            self.y + (other.y - self.y) * t,
        )
    }
}

impl From<Place> for [f64; 2] {
    fn from(place: Place) -> Self {
        [place.x, place.y]
    }
}

impl From<[f64; 2]> for Place {
    fn from([x, y]: [f64; 2]) -> Self {
        Self { x, y }
    }
}

impl From<Coord> for Place {
    fn from(coord: Coord) -> Self {
        Self {
            x: coord.x,
            y: coord.y,
        }
    }
}

impl From<Place> for Coord {
    fn from(place: Place) -> Self {
        Self {
            x: place.x,
            y: place.y,
        }
    }
}
