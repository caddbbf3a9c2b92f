//! What has to be bought: the result of this stage.

use quantity::{Amount, Length, Money};
use routes::NodeId;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The material list.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Takeoff {
    /// Everything to order, in groups: pipe, fittings, valves, wire, other.
    pub items: Vec<Item>,
    /// How each kind of pipe is cut from sticks or coils.
    pub cutting: Vec<Cutting>,
    /// How runs of wire are cut from spools.
    #[serde(default)]
    pub spools: Vec<Spooling>,
    /// What each counter comes to, in the order in which they are visited.
    #[serde(default)]
    pub counters: Vec<CounterSum>,
    /// Ends of pipe and sockets of fittings by size.
    #[serde(default)]
    pub joints: Vec<Joints>,
    /// Turns of flexible pipe that are laid in a bend, without a fitting.
    #[serde(default)]
    pub bends: Vec<Bends>,
    /// Where connectors join valve wire, as far as the place is known; long runs are joined where their
    /// spool ends.
    #[serde(default)]
    pub splices: Vec<Splice>,
}

/// The group that an item belongs to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ItemGroup {
    /// Pipe.
    Pipe,
    /// Fittings and what joints use up.
    Fitting,
    /// Valves, boxes, backflow assembly, heads, controller.
    Component,
    /// Wire, cable, splices.
    Wire,
    /// Sleeves.
    Sleeve,
    /// Bedding, sod, other surface material, paint and flags.
    Ground,
}

/// The part of the order that one asks for at one counter of a supplier.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Counter {
    /// Pipe and sleeves.
    #[default]
    Pipe,
    /// Fittings, swing joints, cement, clamps.
    Fittings,
    /// Wire, cable, connectors, tape, controller.
    Wire,
    /// Valve boxes and what stands in and beside them: valves, backflow assembly, heads, drip feeds.
    Boxes,
    /// Bedding, sod, other surface material, pins, paint, flags.
    Ground,
}

impl Counter {
    /// All of them, in the order in which they are visited.
    pub const ALL: [Self; 5] = [
        Self::Pipe,
        Self::Fittings,
        Self::Wire,
        Self::Boxes,
        Self::Ground,
    ];

    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Pipe => "pipe",
            Self::Fittings => "fittings",
            Self::Wire => "wire",
            Self::Boxes => "boxes",
            Self::Ground => "ground",
        }
    }
}

/// One line of the material list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Item {
    /// Stable id, such as `pipe.pvc_sch40.1-in`; the id of the figure is `material.` with it.
    pub id: String,
    /// Its group.
    pub group: ItemGroup,
    /// Where it is asked for.
    #[serde(default)]
    pub counter: Counter,
    /// In words.
    pub what: String,
    /// Quantity that goes into the ground, slack included and waste not; in the unit of `needed`.
    #[serde(default)]
    pub net: Option<Amount>,
    /// Quantity that the plan needs, waste and slack included.
    pub needed: Amount,
    /// Quantity to order, in whole sticks, coils, packs or pieces where it is sold so.
    pub order: Amount,
    /// How it is sold, such as `20 ft sticks`; empty if by the unit of `order`.
    pub sold_as: String,
    /// What is ordered beyond `net`, in the unit of `needed`: allowance, and what whole packs make more.
    #[serde(default)]
    pub waste: Option<Amount>,
    /// Price of what is ordered.
    pub cost: Money,
    /// The part of `cost` that `waste` makes.
    #[serde(default)]
    pub waste_cost: Money,
}

/// What one counter comes to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CounterSum {
    /// The counter.
    pub counter: Counter,
    /// How many lines.
    pub lines: usize,
    /// Price of all of them.
    pub cost: Money,
    /// The part of it that is waste.
    pub waste: Money,
}

/// How one kind of pipe is cut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cutting {
    /// The item's id.
    pub item: String,
    /// Length of one stick or coil.
    pub piece: Length,
    /// What is cut from each stick or coil; nothing from those that are spare.
    pub pieces: Vec<Vec<Length>>,
    /// Where each of these pieces goes.
    #[serde(default)]
    pub places: Vec<Vec<String>>,
    /// No cutting of these pieces takes fewer sticks or coils; as many as there are in `pieces` if
    /// those are proved to be the fewest.
    pub bound: usize,
    /// Lost to the saw.
    pub kerf: Length,
    /// Left over: sticks or coils = pieces + kerf + waste.
    pub waste: Length,
}

/// How one kind of wire is cut from spools.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spooling {
    /// The item's id.
    pub item: String,
    /// Every spool; nothing is cut from those that are spare.
    pub spools: Vec<Spool>,
    /// No choice of spools for these pieces is shorter, all together.
    pub bound: Length,
}

/// A spool of wire.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spool {
    /// Its length.
    pub length: Length,
    /// What is cut from it.
    pub pieces: Vec<Length>,
    /// Where each of these pieces goes.
    pub places: Vec<String>,
}

/// A place at which valve wire is joined.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Splice {
    /// The valve, or the node at which the common conductor parts.
    pub at: NodeId,
    /// How many connectors.
    pub connectors: usize,
    /// What they join, in words.
    pub joins: String,
}

/// Ends of pipe and sockets of fittings of one size: `2 × pieces = sockets + open`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Joints {
    /// Pipe family.
    pub family: String,
    /// Nominal size.
    pub size: String,
    /// How they are joined.
    pub joint: String,
    /// Pieces as they are cut, those of sleeves included.
    pub pieces: usize,
    /// Sockets for pipe on all fittings of the plan.
    pub sockets: usize,
    /// Ends without a fitting: those of sleeves.
    pub open: usize,
}

/// Turns of one size of flexible pipe that are laid in a bend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Bends {
    /// Pipe family.
    pub family: String,
    /// Nominal size.
    pub size: String,
    /// How many.
    pub count: usize,
    /// Least radius of any of them.
    pub radius: Length,
    /// How far any of them leaves the corner of the planned line, on its inside.
    pub off_corner: Length,
}
