//! How far cost and days may be from the plan: the result of this stage.

use quantity::{Money, Ratio};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What trials with the ground as it might be come to.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Risk {
    /// How many trials were drawn.
    pub trials: u32,
    /// The seed of all of them.
    pub seed: u64,
    /// Change of the cost against the plan, before overhead and margin.
    pub cost: CostRange,
    /// Working days on site, those lost to the weather counted too.
    pub days: DaysRange,
    /// Share of the trials that cost no more than the plan.
    pub within_plan: f64,
    /// What moves the cost, the most first.
    pub causes: Vec<Cause>,
    /// Chance with which the contingency does.
    pub confidence: Ratio,
    /// What to set aside: the change of cost not exceeded with that chance, not below zero.
    pub contingency: Money,
    /// Its standard error.
    pub contingency_error: Money,
    /// What a metre of trench in rock costs beyond the plan.
    pub rock_per_m: Money,
    /// Changes of cost not exceeded with chances of 0 % to 100 %, in equal steps.
    pub quantiles: Vec<Money>,
    /// How many of the trials took how many days, by rising days.
    pub day_shares: Vec<DayShare>,
}

/// A change of cost that is not known for certain. `p10` is not exceeded with a chance of 10 %.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct CostRange {
    /// Not exceeded with 10 %.
    pub p10: Money,
    /// Not exceeded with 50 %.
    pub p50: Money,
    /// Not exceeded with 90 %.
    pub p90: Money,
    /// Mean of the trials.
    pub mean: Money,
    /// Standard deviation of the trials.
    pub deviation: Money,
    /// Standard errors of the three quantiles.
    pub errors: [Money; 3],
}

/// Days that are not known for certain.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct DaysRange {
    /// Not exceeded with 10 %.
    pub p10: u32,
    /// Not exceeded with 50 %.
    pub p50: u32,
    /// Not exceeded with 90 %.
    pub p90: u32,
    /// Mean of the trials.
    pub mean: f64,
    /// Standard deviation of the trials.
    pub deviation: f64,
}

/// Something that is not known and moves cost and days.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cause {
    /// Stable id; the id of the figure is `risk.cause.` with it.
    pub id: String,
    /// In words.
    pub what: String,
    /// Share of the variance of the cost that it explains by itself.
    pub share: f64,
    /// Share of the variance of the days that it explains by itself.
    pub share_of_days: f64,
    /// Change of cost where it stands at its low end and all else is as is likeliest.
    pub at_low: Money,
    /// The same at its high end.
    pub at_high: Money,
}

impl Cause {
    /// How far the cost moves from its one end to the other.
    pub fn swing(&self) -> Money {
        let (low, high) = (self.at_low, self.at_high);
        low.max(high) - low.min(high)
    }
}

/// How many of the trials took some days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DayShare {
    /// Working days on site.
    pub days: u32,
    /// Share of the trials.
    pub share: f64,
}
