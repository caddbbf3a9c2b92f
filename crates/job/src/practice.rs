//! The local rules by which a crew works: every number with its source, each to be overridden.
//!
//! The complete defaults stand in `data/practice.toml`. Where local code or an authority says otherwise,
//! that counts.

use crate::sourced::{FromScalar, scalar};
use crate::{Sourced, SurfaceKind, Texture};
use quantity::{
    Angle, Celsius, Current, DigRate, Length, LinearResistance, Pressure, Ratio, Velocity, Voltage,
};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The local rules.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Practice {
    /// How far a trench keeps from what stands on the property.
    pub clearance: Clearance,
    /// Trees.
    pub roots: Roots,
    /// What machines drive over.
    pub travel: TravelRules,
    /// Buried services of others.
    pub utility: UtilityRules,
    /// Crossing paving.
    pub paving: Paving,
    /// Cover over what lies in a trench.
    pub cover: Cover,
    /// The cut.
    pub cut: Cut,
    /// How trenches turn and meet.
    pub trench: Trench,
    /// The fill.
    pub fill: Fill,
    /// Deep trenches.
    pub excavation: Excavation,
    /// Water in pipes.
    pub water: Water,
    /// Loss coefficients K of fittings, times velocity head.
    pub minor_loss: MinorLoss,
    /// Valve wire.
    pub wire: Wire,
    /// What each kind of soil does when it is dug; keys are free names.
    pub soil_class: BTreeMap<String, SoilClass>,
    /// The soil class of each USDA texture class.
    pub texture: BTreeMap<Texture, Sourced<String>>,
    /// Stones in the soil.
    pub stones: Stones,
    /// Allowances in the material list.
    pub takeoff: Takeoff,
    /// The crew's day.
    pub day: Day,
    /// Pipe families; keys are the names that jobs use.
    pub pipe: BTreeMap<String, PipeFamily>,
}

/// Least distance from a thing's face to the trench's centre line.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clearance {
    /// From a building.
    pub building: Sourced<Length>,
    /// From a wall.
    pub wall: Sourced<Length>,
    /// From a pool or pond.
    pub pool: Sourced<Length>,
    /// From a boulder.
    pub boulder: Sourced<Length>,
    /// From any other obstacle.
    pub other: Sourced<Length>,
    /// From the edge of paving.
    pub paving: Sourced<Length>,
    /// From the property line.
    pub boundary: Sourced<Length>,
    /// Where a crew states one for trenches along a building, wall, paving or the property line, the
    /// distance that counts if it is more than the one above; 0 states none.
    pub along_edge: Sourced<Length>,
    /// Within this of a building, wall or fence one digs by hand.
    pub hand_reach: Sourced<Length>,
}

/// Trees.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Roots {
    /// Root-protection radius over trunk diameter.
    pub radius_per_trunk: Sourced<Ratio>,
    /// Radius without any digging over trunk diameter.
    pub no_dig_per_trunk: Sourced<Ratio>,
    /// Time of digging by hand among roots over the time outside.
    pub hand_factor: Sourced<Ratio>,
}

/// What machines drive over.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TravelRules {
    /// Over protected roots.
    pub roots: Sourced<Travel>,
    /// Over each kind of surface.
    pub surface: BTreeMap<SurfaceKind, Sourced<Travel>>,
}

/// Whether machines drive over something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Travel {
    /// Without further ado.
    Free,
    /// On boards or mats laid for them.
    Protected,
    /// Not at all.
    Never,
}

impl FromScalar for Travel {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "free" => Ok(Self::Free),
            "protected" => Ok(Self::Protected),
            "never" => Ok(Self::Never),
            _ => Err(format!("\"{text}\" is none of free, protected, never")),
        }
    }
}

/// Buried services of others.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UtilityRules {
    /// Hand-dig zone each side of a service's outside edge.
    pub tolerance: Sourced<Length>,
    /// Least angle between trench and service at a crossing.
    pub crossing_angle: Sourced<Angle>,
    /// Least vertical distance between pipe and service at a crossing.
    pub vertical_clearance: Sourced<Length>,
    /// Working days between the locate request and digging.
    pub notice_days: Sourced<u32>,
    /// Hours to expose a service by hand at a crossing.
    pub test_hole_hours: Sourced<Ratio>,
}

/// Crossing paving.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Paving {
    /// Least angle between trench and the edge of the paving.
    pub crossing_angle: Sourced<Angle>,
    /// How far a sleeve stands out beyond each edge.
    pub sleeve_beyond_edge: Sourced<Length>,
    /// Inside diameter of a sleeve over the diameter of the bundle that goes through.
    pub sleeve_over_bundle: Sourced<Ratio>,
    /// How far from an existing sleeve's end a trench may come in, off its line.
    pub sleeve_end_reach: Sourced<Length>,
}

/// Cover over what lies in a trench.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cover {
    /// Over the main.
    pub main: Sourced<Length>,
    /// Over laterals.
    pub lateral: Sourced<Length>,
    /// Over valve wire.
    pub wire: Sourced<Length>,
    /// Over low-voltage cable of other services.
    pub cable: Sourced<Length>,
    /// Over pipe where vehicles pass.
    pub pipe_under_traffic: Sourced<Length>,
    /// Over wire and cable where vehicles pass.
    pub cable_under_traffic: Sourced<Length>,
}

/// The cut.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cut {
    /// Thickness of bedding under pipe.
    pub bedding: Sourced<Length>,
    /// Coarse fragments at or above which pipe is bedded.
    pub bedding_from_coarse: Sourced<Ratio>,
    /// How far the fill around pipe, free of stones, reaches above it.
    pub haunch_over_pipe: Sourced<Length>,
    /// Gap between things that lie side by side.
    pub gap_between: Sourced<Length>,
    /// Gap between the outermost thing and the trench side.
    pub gap_at_side: Sourced<Length>,
    /// Extra length of pipe laid, for expansion.
    pub pipe_slack: Sourced<Ratio>,
    /// Extra length of wire and cable laid, for expansion and loops.
    pub wire_slack: Sourced<Ratio>,
    /// Shortest piece of trench for which the way of digging is changed.
    pub shortest_piece: Sourced<Length>,
}

/// How trenches turn and meet.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trench {
    /// Smallest turn that counts as a bend.
    pub bend_from: Sourced<Angle>,
    /// Least angle between neighbouring trenches at a place for which there are fittings.
    pub least_angle: Sourced<Angle>,
    /// Least distance between the centre lines of trenches side by side.
    pub spacing: Sourced<Length>,
    /// Junctions nearer to each other than this are made as one.
    pub junctions_apart: Sourced<Length>,
    /// Most pipes that lie in one trench.
    pub most_pipes: Sourced<u32>,
}

/// The fill.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fill {
    /// Thickness of a lift.
    pub lift: Sourced<Length>,
    /// Share of the loose volume's excess over bank that tamping in lifts takes away.
    pub tamped_share: Sourced<Ratio>,
}

/// Deep trenches.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Excavation {
    /// Depth from which a way out is needed.
    pub egress_depth: Sourced<Length>,
    /// Farthest anyone may be from it.
    pub egress_travel: Sourced<Length>,
    /// Depth from which sides are sloped or shored.
    pub protection_depth: Sourced<Length>,
    /// Depth below which an engineer designs the protection.
    pub engineer_depth: Sourced<Length>,
    /// Distance of spoil from the edge.
    pub spoil_setback: Sourced<Length>,
    /// Greatest slope of sides, horizontal over vertical, by soil type A, B, C.
    pub slope: BTreeMap<String, Sourced<Ratio>>,
}

/// Water in pipes.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Water {
    /// Greatest velocity.
    pub velocity_limit: Sourced<Velocity>,
    /// Greatest spread of pressure among the heads of a circuit, of the pressure they need.
    pub pressure_spread: Sourced<Ratio>,
    /// Pressure a valve takes at working flow.
    pub valve_loss: Sourced<Pressure>,
    /// Pressure the backflow assembly takes at working flow.
    pub backflow_loss: Sourced<Pressure>,
    /// Temperature of the water.
    pub temperature: Sourced<Celsius>,
    /// Bulk modulus of water in the surge formula.
    pub bulk_modulus: Sourced<Pressure>,
}

/// Loss coefficients K of fittings, times velocity head.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MinorLoss {
    /// Elbow of 90°.
    pub elbow_90: Sourced<Ratio>,
    /// Elbow of 45°.
    pub elbow_45: Sourced<Ratio>,
    /// Tee, flow through the run.
    pub tee_run: Sourced<Ratio>,
    /// Tee, flow through the branch.
    pub tee_branch: Sourced<Ratio>,
    /// Square entrance, also used for a reducer.
    pub entrance: Sourced<Ratio>,
}

/// Valve wire.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wire {
    /// Current that a solenoid draws when it opens.
    pub inrush: Sourced<Current>,
    /// Greatest voltage drop from the controller to a valve.
    pub voltage_drop: Sourced<Voltage>,
    /// Outside diameter of one conductor with its sheath, for what fits in a trench or sleeve.
    pub outside: Sourced<Length>,
    /// Outside diameter of a low-voltage cable of another service.
    pub cable_outside: Sourced<Length>,
    /// Gauges from the thinnest on.
    pub gauge: Vec<Gauge>,
}

/// A wire gauge.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gauge {
    /// Its name.
    pub name: String,
    /// Resistance of one conductor.
    #[serde(deserialize_with = "scalar")]
    pub resistance: LinearResistance,
    /// Source of the resistance.
    pub source: String,
}

/// What a kind of soil does when it is dug.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SoilClass {
    /// In words.
    pub label: String,
    /// Loose volume over bank volume.
    pub bank_to_loose: Sourced<Ratio>,
    /// Volume compacted by machine over bank volume.
    pub bank_to_compacted: Sourced<Ratio>,
    /// What a person digs of it by hand in a trench not deeper than 1.5 m.
    pub hand_output: Sourced<DigRate>,
    /// Type A, B or C for the slope of deep trenches.
    pub excavation_type: Sourced<String>,
}

/// Stones in the soil.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stones {
    /// Coarse fragments from which a soil is called gravelly (or cobbly, stony).
    pub gravelly: Sourced<Ratio>,
    /// From which it is called very gravelly.
    pub very: Sourced<Ratio>,
    /// From which it is called extremely gravelly.
    pub extremely: Sourced<Ratio>,
    /// Digging time in gravelly soil over that without stones.
    pub slow_gravelly: Sourced<Ratio>,
    /// Digging time in very gravelly soil over that without stones.
    pub slow_very: Sourced<Ratio>,
    /// Digging time in extremely gravelly soil over that without stones.
    pub slow_extremely: Sourced<Ratio>,
    /// Spoil with coarse fragments at or above this does not go back around pipe.
    pub haul_from: Sourced<Ratio>,
}

/// Allowances in the material list.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Takeoff {
    /// Wire left coiled at each valve and at the controller.
    pub wire_tail: Sourced<Length>,
    /// Valves in one box.
    pub valves_per_box: Sourced<u32>,
    /// Sod cut in excess of the area.
    pub sod_waste: Sourced<Ratio>,
    /// Bedding ordered in excess of the volume.
    pub bedding_waste: Sourced<Ratio>,
    /// Smallest turn of a pipe that takes an elbow of 45°; rigid pipe bends less by itself.
    pub elbow_from: Sourced<Angle>,
    /// Smallest turn of a pipe that takes an elbow of 90°.
    pub elbow_90_from: Sourced<Angle>,
    /// Kerf of a cut.
    pub kerf: Sourced<Length>,
}

/// The crew's day.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Day {
    /// Working hours of a day.
    pub hours: Sourced<Ratio>,
    /// Working days of a week, and of a week of hire.
    pub week: Sourced<u32>,
    /// People in the crew.
    pub crew: Sourced<u32>,
}

/// The pipe material.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PipeMaterial {
    /// Unplasticised PVC: rigid, in sticks, solvent-welded.
    Pvc,
    /// Polyethylene: flexible, in coils.
    Pe,
}

/// A family of pipe: one material and pressure class in several sizes.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeFamily {
    /// In words.
    pub label: String,
    /// The material.
    pub material: PipeMaterial,
    /// Hazen–Williams C.
    pub c: Sourced<Ratio>,
    /// Modulus of elasticity, short term, for surge.
    pub modulus: Sourced<Pressure>,
    /// Length of a stick or coil.
    pub piece: Sourced<Length>,
    /// Sizes from the smallest on.
    pub sizes: Vec<PipeSize>,
}

/// One size of a family.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeSize {
    /// Nominal size.
    pub name: String,
    /// Outside diameter.
    #[serde(deserialize_with = "scalar")]
    pub outside: Length,
    /// Inside diameter at minimum wall.
    #[serde(deserialize_with = "scalar")]
    pub inside: Length,
    /// Pressure rating at 23 °C.
    #[serde(deserialize_with = "scalar")]
    pub rating: Pressure,
    /// Source of the dimensions and the rating.
    pub source: String,
}

impl PipeSize {
    /// Wall thickness.
    pub fn wall(&self) -> Length {
        (self.outside - self.inside) * 0.5
    }
}

impl Practice {
    /// Whether machines drive over a surface. The reader refuses a practice in which one is missing.
    pub fn travel_over(&self, surface: SurfaceKind) -> Travel {
        self.travel.surface[&surface].value
    }

    /// The soil class of a texture. The reader refuses a practice in which one is missing.
    pub fn soil_class_of(&self, texture: Texture) -> &SoilClass {
        &self.soil_class[&self.texture[&texture].value]
    }

    /// The time factor of digging in soil with these coarse fragments, with its origin.
    pub fn stone_factor(&self, coarse: Ratio) -> (f64, String) {
        let s = &self.stones;
        let steps = [
            (&s.extremely, &s.slow_extremely),
            (&s.very, &s.slow_very),
            (&s.gravelly, &s.slow_gravelly),
        ];
        steps
            .iter()
            .find(|(from, _)| coarse >= from.value)
            .map_or_else(
                || (1.0, "no stones to slow the digging".to_owned()),
                |(_, factor)| (factor.value.to_one(), factor.origin()),
            )
    }
}
