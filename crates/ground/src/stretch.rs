//! What the ground is like at a stretch, in the words of the job.

use crate::gaps::Pinch;
use crate::room::Lack;
use job::{MethodId, Soil, SurfaceKind};
use quantity::Ratio;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The ground that a stretch lies in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StretchGround {
    /// What covers it.
    pub surface: SurfaceKind,
    /// The surface's feature id, empty if none covers it.
    pub surface_id: String,
    /// What it is made of.
    pub soil: Soil,
    /// The soil's feature id, empty if none is given.
    pub soil_id: String,
    /// Steepest rise over run of the ground along it.
    pub slope: Ratio,
    /// Where one digs by hand, and why.
    pub zones: Vec<Zone>,
    /// Methods whose body cannot get here.
    pub blocked: Vec<Blocked>,
    /// Methods that lack room beside it or beyond its ends; known of the stretches of a network only.
    #[serde(default)]
    pub tight: Vec<Tight>,
}

/// A method that lacks room to work along a stretch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Tight {
    /// The method.
    pub method: MethodId,
    /// What it lacks in line beyond the beginning and the end.
    pub ends: [Option<Lack>; 2],
    /// What it lacks beside it on the roomier side.
    pub side: Option<Lack>,
}

/// A method whose body cannot get to a stretch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Blocked {
    /// The method.
    pub method: MethodId,
    /// What keeps it out, such as the gate that is too narrow and by how much.
    pub why: String,
    /// The gap that it would have to fit through or turn in, if that keeps it out.
    pub pinch: Option<Pinch>,
}

/// A zone in which one digs by hand.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", tag = "kind", content = "feature")]
pub enum Zone {
    /// The tolerance zone of a buried service.
    Utility(String),
    /// The root-protection zone of a tree.
    Roots(String),
    /// Close to a building, wall or fence.
    Structure(String),
}
