//! The local rules by which a crew works: every number with its source, each to be overridden.
//!
//! The complete defaults stand in `data/practice.toml`. Where local code or an authority says otherwise,
//! that counts.

mod days;
mod drawn;
mod joining;
mod risk;
mod staking;

pub use days::*;
pub use drawn::Drawn;
pub use joining::{Joining, Joint, WasteShares};
pub use risk::*;
pub use staking::{Staking, TapeClass, TapeError, Tapes};

use crate::prices::Widths;
use crate::sourced::{FromScalar, scalar};
use crate::{Moisture, Sourced, SurfaceKind, Texture};
use quantity::{
    Angle, Celsius, Conductivity, Current, DegreeDays, Density, DigRate, Duration, Expansion,
    Length, LinearResistance, Pressure, Ratio, Velocity, Voltage,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The local rules.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
    /// How far things in one trench keep from each other.
    pub separation: Separation,
    /// What is laid so that pipe and wire are found again.
    pub marking: Marking,
    /// How pipe grows and shrinks.
    pub expansion: PipeExpansion,
    /// How trenches turn and meet.
    pub trench: Trench,
    /// The fill.
    pub fill: Fill,
    /// What fill is tamped with; keys are free names.
    pub compactor: BTreeMap<String, Compactor>,
    /// Deep trenches.
    pub excavation: Excavation,
    /// Water in pipes.
    pub water: Water,
    /// Which heads run together.
    pub circuits: Circuits,
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
    /// Pulling pipe in.
    pub pull: Pull,
    /// Allowances in the material list.
    pub takeoff: Takeoff,
    /// What joints use up.
    pub joining: Joining,
    /// The working day.
    pub day: Day,
    /// Who works; keys are free names.
    pub crew: BTreeMap<String, Crew>,
    /// Which days are worked.
    pub calendar: Calendar,
    /// How long joints stand before water comes on them.
    pub cure: Cure,
    /// The pressure test before anything is covered.
    pub test: PressureTest,
    /// How uncertain the ground and the work are.
    pub risk: Risk,
    /// How points are marked on the ground.
    pub staking: Staking,
    /// What newly drawn features begin with.
    pub drawn: Drawn,
    /// How old the pipe is that the plan is made for.
    pub pipe_age: PipeAge,
    /// Valves that close, and what pipe stands of it.
    pub surge: Surge,
    /// How pipe is emptied before the frost.
    pub cold: Cold,
    /// How deep the ground freezes, where no depth is given.
    pub frost: Frost,
    /// Pipe families; keys are the names that jobs use.
    pub pipe: BTreeMap<String, PipeFamily>,
}

/// Least distance from a thing's face to the trench's centre line.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
    /// Least distance between outside faces of a pipe and a service that run along each other.
    pub horizontal_clearance: Sourced<Length>,
    /// Hours to expose a service by hand at a crossing.
    pub test_hole_hours: Sourced<Ratio>,
}

/// Crossing paving.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
    /// Over service and main, and over any pipe where vehicles pass, from a nominal size on; keys are
    /// sizes such as `3 in` or `DN 90`. Counts where it is more than the cover of the role.
    pub exposed_from: BTreeMap<String, Sourced<Length>>,
    /// Over laterals without such hazards, from a nominal size on.
    pub quiet_from: BTreeMap<String, Sourced<Length>>,
    /// How deep the ground freezes; 0 where none is given.
    pub frost_depth: Sourced<Length>,
    /// What keeps pipe from freezing.
    pub winter: Sourced<Winter>,
}

impl Cover {
    /// The entry of a table by size that holds for a nominal size: that of the greatest size not
    /// above it. Keys that are no sizes count for nothing; the reader refuses them.
    pub fn by_size(
        table: &BTreeMap<String, Sourced<Length>>,
        size: Length,
    ) -> Option<&Sourced<Length>> {
        by_size(table, size)
    }
}

/// The entry of a table by size that holds for a nominal size: that of the greatest size not above it.
/// Keys that are no sizes count for nothing; the reader refuses them.
pub fn by_size<T>(table: &BTreeMap<String, Sourced<T>>, size: Length) -> Option<&Sourced<T>> {
    table
        .iter()
        .filter_map(|(name, entry)| Some((nominal(name)?, entry)))
        .filter(|(from, _)| *from <= size)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, entry)| entry)
}

/// The nominal size in a name: `1-1/4 in`, `3 in`, `DN 63` (the outside diameter in mm).
pub fn nominal(name: &str) -> Option<Length> {
    if let Some(dn) = name.trim().strip_prefix("DN") {
        return dn.trim().parse().ok().map(Length::mm);
    }
    let inches = name.trim().strip_suffix("in")?.trim();
    let (whole, fraction) = match inches.split_once('-') {
        Some((whole, fraction)) => (whole.trim().parse().ok()?, fraction),
        None => (0.0, inches),
    };
    let fraction: f64 = match fraction.split_once('/') {
        Some((over, under)) => {
            let (over, under): (f64, f64) = (over.trim().parse().ok()?, under.trim().parse().ok()?);
            over / under
        }
        None => fraction.trim().parse().ok()?,
    };
    let size: f64 = whole + fraction;
    (size.is_finite() && size > 0.0).then_some(Length::inch(size))
}

/// What keeps pipe from freezing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Winter {
    /// It is drained or blown out before the frost.
    Drained,
    /// It lies below the frost.
    BelowFrost,
}

impl FromScalar for Winter {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "drained" => Ok(Self::Drained),
            "below frost" => Ok(Self::BelowFrost),
            _ => Err(format!(
                "\"{text}\" is neither \"drained\" nor \"below frost\""
            )),
        }
    }
}

/// How far things in one trench keep from each other.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Separation {
    /// From the side of a pipe to a cable of another service beside it.
    pub cable_beside_pipe: Sourced<Length>,
    /// From the top of a pipe to a cable of another service above it.
    pub cable_over_pipe: Sourced<Length>,
}

/// What is laid so that pipe and wire are found again.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Marking {
    /// What tape lies over in open trench.
    pub tape_over: Sourced<Roles>,
    /// Depth of the tape below grade.
    pub tape_depth: Sourced<Length>,
    /// What a tracer wire goes along where no valve wire lies in the same trench.
    pub tracer_along: Sourced<Roles>,
}

/// What a line is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// From the source to the backflow assembly.
    Service,
    /// From there to the valves.
    Main,
    /// From a valve to its heads.
    Lateral,
    /// Valve wire.
    Wire,
    /// Cable of another service.
    Cable,
}

/// Roles, separated by commas in the file; `none` for none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Roles(pub Vec<Role>);

impl FromScalar for Roles {
    fn from_scalar(text: &str) -> Result<Self, String> {
        words(text, |word| match word {
            "service" => Some(Role::Service),
            "main" => Some(Role::Main),
            "lateral" => Some(Role::Lateral),
            "wire" => Some(Role::Wire),
            "cable" => Some(Role::Cable),
            _ => None,
        })
        .map(Self)
        .map_err(|word| {
            format!("\"{word}\" is none of service, main, lateral, wire, cable; or \"none\" alone")
        })
    }
}

/// Words separated by commas, nothing for `none`; the error is the word that is unknown.
fn words<T>(text: &str, read: impl Fn(&str) -> Option<T>) -> Result<Vec<T>, String> {
    if text.trim() == "none" {
        return Ok(Vec::new());
    }
    text.split(',')
        .map(|word| read(word.trim()).ok_or_else(|| word.trim().to_owned()))
        .collect()
}

/// How pipe grows and shrinks.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeExpansion {
    /// Growth of PVC by a degree.
    pub pvc: Sourced<Expansion>,
    /// Growth of polyethylene by a degree.
    pub pe: Sourced<Expansion>,
    /// Growth of copper by a degree.
    pub copper: Sourced<Expansion>,
    /// Growth of steel by a degree.
    pub steel: Sourced<Expansion>,
    /// Temperature of the pipe when it is laid.
    pub laid_at: Sourced<Celsius>,
    /// The coldest that it gets.
    pub coldest: Sourced<Celsius>,
    /// Length of one bow of pipe that is laid from side to side, where the trench has the room.
    pub bow: Sourced<Length>,
    /// Least radius of a cold bend of PVC over its outside diameter.
    pub bend_pvc: Sourced<Ratio>,
    /// Least radius of a cold bend of polyethylene over its outside diameter.
    pub bend_pe: Sourced<Ratio>,
    /// Least radius to which metal pipe is sprung over its outside diameter.
    pub bend_metal: Sourced<Ratio>,
}

impl PipeExpansion {
    /// Growth of a material by a degree.
    pub fn of(&self, material: PipeMaterial) -> &Sourced<Expansion> {
        match material {
            PipeMaterial::Pvc => &self.pvc,
            PipeMaterial::Pe => &self.pe,
            PipeMaterial::Copper => &self.copper,
            PipeMaterial::Steel => &self.steel,
        }
    }

    /// Least radius of a cold bend of a material over its outside diameter.
    pub fn bend(&self, material: PipeMaterial) -> &Sourced<Ratio> {
        match material {
            PipeMaterial::Pvc => &self.bend_pvc,
            PipeMaterial::Pe => &self.bend_pe,
            PipeMaterial::Copper | PipeMaterial::Steel => &self.bend_metal,
        }
    }

    /// By how much pipe cools from when it is laid, in kelvins; never below 0.
    pub fn cooling(&self) -> f64 {
        (self.laid_at.value.to_c() - self.coldest.value.to_c()).max(0.0)
    }
}

/// The cut.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fill {
    /// Thickness of a lift.
    pub lift: Sourced<Length>,
    /// Share of the loose volume's excess over bank that tamping in lifts takes away.
    pub tamped_share: Sourced<Ratio>,
    /// The same where tamping did least.
    pub tamped_low: Sourced<Ratio>,
    /// The same where tamping did most.
    pub tamped_high: Sourced<Ratio>,
    /// How far the moisture of fill may be from the optimum on either side.
    pub moisture_window: Sourced<Ratio>,
    /// The soil class of fill that is brought in.
    pub import_class: Sourced<String>,
    /// How far sod is lifted beyond each edge of the trench at grade.
    pub sod_margin: Sourced<Length>,
}

/// What fill is tamped with.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Compactor {
    /// In words.
    pub label: String,
    /// Narrowest trench in which it works.
    pub least_width: Sourced<Length>,
    /// Greatest lift by soil class; a class without an entry is not tamped with it.
    #[serde(default)]
    pub lift: BTreeMap<String, Sourced<Length>>,
    /// Passes over each lift by soil class.
    #[serde(default)]
    pub passes: BTreeMap<String, Sourced<u32>>,
}

/// Deep trenches.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
    /// The ways of keeping the sides of a deep trench that this practice admits; the cheapest is taken,
    /// of equally dear ones the first.
    pub sides: Sourced<SidesList>,
    /// Least width of a shored trench.
    pub shored_width: Sourced<Length>,
    /// Greatest slope of sides, horizontal over vertical, by soil type A, B, C.
    pub slope: BTreeMap<String, Sourced<Ratio>>,
    /// Greatest height of a bench by soil type; a type without an entry is not benched.
    pub bench: BTreeMap<String, Sourced<Length>>,
}

/// How the sides of a trench stand.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Sides {
    /// Upright, nothing holds them.
    #[default]
    Upright,
    /// Sloped over the whole depth.
    Sloped,
    /// In upright steps whose inner corners lie on the slope.
    Benched,
    /// Upright, held by shoring or a box.
    Shored,
}

impl Sides {
    /// In a word.
    pub fn label(self) -> &'static str {
        match self {
            Self::Upright => "upright",
            Self::Sloped => "sloped",
            Self::Benched => "benched",
            Self::Shored => "shored",
        }
    }
}

/// Ways of keeping sides, separated by commas in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SidesList(pub Vec<Sides>);

impl FromScalar for SidesList {
    fn from_scalar(text: &str) -> Result<Self, String> {
        let known = [Sides::Sloped, Sides::Benched, Sides::Shored];
        words(text, |word| known.into_iter().find(|s| s.label() == word))
            .ok()
            .filter(|list| !list.is_empty())
            .map(Self)
            .ok_or_else(|| format!("\"{text}\" is not a list of sloped, benched, shored"))
    }
}

/// Water in pipes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Water {
    /// Greatest velocity, by what the pipe is for.
    pub velocity: VelocityLimits,
    /// Greatest spread of pressure among the heads of a circuit, of the pressure they need.
    pub pressure_spread: Sourced<Ratio>,
    /// Greatest spread of flow among the heads of a circuit, of the flow they need.
    pub flow_spread: Sourced<Ratio>,
    /// The formula of friction.
    pub friction: Sourced<Friction>,
    /// n in flow = k × pressureⁿ of a head or drip point for which the job gives none.
    pub exponent: Sourced<Ratio>,
    /// How far the valves are opened.
    pub valve_setting: Sourced<ValveSetting>,
    /// Pressure a valve takes at working flow.
    pub valve_loss: Sourced<Pressure>,
    /// Pressure the backflow assembly takes at working flow.
    pub backflow_loss: Sourced<Pressure>,
    /// Temperature of the water.
    pub temperature: Sourced<Celsius>,
    /// Bulk modulus of water in the surge formula.
    pub bulk_modulus: Sourced<Pressure>,
}

/// Greatest velocities.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VelocityLimits {
    /// Between the source and the backflow assembly.
    pub service: Sourced<Velocity>,
    /// Between the assembly and the valves.
    pub main: Sourced<Velocity>,
    /// Behind a valve.
    pub lateral: Sourced<Velocity>,
}

/// A formula of friction in pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Friction {
    /// Hazen–Williams.
    HazenWilliams,
    /// Darcy–Weisbach with Colebrook–White.
    DarcyWeisbach,
}

impl FromScalar for Friction {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "hazen-williams" => Ok(Self::HazenWilliams),
            "darcy-weisbach" => Ok(Self::DarcyWeisbach),
            _ => Err(format!(
                "\"{text}\" is neither \"hazen-williams\" nor \"darcy-weisbach\""
            )),
        }
    }
}

/// How far the valves are opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ValveSetting {
    /// So far that the head with least to spare has the pressure it needs.
    Set,
    /// As far as they go.
    Open,
}

impl FromScalar for ValveSetting {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "set" => Ok(Self::Set),
            "open" => Ok(Self::Open),
            _ => Err(format!("\"{text}\" is neither \"set\" nor \"open\"")),
        }
    }
}

/// Which heads run together, where the job leaves that to the plan.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Circuits {
    /// Pipe family of the laterals; a key of the `pipe` table.
    pub pipe: Sourced<String>,
    /// By how much, of the greater, the precipitation rates in a circuit may differ.
    pub rate_tolerance: Sourced<Ratio>,
    /// Of the pressure that a head needs, what is kept for friction in main, laterals and fittings.
    pub pipe_allowance: Sourced<Ratio>,
    /// Given circuits are left alone unless a regrouping saves more than this share of what they cost.
    pub worth_regrouping: Sourced<Ratio>,
}

/// Loss coefficients K of fittings, times velocity head.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wire {
    /// Current that a solenoid draws when it opens.
    pub inrush: Sourced<Current>,
    /// Greatest voltage drop from the controller to a valve as it opens.
    pub voltage_drop: Sourced<Voltage>,
    /// Current that a solenoid draws while it holds.
    pub hold: Sourced<Current>,
    /// Greatest voltage drop while it holds.
    pub hold_drop: Sourced<Voltage>,
    /// Most valves that are on at once.
    pub valves_at_once: Sourced<u32>,
    /// How valves are wired.
    pub system: Sourced<WireSystem>,
    /// Colours of the valves' own conductors, in turn.
    pub own_colours: Sourced<Words>,
    /// Colour of the common conductor.
    pub common_colour: Sourced<String>,
    /// What a decoder on a two-wire cable draws all the time.
    pub decoder_idle: Sourced<Current>,
    /// Greatest voltage drop in a two-wire cable.
    pub two_wire_drop: Sourced<Voltage>,
    /// Outside diameter of one conductor with its sheath, for what fits in a trench or sleeve.
    pub outside: Sourced<Length>,
    /// Outside diameter of a low-voltage cable of another service.
    pub cable_outside: Sourced<Length>,
    /// Gauges from the thinnest on.
    pub gauge: Vec<Gauge>,
}

/// How valves are wired.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WireSystem {
    /// A conductor of its own for each valve, and a common one.
    Conventional,
    /// One cable of two conductors with a decoder at each valve.
    TwoWire,
}

impl WireSystem {
    /// As the practice file writes it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Conventional => "conventional",
            Self::TwoWire => "two-wire",
        }
    }
}

impl FromScalar for WireSystem {
    fn from_scalar(text: &str) -> Result<Self, String> {
        [Self::Conventional, Self::TwoWire]
            .into_iter()
            .find(|system| system.label() == text.trim())
            .ok_or_else(|| format!("\"{text}\" is neither \"conventional\" nor \"two-wire\""))
    }
}

/// Words, separated by commas in the file; `none` for none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words(pub Vec<String>);

impl FromScalar for Words {
    fn from_scalar(text: &str) -> Result<Self, String> {
        words(text, |word| (!word.is_empty()).then(|| word.to_owned()))
            .map(Self)
            .map_err(|_| format!("\"{text}\" has an empty word between its commas"))
    }
}

/// A wire gauge.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
    /// The least that loose volume over bank volume may be.
    pub loose_low: Sourced<Ratio>,
    /// The most that it may be.
    pub loose_high: Sourced<Ratio>,
    /// Dry density in place, before it is dug.
    pub dry_density: Sourced<Density>,
    /// Water content by dry mass at which it tamps best.
    pub optimum: Sourced<Ratio>,
    /// Water content by dry mass as it is found.
    pub moisture: BTreeMap<Moisture, Sourced<Ratio>>,
    /// Angle at which a heap of it stands.
    pub repose: Sourced<Angle>,
}

impl SoilClass {
    /// Mass of a loose cubic metre with the water that it is found with; stones weigh like the soil.
    pub fn loose_density(&self, moisture: Moisture) -> Density {
        let water = self.moisture.get(&moisture);
        let water = water.map_or(0.0, |share| share.value.to_one());
        self.dry_density.value * ((1.0 + water) / self.bank_to_loose.value.to_one())
    }
}

/// Stones in the soil.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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

/// Pulling pipe in behind the blade of a vibratory plow.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pull {
    /// Share of the tensile yield to which pipe is pulled.
    pub yield_factor: Sourced<Ratio>,
    /// Factor for the time that it is under tension.
    pub time_factor: Sourced<Ratio>,
    /// Drag of the soil on the surface of the pipe, for each unit of that surface.
    pub soil_drag: Sourced<Pressure>,
    /// Friction of pipe on the floor and sides of its slot, over the force that presses it there.
    pub friction: Sourced<Ratio>,
    /// How far pulled pipe may cut a corner of the planned line.
    pub corner_cut: Sourced<Length>,
    /// Least bend radius over outside diameter where a fitting lies in the bend.
    pub bend_with_fitting: Sourced<Ratio>,
    /// Deepest scratch over the pipe's wall.
    pub scratch: Sourced<Ratio>,
    /// Stones beside the pipe.
    pub stones: PullStones,
    /// Pits.
    pub pit: Pit,
    /// Polyethylene.
    pub pe: PullMaterial,
    /// PVC.
    pub pvc: PullMaterial,
}

/// What stones do to pipe that is pulled past them. Custom, not a model: nothing published leads from
/// stones to the depth of a scratch.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PullStones {
    /// Coarse fragments up to which no scratch is looked for.
    pub clean_to: Sourced<Ratio>,
    /// Coarse fragments up to which pipe is pulled with precautions; above it is not pulled.
    pub few_to: Sourced<Ratio>,
    /// Largest stone over the pipe's wall up to which no scratch is looked for.
    pub small_over_wall: Sourced<Ratio>,
    /// Largest stone over the pipe's wall up to which pipe is pulled with precautions.
    pub large_over_wall: Sourced<Ratio>,
}

/// Pits of pulled pipe.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pit {
    /// Length of a pit where a pull begins or ends.
    pub end_length: Sourced<Length>,
    /// Width of a pit where a pull begins or ends.
    pub end_width: Sourced<Length>,
    /// Length of a pit at a head or branch along a pull.
    pub tap_length: Sourced<Length>,
    /// Width of a pit at a head or branch along a pull.
    pub tap_width: Sourced<Length>,
    /// Usual distance of pits, for what a metre costs before heads and branches are known.
    pub usual_spacing: Sourced<Length>,
    /// Room below the pipe.
    pub below: Sourced<Length>,
}

/// What a pipe material stands when it is pulled.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PullMaterial {
    /// Tensile yield of families that give none of their own.
    pub tensile_yield: Sourced<Pressure>,
    /// Density over that of water.
    pub specific_gravity: Sourced<Ratio>,
    /// Most joints between two pits; more lie in pits.
    pub joints: Sourced<u32>,
    /// Least bend radius by dimension ratio.
    pub bend: Vec<BendRow>,
}

/// The least bend radius of pipe up to a dimension ratio.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BendRow {
    /// Outside diameter over wall, up to which it counts.
    #[serde(deserialize_with = "scalar")]
    pub dr: Ratio,
    /// Radius over outside diameter.
    #[serde(deserialize_with = "scalar")]
    pub over_outside: Ratio,
    /// Source of the row.
    pub source: String,
}

impl Pull {
    /// What a material stands; nothing for metals, which are not pulled.
    pub fn of(&self, material: PipeMaterial) -> Option<&PullMaterial> {
        match material {
            PipeMaterial::Pe => Some(&self.pe),
            PipeMaterial::Pvc => Some(&self.pvc),
            PipeMaterial::Copper | PipeMaterial::Steel => None,
        }
    }
}

/// Allowances in the material list.
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
    /// How far flexible pipe in an open trench may leave the corner of the planned line in a bend.
    pub corner_cut: Sourced<Length>,
    /// Pipe between two fittings that sit at one place.
    pub short_piece: Sourced<Length>,
    /// Unions at a valve, 0 to 2, the first on the side of the source.
    pub unions_at_valve: Sourced<u32>,
    /// Unions at the backflow assembly, 0 to 2, the first on the side of the source.
    pub unions_at_backflow: Sourced<u32>,
    /// Swing joints under a head.
    pub swing_joints: Sourced<u32>,
    /// Outside diameter of the thread under a head or drip feed, for its sealing tape.
    pub head_thread: Sourced<Length>,
    /// Lengths of spools of wire, from the shortest on, separated by commas in the file.
    pub wire_spools: Sourced<Widths>,
    /// Lengths of spools of tracer wire.
    pub tracer_spools: Sourced<Widths>,
    /// Length of a roll of marking tape.
    pub tape_roll: Sourced<Length>,
    /// Route that a can of marking paint does.
    pub paint_reach: Sourced<Length>,
    /// Distance of flags along the route, beside those at heads and valves.
    pub flag_spacing: Sourced<Length>,
    /// Flags in a bundle.
    pub flag_bundle: Sourced<u32>,
    /// Whether a sleeve may be cut from an offcut of wider pipe.
    pub sleeves_from_offcuts: Sourced<bool>,
    /// What is ordered beyond the need.
    pub waste: WasteShares,
}

/// The pipe material.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PipeMaterial {
    /// Unplasticised PVC: rigid, in sticks, solvent-welded.
    Pvc,
    /// Polyethylene: flexible, in coils.
    Pe,
    /// Copper tube: soldered or brazed, in sticks.
    Copper,
    /// Galvanised steel: threaded, in sticks.
    Steel,
}

impl PipeMaterial {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Pvc, Self::Pe, Self::Copper, Self::Steel];

    /// As the practice file writes it.
    pub fn key(self) -> &'static str {
        match self {
            Self::Pvc => "pvc",
            Self::Pe => "pe",
            Self::Copper => "copper",
            Self::Steel => "steel",
        }
    }

    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Pvc => "PVC",
            Self::Pe => "polyethylene",
            Self::Copper => "copper",
            Self::Steel => "steel",
        }
    }
}

/// Valves that close, and what pipe stands of it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Surge {
    /// Time in which a valve closes, its opening falling in proportion to it.
    pub closure: Sourced<Duration>,
    /// The warmest that pipe under pressure gets, for its rating.
    pub pipe_temperature: Sourced<Celsius>,
    /// How often a circuit is started in a day, every day of the year.
    pub starts_per_day: Sourced<Ratio>,
    /// How long the pipe is to last.
    pub life_years: Sourced<Ratio>,
    /// Cycles that pipe must stand over those that it gets.
    pub cycle_factor: Sourced<Ratio>,
    /// Share of its rating that pipe of a material keeps by temperature, from the coldest on; a
    /// material without a table keeps all of it.
    pub derating: BTreeMap<PipeMaterial, Vec<Derating>>,
}

/// The share of its rating that pipe keeps at a temperature.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Derating {
    /// Temperature.
    #[serde(deserialize_with = "scalar")]
    pub at: Celsius,
    /// Share of the rating.
    #[serde(deserialize_with = "scalar")]
    pub share: Ratio,
    /// Source of the row.
    pub source: String,
}

/// How pipe is emptied before the frost.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cold {
    /// The way it is emptied, where it is not laid below the frost.
    pub drain_down: Sourced<DrainDown>,
    /// Height of water that the check valve of a head holds back; 0 for heads without.
    pub check_valve: Sourced<Length>,
    /// Greatest pressure of air in pipe.
    pub air_pressure: AirPressure,
}

/// How pipe is emptied before the frost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum DrainDown {
    /// Air pushes the water out.
    #[default]
    BlownOut,
    /// It runs out of drains at the low points.
    Drained,
}

impl FromScalar for DrainDown {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "blown out" => Ok(Self::BlownOut),
            "drained" => Ok(Self::Drained),
            _ => Err(format!(
                "\"{text}\" is neither \"blown out\" nor \"drained\""
            )),
        }
    }
}

/// Greatest pressure of air, by what the pipe is made of.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AirPressure {
    /// In PVC.
    pub pvc: Sourced<Pressure>,
    /// In polyethylene.
    pub pe: Sourced<Pressure>,
    /// In copper and steel.
    pub metal: Sourced<Pressure>,
}

impl AirPressure {
    /// Greatest pressure of air in a material.
    pub fn of(&self, material: PipeMaterial) -> &Sourced<Pressure> {
        match material {
            PipeMaterial::Pvc => &self.pvc,
            PipeMaterial::Pe => &self.pe,
            PipeMaterial::Copper | PipeMaterial::Steel => &self.metal,
        }
    }
}

/// How deep the ground freezes, where no depth is given.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Frost {
    /// Degrees of the air below freezing, summed over the days of a hard winter; 0 where none is given.
    pub freezing_index: Sourced<DegreeDays>,
    /// Freezing index of the ground's surface over that of the air.
    pub n_factor: Sourced<Ratio>,
    /// What heat the frozen ground lets through.
    pub conductivity: Sourced<Conductivity>,
}

/// How old the pipe is that the plan is made for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeAge {
    /// Years in the ground; 0 for new pipe.
    pub years: Sourced<Ratio>,
}

/// Hazen–Williams C of pipe of an age.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AgedC {
    /// Years in the ground.
    #[serde(deserialize_with = "scalar")]
    pub years: Ratio,
    /// Hazen–Williams C.
    #[serde(deserialize_with = "scalar")]
    pub c: Ratio,
    /// Source of the row.
    pub source: String,
}

/// A family of pipe: one material and pressure class in several sizes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeFamily {
    /// In words.
    pub label: String,
    /// The material.
    pub material: PipeMaterial,
    /// Hazen–Williams C of new pipe.
    pub c: Sourced<Ratio>,
    /// C of older pipe by age, from the youngest on; empty where it does not change.
    #[serde(default)]
    pub c_by_age: Vec<AgedC>,
    /// Absolute roughness of new pipe, for Darcy–Weisbach.
    pub roughness: Sourced<Length>,
    /// Modulus of elasticity, short term, for surge.
    pub modulus: Sourced<Pressure>,
    /// Tensile yield, for pulling; without one that of the material counts.
    pub tensile_yield: Option<Sourced<Pressure>>,
    /// Length of a stick or coil.
    pub piece: Sourced<Length>,
    /// How it is joined; without one as is usual for the material.
    pub joint: Option<Sourced<Joint>>,
    /// Sizes from the smallest on.
    pub sizes: Vec<PipeSize>,
}

impl PipeFamily {
    /// How it is joined to a fitting.
    pub fn joined_by(&self) -> Joint {
        let stated = self.joint.as_ref().map(|joint| joint.value);
        stated.unwrap_or_else(|| Joint::usual(self.material))
    }

    /// Where [`Self::joined_by`] has its answer from.
    pub fn joint_origin(&self) -> String {
        match &self.joint {
            Some(joint) => joint.origin(),
            None => format!("usual for {} (common practice)", self.material.label()),
        }
    }

    /// Hazen–Williams C at an age: that of new pipe at 0, then in straight lines from row to row, and
    /// that of the last row ever after.
    pub fn c_at(&self, years: Ratio) -> Ratio {
        let mut before = (0.0, self.c.value.to_one());
        let years = years.to_one();
        for row in &self.c_by_age {
            let next = (row.years.to_one(), row.c.to_one());
            if years < next.0 {
                let share = ((years - before.0) / (next.0 - before.0)).clamp(0.0, 1.0);
                return Ratio::one(before.1 + share * (next.1 - before.1));
            }
            before = next;
        }
        Ratio::one(before.1)
    }

    /// Where [`Self::c_at`] has its value from.
    pub fn c_origin(&self, years: Ratio) -> String {
        let reached = |row: &&AgedC| years.to_one() > 0.0 && row.years > Ratio::one(0.0);
        let mut rows = self.c_by_age.iter().filter(reached);
        let after = rows
            .clone()
            .find(|row| row.years >= years)
            .or_else(|| rows.next_back());
        match after {
            Some(row) => format!(
                "{} at 0 years, at {} years {}: {}",
                self.c.origin(),
                row.years.to_one(),
                row.c.to_one(),
                row.source
            ),
            None => self.c.origin(),
        }
    }
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
    /// Nominal size; the outside diameter where the name tells none.
    pub fn nominal(&self) -> Length {
        nominal(&self.name).unwrap_or(self.outside)
    }

    /// Wall thickness.
    pub fn wall(&self) -> Length {
        (self.outside - self.inside) * 0.5
    }

    /// Dimension ratio: outside diameter over wall.
    pub fn dimension_ratio(&self) -> Ratio {
        Ratio::one(self.outside / self.wall())
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
        self.slowed_by_stones(coarse).map_or_else(
            || (1.0, "no stones to slow the digging".to_owned()),
            |factor| (factor.value.to_one(), factor.origin()),
        )
    }

    /// The time factor of the class of stones, `None` where there are too few to slow the digging.
    pub fn slowed_by_stones(&self, coarse: Ratio) -> Option<&Sourced<Ratio>> {
        let s = &self.stones;
        let steps = [
            (&s.extremely, &s.slow_extremely),
            (&s.very, &s.slow_very),
            (&s.gravelly, &s.slow_gravelly),
        ];
        let met = steps.iter().find(|(from, _)| coarse >= from.value);
        met.map(|(_, factor)| *factor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn c_falls_with_age_in_straight_lines_where_a_table_says_so() {
        let practice = Practice::embedded();
        let steel = &practice.pipe["galvanised_sch40"];
        let at = |years: f64| steel.c_at(Ratio::one(years)).to_one();
        let table = [
            (0.0, 120.0),
            (5.0, 110.0),
            (10.0, 100.0),
            (30.0, 80.0),
            (90.0, 60.0),
        ];
        for (years, c) in table {
            assert!((at(years) - c).abs() < 1e-9, "{years}");
        }
        assert!(steel.c_origin(Ratio::one(20.0)).contains("at 30 years 80"));
        assert!(steel.c_origin(Ratio::one(90.0)).contains("at 50 years 60"));
        assert_eq!(steel.c_origin(Ratio::one(0.0)), steel.c.origin());
        let pvc = &practice.pipe["pvc_sch40"];
        assert_eq!(pvc.c_at(Ratio::one(40.0)), pvc.c.value);
        assert_eq!(pvc.c_origin(Ratio::one(40.0)), pvc.c.origin());
    }
}
