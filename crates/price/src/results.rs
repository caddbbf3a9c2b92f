//! What it costs: the result of this stage.

use quantity::Money;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The price of the job. `lines` sum to `cost`; `cost + overhead + margin = total`, to the cent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Price {
    /// ISO 4217 code.
    pub currency: String,
    /// Cost lines.
    pub lines: Vec<CostLine>,
    /// Their sum.
    pub cost: Money,
    /// Added for overhead.
    pub overhead: Money,
    /// Added as margin.
    pub margin: Money,
    /// What the customer pays, taxes left out.
    pub total: Money,
}

/// The group that a cost line belongs to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum CostGroup {
    /// Labour.
    Labour,
    /// Machines: hire, mobilisation, fuel.
    Machine,
    /// Material.
    Material,
    /// Putting surfaces back, material only.
    Restoration,
    /// Hauling, protection of trenches.
    Other,
}

/// One cost line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CostLine {
    /// Stable id; the id of the figure is `price.` with it.
    pub id: String,
    /// Its group.
    pub group: CostGroup,
    /// In words.
    pub what: String,
    /// The amount.
    pub amount: Money,
}
