//! What has to be bought: the result of this stage.

use quantity::{Amount, Length, Money};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The material list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Takeoff {
    /// Everything to order, in groups: pipe, fittings, valves, wire, other.
    pub items: Vec<Item>,
    /// How each kind of pipe is cut from sticks or coils.
    pub cutting: Vec<Cutting>,
}

/// The group that an item belongs to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ItemGroup {
    /// Pipe.
    Pipe,
    /// Fittings.
    Fitting,
    /// Valves, boxes, backflow assembly, heads, controller.
    Component,
    /// Wire, cable, splices.
    Wire,
    /// Sleeves.
    Sleeve,
    /// Bedding, sod, other surface material.
    Ground,
}

/// One line of the material list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Item {
    /// Stable id, such as `pipe.pvc_sch40.1-in`; the id of the figure is `material.` with it.
    pub id: String,
    /// Its group.
    pub group: ItemGroup,
    /// In words.
    pub what: String,
    /// Quantity that the plan needs, waste and slack included.
    pub needed: Amount,
    /// Quantity to order, in whole sticks, coils or pieces where it is sold so.
    pub order: Amount,
    /// How it is sold, such as `20 ft sticks`; empty if by the unit of `order`.
    pub sold_as: String,
    /// Price of what is ordered.
    pub cost: Money,
}

/// How one kind of pipe is cut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cutting {
    /// The item's id.
    pub item: String,
    /// Length of one stick or coil.
    pub piece: Length,
    /// What is cut from each stick or coil.
    pub pieces: Vec<Vec<Length>>,
    /// No cutting of these pieces takes fewer sticks or coils; as many as there are in `pieces` if
    /// those are proved to be the fewest.
    pub bound: usize,
    /// Lost to the saw.
    pub kerf: Length,
    /// Left over: sticks or coils = pieces + kerf + waste.
    pub waste: Length,
}
