//! The kinds of feature: name, geometry and members of each.

use schemars::{Schema, SchemaGenerator};

use crate::field::Stored;
use crate::file::{
    BackflowMembers, Bare, CableMembers, CircuitMembers, CorridorMembers, FixedTrenchMembers,
    GateMembers, KeepOutMembers, ObstacleMembers, OutletMembers, SleeveMembers, SoilMembers,
    SourceMembers, SpotMembers, SteepMembers, SurfaceMembers, TreeMembers, UtilityMembers,
    ValveMembers,
};

/// The kind of a feature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    Boundary,
    Surface,
    Obstacle,
    Tree,
    Utility,
    Soil,
    Steep,
    Spot,
    Gate,
    Access,
    Mark,
    Baseline,
    Source,
    Backflow,
    Controller,
    Circuit,
    Valve,
    Manifold,
    Head,
    Drip,
    Cable,
    Sleeve,
    KeepOut,
    Corridor,
    FixedTrench,
}

/// What the schema and the messages know of a kind.
pub(crate) struct KindRow {
    pub kind: Kind,
    pub name: &'static str,
    /// Geometry types that will do; `null` is one of them.
    pub geometry: &'static [&'static str],
    pub members: &'static [&'static str],
    pub schema: fn(&mut SchemaGenerator) -> Schema,
}

const fn row<M: Stored>(
    kind: Kind,
    name: &'static str,
    geometry: &'static [&'static str],
) -> KindRow {
    KindRow {
        kind,
        name,
        geometry,
        members: M::NAMES,
        schema: M::schema,
    }
}

/// All kinds, in the order in which a survey is made.
pub(crate) const KINDS: [KindRow; 25] = [
    row::<Bare>(Kind::Boundary, "boundary", &["Polygon"]),
    row::<SurfaceMembers>(Kind::Surface, "surface", &["Polygon", "null"]),
    row::<ObstacleMembers>(Kind::Obstacle, "obstacle", &["Polygon", "LineString"]),
    row::<TreeMembers>(Kind::Tree, "tree", &["Point"]),
    row::<UtilityMembers>(Kind::Utility, "utility", &["LineString"]),
    row::<SoilMembers>(Kind::Soil, "soil", &["Polygon", "null"]),
    row::<SteepMembers>(Kind::Steep, "steep", &["Polygon"]),
    row::<SpotMembers>(Kind::Spot, "spot", &["Point"]),
    row::<GateMembers>(Kind::Gate, "gate", &["LineString"]),
    row::<Bare>(Kind::Access, "access", &["Point"]),
    row::<Bare>(Kind::Mark, "mark", &["Point"]),
    row::<Bare>(Kind::Baseline, "baseline", &["LineString"]),
    row::<SourceMembers>(Kind::Source, "source", &["Point"]),
    row::<BackflowMembers>(Kind::Backflow, "backflow", &["Point"]),
    row::<Bare>(Kind::Controller, "controller", &["Point"]),
    row::<CircuitMembers>(Kind::Circuit, "circuit", &["null"]),
    row::<ValveMembers>(Kind::Valve, "valve", &["Point"]),
    row::<Bare>(Kind::Manifold, "manifold", &["Point"]),
    row::<OutletMembers>(Kind::Head, "head", &["Point"]),
    row::<OutletMembers>(Kind::Drip, "drip", &["Point"]),
    row::<CableMembers>(Kind::Cable, "cable", &["MultiPoint"]),
    row::<SleeveMembers>(Kind::Sleeve, "sleeve", &["LineString"]),
    row::<KeepOutMembers>(Kind::KeepOut, "keep_out", &["Polygon"]),
    row::<CorridorMembers>(Kind::Corridor, "corridor", &["Polygon"]),
    row::<FixedTrenchMembers>(Kind::FixedTrench, "fixed_trench", &["LineString"]),
];

impl KindRow {
    pub fn of(name: &str) -> Option<&'static Self> {
        KINDS.iter().find(|row| row.name == name)
    }
}
