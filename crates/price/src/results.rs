//! What it costs: the result of this stage.

use job::{ProfitBy, TaxClass};
use quantity::{Money, Ratio};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The price of the job. `lines` sum to `cost`; `cost + overhead + profit = total`; `total` and the taxes
/// sum to `with_tax`; `parts` sum to `total`: all to the cent.
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
    /// What is earned.
    pub profit: Money,
    /// Which of the two shares below the price book states.
    pub profit_by: ProfitBy,
    /// The profit's share of the price before tax.
    pub margin: Ratio,
    /// The profit's share of the cost with overhead.
    pub markup: Ratio,
    /// The price before tax.
    pub total: Money,
    /// Taxes that the customer pays on top.
    pub taxes: Vec<TaxLine>,
    /// What the customer pays.
    pub with_tax: Money,
    /// The price before tax by groups of lines; overhead, profit and what else is spread are in each.
    pub parts: Vec<Part>,
    /// What trials of the ground make of it, if there were any.
    #[serde(default)]
    pub ranged: Option<Ranged>,
}

/// Prices before tax if the cost comes out otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Ranged {
    /// Of the cost that is not exceeded with a chance of 10 %, contingency left out.
    pub p10: Money,
    /// With 50 %.
    pub p50: Money,
    /// With 90 %.
    pub p90: Money,
    /// What a metre of trench in rock is sold for on top.
    pub rock_per_m: Money,
}

impl Price {
    /// The cost without what is set aside for what cannot be seen beforehand.
    pub fn direct_cost(&self) -> Money {
        let lines = self.lines.iter();
        let direct = lines.filter(|line| line.group != CostGroup::Contingency);
        direct.map(|line| line.amount).sum()
    }
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
    /// Work of others under paving.
    Subtrade,
    /// Putting surfaces back, without the crew's own work.
    Restoration,
    /// Hauling and tipping.
    Disposal,
    /// Permits and locates.
    Fee,
    /// Protection of trenches.
    Other,
    /// Taxes paid with what is bought; spread over the other groups in the parts of the price.
    Tax,
    /// Set aside for what cannot be seen beforehand; spread likewise.
    Contingency,
}

impl CostGroup {
    /// All groups, in the order in which they are told.
    pub const ALL: [Self; 10] = [
        Self::Labour,
        Self::Machine,
        Self::Material,
        Self::Subtrade,
        Self::Restoration,
        Self::Disposal,
        Self::Fee,
        Self::Other,
        Self::Tax,
        Self::Contingency,
    ];

    /// A short word, also the end of the id of its part of the price, `price.part.` with it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Labour => "labour",
            Self::Machine => "machines",
            Self::Material => "material",
            Self::Subtrade => "subtrades",
            Self::Restoration => "restoration",
            Self::Disposal => "disposal",
            Self::Fee => "fees",
            Self::Other => "other",
            Self::Tax => "tax",
            Self::Contingency => "contingency",
        }
    }

    /// Whether its lines are spread over the other groups, as overhead and profit are.
    pub fn is_spread(self) -> bool {
        matches!(self, Self::Tax | Self::Contingency)
    }
}

/// One cost line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CostLine {
    /// Stable id; the id of the figure is `price.` with it.
    pub id: String,
    /// Its group.
    pub group: CostGroup,
    /// By which it is taxed; nothing for what is spread over the classes, as overhead and profit are.
    pub class: Option<TaxClass>,
    /// In words.
    pub what: String,
    /// The amount.
    pub amount: Money,
}

/// A tax that the customer pays on top.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TaxLine {
    /// What is taxed.
    pub class: TaxClass,
    /// The part of the price before tax that is of this class.
    pub base: Money,
    /// The rate.
    pub rate: Ratio,
    /// base × rate, rounded once to the cent.
    pub amount: Money,
}

/// A part of the price before tax.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Part {
    /// The lines that it is for.
    pub group: CostGroup,
    /// Their cost with their share of overhead, profit and what else is spread.
    pub amount: Money,
}
