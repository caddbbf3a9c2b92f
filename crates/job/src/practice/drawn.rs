//! What newly drawn features begin with.

use crate::Sourced;
use quantity::{Flow, Length, Pressure, Ratio};
use serde::Deserialize;

/// What a newly drawn feature begins with, until it is told otherwise. What has to be measured on site is not among
/// it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drawn {
    /// Flow of a head or drip area.
    pub flow: Sourced<Flow>,
    /// Pressure that it needs.
    pub pressure: Sourced<Pressure>,
    /// Clear width of a gate.
    pub clear_width: Sourced<Length>,
    /// Diameter of a tree's trunk.
    pub trunk: Sourced<Length>,
    /// Slope of a steep place.
    pub slope: Sourced<Ratio>,
    /// Share of stones in the soil.
    pub coarse: Sourced<Ratio>,
    /// Inside diameter of a sleeve that is there.
    pub inside: Sourced<Length>,
    /// What a trench in a corridor is taken to cost less.
    pub favour: Sourced<Ratio>,
}
