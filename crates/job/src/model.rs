//! What a job says, in SI units, checked.

use crate::{Curve, MethodId, Place, Practice, PriceBook};
use geo::{LineString, Polygon};
use quantity::{Flow, Length, Precipitation, Pressure, Ratio, Units};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Everything that a plan is made from.
#[derive(Debug, Clone)]
pub struct Job {
    /// The job's name.
    pub name: String,
    /// Whether the job is marked as invented, as demo jobs are.
    pub invented: bool,
    /// The unit of the coordinates in the file.
    pub length_unit: LengthUnit,
    /// The units in which its people read.
    pub units: Units,
    /// The seed of everything random.
    pub seed: u64,
    /// Where on the Earth the plane lies, if known.
    pub anchor: Option<Anchor>,
    /// What is on the property and in its ground.
    pub survey: Survey,
    /// What has to be connected.
    pub system: System,
    /// Where its people want trenches, and where not.
    pub decisions: Decisions,
    /// The local rules.
    pub practice: Practice,
    /// Prices, production rates and machines.
    pub prices: PriceBook,
}

/// The unit of the coordinates in a job file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum LengthUnit {
    /// Metres.
    M,
    /// International feet.
    Ft,
}

impl LengthUnit {
    /// As it is written.
    pub fn name(self) -> &'static str {
        match self {
            Self::M => "m",
            Self::Ft => "ft",
        }
    }

    /// Metres in one of it.
    pub fn to_m(self) -> f64 {
        match self {
            Self::M => 1.0,
            Self::Ft => Length::ft(1.0).to_m(),
        }
    }
}

/// Where on the Earth the origin of the local plane lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Anchor {
    /// Degrees east.
    pub longitude: f64,
    /// Degrees north.
    pub latitude: f64,
    /// Degrees clockwise from true north to the plane's y axis.
    #[serde(default)]
    pub rotation: f64,
    /// Height of the plane above the ellipsoid, by which lengths on the ground are longer than on it.
    #[serde(
        default,
        with = "crate::field::length_text",
        skip_serializing_if = "is_nought"
    )]
    #[schemars(with = "String")]
    pub height: Length,
}

fn is_nought(length: &Length) -> bool {
    *length == Length::m(0.0)
}

/// What is on the property and in its ground.
#[derive(Debug, Clone)]
pub struct Survey {
    /// The property line; nothing is dug outside.
    pub boundary: Boundary,
    /// Surfaces in the order of the file; where two overlap, the later one counts.
    pub surfaces: Vec<Surface>,
    /// What stands in the way.
    pub obstacles: Vec<Obstacle>,
    /// Trees.
    pub trees: Vec<Tree>,
    /// Buried services of others.
    pub utilities: Vec<Utility>,
    /// Soils in the order of the file; where two overlap, the later one counts.
    pub soils: Vec<SoilArea>,
    /// Areas of a known slope.
    pub steeps: Vec<Steep>,
    /// Spot elevations.
    pub spots: Vec<Spot>,
    /// Gates in fences and walls.
    pub gates: Vec<Gate>,
    /// Where machines get in; at least one.
    pub accesses: Vec<Access>,
    /// Points that stay where they are and can be found again, to measure from.
    pub marks: Vec<Mark>,
    /// The line along which stations are counted, if the job states one.
    pub baseline: Option<Baseline>,
}

/// The property line.
#[derive(Debug, Clone)]
pub struct Boundary {
    /// The feature's id.
    pub id: String,
    /// The property.
    pub polygon: Polygon,
}

/// What covers the ground.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum SurfaceKind {
    /// Established lawn that the customer keeps.
    LawnKept,
    /// Lawn that will be redone anyway.
    LawnRedone,
    /// Planting bed.
    Bed,
    /// Bare soil.
    BareSoil,
    /// Loose gravel.
    Gravel,
    /// Concrete slab or walk.
    Concrete,
    /// Asphalt.
    Asphalt,
    /// Laid pavers or flags.
    Pavers,
}

impl SurfaceKind {
    /// All kinds.
    pub const ALL: [Self; 8] = [
        Self::LawnKept,
        Self::LawnRedone,
        Self::Bed,
        Self::BareSoil,
        Self::Gravel,
        Self::Concrete,
        Self::Asphalt,
        Self::Pavers,
    ];

    /// Whether it is crossed only through a sleeve.
    pub fn is_paved(self) -> bool {
        matches!(self, Self::Concrete | Self::Asphalt | Self::Pavers)
    }

    /// Whether vehicles may stand on it, so that covers for traffic hold.
    pub fn bears_traffic(self) -> bool {
        matches!(self, Self::Concrete | Self::Asphalt)
    }

    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::LawnKept => "lawn kept",
            Self::LawnRedone => "lawn redone",
            Self::Bed => "planting bed",
            Self::BareSoil => "bare soil",
            Self::Gravel => "gravel",
            Self::Concrete => "concrete",
            Self::Asphalt => "asphalt",
            Self::Pavers => "pavers",
        }
    }
}

/// A surface; without a polygon it is what lies wherever no other does.
#[derive(Debug, Clone)]
pub struct Surface {
    /// The feature's id.
    pub id: String,
    /// What it is.
    pub kind: SurfaceKind,
    /// Where it lies.
    pub polygon: Option<Polygon>,
}

/// What stands in the way.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ObstacleKind {
    /// A building.
    Building,
    /// A wall with a footing: neither trench nor machine passes.
    Wall,
    /// A fence: machines do not pass, a trench may be dug under it by hand.
    Fence,
    /// A pool or pond.
    Pool,
    /// A boulder.
    Boulder,
    /// Anything else.
    Other,
}

impl ObstacleKind {
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Building => "building",
            Self::Wall => "wall",
            Self::Fence => "fence",
            Self::Pool => "pool",
            Self::Boulder => "boulder",
            Self::Other => "obstacle",
        }
    }
}

/// The outline of an obstacle.
#[derive(Debug, Clone)]
pub enum Shape {
    /// A closed outline.
    Area(Polygon),
    /// A line, such as a wall or a fence.
    Line(LineString),
}

/// Something that stands in the way.
#[derive(Debug, Clone)]
pub struct Obstacle {
    /// The feature's id.
    pub id: String,
    /// What it is.
    pub kind: ObstacleKind,
    /// Its outline.
    pub shape: Shape,
}

/// A tree.
#[derive(Debug, Clone)]
pub struct Tree {
    /// The feature's id.
    pub id: String,
    /// The middle of its trunk.
    pub at: Place,
    /// Diameter of the trunk at breast height.
    pub trunk: Length,
    /// Radius inside which roots are protected, if the job gives it; else the practice rule counts.
    pub root_radius: Option<Length>,
}

/// The class of a buried service, after the uniform colour code for marking.
///
/// Source: APWA uniform colour code.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ServiceClass {
    /// Electric power lines, cables, conduit and lighting cables; red.
    Electric,
    /// Gas, oil, steam, petroleum or gaseous materials; yellow.
    Gas,
    /// Communication, alarm or signal lines, cables or conduit; orange.
    Communication,
    /// Potable water; blue.
    PotableWater,
    /// Reclaimed water, irrigation and slurry lines; purple.
    ReclaimedWater,
    /// Sewers and drain lines; green.
    Sewer,
}

impl ServiceClass {
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Electric => "electric",
            Self::Gas => "gas",
            Self::Communication => "communication",
            Self::PotableWater => "potable water",
            Self::ReclaimedWater => "reclaimed water",
            Self::Sewer => "sewer or drain",
        }
    }

    /// The marking colour's name.
    pub fn colour(self) -> &'static str {
        match self {
            Self::Electric => "red",
            Self::Gas => "yellow",
            Self::Communication => "orange",
            Self::PotableWater => "blue",
            Self::ReclaimedWater => "purple",
            Self::Sewer => "green",
        }
    }
}

/// A buried service of someone else.
#[derive(Debug, Clone)]
pub struct Utility {
    /// The feature's id.
    pub id: String,
    /// Its class.
    pub class: ServiceClass,
    /// Where it is believed to lie.
    pub line: LineString,
    /// Its outside width, if known; nothing if not.
    pub width: Length,
    /// Depth from the surface to its top, if known.
    pub depth: Option<Length>,
    /// Whether it was located.
    pub located: bool,
    /// Whether it is marked on the ground.
    pub marked: bool,
}

/// The twelve USDA soil texture classes.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // the names are the standard's own
pub enum Texture {
    Sand,
    LoamySand,
    SandyLoam,
    Loam,
    SiltLoam,
    Silt,
    SandyClayLoam,
    ClayLoam,
    SiltyClayLoam,
    SandyClay,
    SiltyClay,
    Clay,
}

impl Texture {
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Sand => "sand",
            Self::LoamySand => "loamy sand",
            Self::SandyLoam => "sandy loam",
            Self::Loam => "loam",
            Self::SiltLoam => "silt loam",
            Self::Silt => "silt",
            Self::SandyClayLoam => "sandy clay loam",
            Self::ClayLoam => "clay loam",
            Self::SiltyClayLoam => "silty clay loam",
            Self::SandyClay => "sandy clay",
            Self::SiltyClay => "silty clay",
            Self::Clay => "clay",
        }
    }
}

/// How wet the soil is when it is dug.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Moisture {
    /// Dry.
    Dry,
    /// Moist.
    Moist,
    /// Wet.
    Wet,
}

/// What the ground is made of.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Soil {
    /// USDA texture class.
    pub texture: Texture,
    /// Coarse fragments (over 2 mm) by volume.
    pub coarse: Ratio,
    /// Size of the largest stones met in it, if known.
    pub stone: Option<Length>,
    /// How wet it is.
    pub moisture: Moisture,
}

/// A soil; without a polygon it is what lies wherever no other does.
#[derive(Debug, Clone)]
pub struct SoilArea {
    /// The feature's id.
    pub id: String,
    /// The soil.
    pub soil: Soil,
    /// Where it lies.
    pub polygon: Option<Polygon>,
}

/// An area of a known slope.
#[derive(Debug, Clone)]
pub struct Steep {
    /// The feature's id.
    pub id: String,
    /// Rise over run.
    pub slope: Ratio,
    /// Where it lies.
    pub polygon: Polygon,
}

/// A spot elevation.
#[derive(Debug, Clone)]
pub struct Spot {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub at: Place,
    /// Height above the job's own datum.
    pub elevation: Length,
}

/// A gate: machines pass across the line between its posts.
#[derive(Debug, Clone)]
pub struct Gate {
    /// The feature's id.
    pub id: String,
    /// One post.
    pub from: Place,
    /// The other post.
    pub to: Place,
    /// The clear width between the posts as measured; it counts, not the drawing.
    pub clear_width: Length,
}

/// Where machines get in.
#[derive(Debug, Clone)]
pub struct Access {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub at: Place,
}

/// A point that stays where it is and can be found again: a pin, a nail, a corner of masonry.
#[derive(Debug, Clone)]
pub struct Mark {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub at: Place,
}

/// A line along which stations are counted.
#[derive(Debug, Clone)]
pub struct Baseline {
    /// The feature's id.
    pub id: String,
    /// Station nought.
    pub from: Place,
    /// The place towards which stations grow.
    pub to: Place,
}

/// What has to be connected.
#[derive(Debug, Clone)]
pub struct System {
    /// Where the water comes from.
    pub source: Source,
    /// The backflow assembly, between the source and the valves.
    pub backflow: Backflow,
    /// The controller, if any valve is wired.
    pub controller: Option<Controller>,
    /// Circuits, in the order of the file.
    pub circuits: Vec<Circuit>,
    /// Valves; every circuit has one.
    pub valves: Vec<Valve>,
    /// Places where the valves of circuits may stand that the job leaves to the plan.
    pub manifolds: Vec<Manifold>,
    /// Heads and drip points.
    pub outlets: Vec<Outlet>,
    /// Cables of other services that want to share trenches.
    pub cables: Vec<Cable>,
    /// Sleeves that lie under paving already.
    pub sleeves: Vec<Sleeve>,
}

/// Where the water comes from.
#[derive(Debug, Clone)]
pub struct Source {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub at: Place,
    /// Pressure with nothing running.
    pub static_pressure: Pressure,
    /// Flow of the flowing test.
    pub test_flow: Flow,
    /// Pressure left in the flowing test.
    pub residual_pressure: Pressure,
    /// Nominal size of the service pipe; it is a name of the main's pipe table.
    pub service_size: String,
    /// Pipe family of the main; a key of the practice file's `pipe` table.
    pub main_pipe: String,
    /// Pressure that a booster pump adds, by flow.
    pub pump: Option<Curve>,
    /// Pressure the meter takes, by flow.
    pub meter_loss: Option<Curve>,
    /// Pressure a filter takes, by flow.
    pub filter_loss: Option<Curve>,
    /// Pressure that a regulator behind all of these lets through at most.
    pub regulated: Option<Pressure>,
}

/// The backflow assembly.
#[derive(Debug, Clone)]
pub struct Backflow {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub at: Place,
    /// Pressure it takes, by flow, if the job gives it; else the practice value counts.
    pub loss: Option<Curve>,
}

/// The controller.
#[derive(Debug, Clone)]
pub struct Controller {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub at: Place,
}

/// Heads that run together behind one valve.
#[derive(Debug, Clone)]
pub struct Circuit {
    /// The feature's id.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// Pipe family of its laterals; a key of the practice file's `pipe` table.
    pub pipe: String,
    /// Id of another circuit that may run at the same time.
    pub runs_with: Option<String>,
}

/// A valve.
#[derive(Debug, Clone)]
pub struct Valve {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub at: Place,
    /// Id of the circuit it opens.
    pub circuit: String,
    /// Name of the manifold it sits on with others, if any: one box for all of them.
    pub manifold: Option<String>,
    /// Pressure it takes fully open, by flow, if the job gives it; else the practice value counts.
    pub loss: Option<Curve>,
}

/// A place where valves may stand together.
#[derive(Debug, Clone)]
pub struct Manifold {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub at: Place,
}

/// What kind of outlet.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum OutletKind {
    /// A sprinkler head.
    Head,
    /// The point at which a drip area is fed.
    Drip,
}

/// A head, or the point at which a drip area is fed.
#[derive(Debug, Clone)]
pub struct Outlet {
    /// The feature's id.
    pub id: String,
    /// Which.
    pub kind: OutletKind,
    /// Where.
    pub at: Place,
    /// Id of its circuit; empty if the job leaves that to the plan.
    pub circuit: String,
    /// The flow it needs.
    pub flow: Flow,
    /// The pressure it needs at that flow.
    pub pressure: Pressure,
    /// n in flow = k × pressureⁿ, if the job gives it; else the practice value counts.
    pub exponent: Option<Ratio>,
    /// Whether it gives the same flow at any pressure from the stated one on.
    pub compensating: bool,
    /// The depth of water that it puts down in a time, if the job states it.
    pub precipitation: Option<Precipitation>,
}

/// A cable of another service, such as low-voltage lighting.
#[derive(Debug, Clone)]
pub struct Cable {
    /// The feature's id.
    pub id: String,
    /// What it is, in the user's words.
    pub service: String,
    /// The places it joins, at least two; the first feeds the others.
    pub points: Vec<Place>,
}

/// A sleeve that lies under paving already.
#[derive(Debug, Clone)]
pub struct Sleeve {
    /// The feature's id.
    pub id: String,
    /// One end.
    pub from: Place,
    /// The other end.
    pub to: Place,
    /// Its inside diameter.
    pub inside: Length,
}

/// What people have decided about where trenches run.
#[derive(Debug, Clone, Default)]
pub struct Decisions {
    /// Places where nothing is dug.
    pub keep_outs: Vec<KeepOut>,
    /// Strips in which trenches are preferred.
    pub corridors: Vec<Corridor>,
    /// Trenches that run where they are drawn.
    pub fixed: Vec<FixedTrench>,
}

/// A place where nothing is dug.
#[derive(Debug, Clone)]
pub struct KeepOut {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub polygon: Polygon,
    /// Why, in the user's words.
    pub reason: Option<String>,
}

/// A strip in which trenches are preferred.
#[derive(Debug, Clone)]
pub struct Corridor {
    /// The feature's id.
    pub id: String,
    /// Where.
    pub polygon: Polygon,
    /// By which part a metre of trench in it counts cheaper when ways are compared.
    pub favour: Ratio,
}

/// A trench that runs where it is drawn.
#[derive(Debug, Clone)]
pub struct FixedTrench {
    /// The feature's id.
    pub id: String,
    /// Its centre line.
    pub line: LineString,
    /// What lies in it; never empty.
    pub carries: Vec<Carried>,
    /// The method that puts it in, if that is decided.
    pub method: Option<MethodId>,
}

/// A line that a fixed trench carries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Carried {
    /// Pipe from the source to the backflow assembly.
    Service,
    /// Pipe from the backflow assembly to the valves.
    Main,
    /// Wire from the controller to the valves.
    Wire,
    /// The lateral of a circuit, by its id.
    Lateral(String),
    /// A cable of another service, by its id.
    Cable(String),
}

impl Job {
    /// The circuit of an id. A checked job has one for every id that its features name.
    pub fn circuit(&self, id: &str) -> Option<&Circuit> {
        self.system.circuits.iter().find(|c| c.id == id)
    }

    /// The valve of a circuit. A checked job has one for every circuit.
    pub fn valve_of(&self, circuit: &str) -> Option<&Valve> {
        self.system.valves.iter().find(|v| v.circuit == circuit)
    }

    /// The outlets of a circuit, in the order of the file.
    pub fn outlets_of<'a>(&'a self, circuit: &'a str) -> impl Iterator<Item = &'a Outlet> {
        self.system
            .outlets
            .iter()
            .filter(move |o| o.circuit == circuit)
    }

    /// The ids of all features.
    pub fn ids(&self) -> BTreeSet<&str> {
        let (survey, system, decisions) = (&self.survey, &self.system, &self.decisions);
        let mut ids = BTreeSet::from([
            survey.boundary.id.as_str(),
            system.source.id.as_str(),
            system.backflow.id.as_str(),
        ]);
        ids.extend(survey.surfaces.iter().map(|f| f.id.as_str()));
        ids.extend(survey.obstacles.iter().map(|f| f.id.as_str()));
        ids.extend(survey.trees.iter().map(|f| f.id.as_str()));
        ids.extend(survey.utilities.iter().map(|f| f.id.as_str()));
        ids.extend(survey.soils.iter().map(|f| f.id.as_str()));
        ids.extend(survey.steeps.iter().map(|f| f.id.as_str()));
        ids.extend(survey.spots.iter().map(|f| f.id.as_str()));
        ids.extend(survey.gates.iter().map(|f| f.id.as_str()));
        ids.extend(survey.accesses.iter().map(|f| f.id.as_str()));
        ids.extend(survey.marks.iter().map(|f| f.id.as_str()));
        ids.extend(survey.baseline.iter().map(|f| f.id.as_str()));
        ids.extend(system.controller.iter().map(|f| f.id.as_str()));
        ids.extend(system.circuits.iter().map(|f| f.id.as_str()));
        ids.extend(system.valves.iter().map(|f| f.id.as_str()));
        ids.extend(system.manifolds.iter().map(|f| f.id.as_str()));
        ids.extend(system.outlets.iter().map(|f| f.id.as_str()));
        ids.extend(system.cables.iter().map(|f| f.id.as_str()));
        ids.extend(system.sleeves.iter().map(|f| f.id.as_str()));
        ids.extend(decisions.keep_outs.iter().map(|f| f.id.as_str()));
        ids.extend(decisions.corridors.iter().map(|f| f.id.as_str()));
        ids.extend(decisions.fixed.iter().map(|f| f.id.as_str()));
        ids
    }

    /// The outlets whose circuit the job leaves to the plan, in the order of the file.
    pub fn ungrouped(&self) -> impl Iterator<Item = &Outlet> {
        self.system.outlets.iter().filter(|o| o.circuit.is_empty())
    }

    /// The radius inside which a tree's roots are protected: as given, else trunk diameter times the
    /// practice's ratio.
    pub fn root_radius(&self, tree: &Tree) -> Length {
        tree.root_radius
            .unwrap_or(tree.trunk * self.practice.roots.radius_per_trunk.value.to_one())
    }
}
