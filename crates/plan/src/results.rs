//! The plan: everything that the stages found out about a job.

use circuits::Grouping;
use crew::Schedule;
use digging::Digging;
use hydraulics::Hydraulics;
use job::Finding;
use price::Price;
use risk::Risk;
use routes::Network;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use staking::Staking;
use takeoff::Takeoff;
use working::Ledger;

/// The whole plan. Quantities are plain SI numbers: m, m², m³, m³/s, Pa, m/s, s; money is cents.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Plan {
    /// Version of this form of plan.
    pub format: u32,
    /// The job's name.
    pub job: String,
    /// Whether the job is invented.
    pub invented: bool,
    /// The circuits proposed, if heads of the job named none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grouping: Option<Grouping>,
    /// Routes.
    pub network: Network,
    /// Sizes and pressures.
    pub hydraulics: Hydraulics,
    /// Methods, sections, earthwork.
    pub digging: Digging,
    /// Material.
    pub takeoff: Takeoff,
    /// Days.
    pub schedule: Schedule,
    /// Cost and price.
    pub price: Price,
    /// How far cost and days may be from this plan.
    #[serde(default)]
    pub risk: Risk,
    /// Points to mark on the ground.
    #[serde(default)]
    pub staking: Staking,
    /// Rounds of route, size, method and cost.
    pub rounds: u32,
    /// Warnings and cautions, by weight and then rule.
    pub findings: Vec<Finding>,
    /// The working of every figure.
    pub workings: Ledger,
}
