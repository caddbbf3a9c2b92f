//! What is not known before the ground is open: each with its lowest, likeliest and highest value.

use super::Moisture;
use crate::Sourced;
use crate::sourced::FromScalar;
use quantity::Ratio;
use serde::Deserialize;
use std::collections::BTreeMap;

/// How uncertain the ground and the work are.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Risk {
    /// How many trials are drawn.
    pub trials: Sourced<u32>,
    /// Chance with which the contingency has to do.
    pub confidence: Sourced<Ratio>,
    /// How the values between lowest and highest are spread.
    pub shape: Sourced<Shape>,
    /// How fast the work goes.
    pub pace: Paces,
    /// Stones in the soil.
    pub stones: StoneRisk,
    /// How wet the soil is on the days of the work.
    pub moisture: MoistureRisk,
    /// Buried services that are crossed.
    pub service: ServiceRisk,
    /// Rock, or ground so stony that it is dug like rock.
    pub rock: RockRisk,
    /// Days lost to the weather.
    pub weather: WeatherRisk,
    /// Material prices over those of the price book.
    pub material: Points,
}

/// A value of three points.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Points {
    /// None lower is met.
    pub low: Sourced<Ratio>,
    /// The likeliest.
    pub likely: Sourced<Ratio>,
    /// None higher is met.
    pub high: Sourced<Ratio>,
}

/// How the values between three points are spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// In straight lines up to the likeliest and down again.
    Triangular,
    /// The beta distribution of PERT, with four times the weight at the likeliest.
    Pert,
}

impl Shape {
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Triangular => "triangular",
            Self::Pert => "PERT",
        }
    }
}

impl FromScalar for Shape {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "triangular" => Ok(Self::Triangular),
            "pert" => Ok(Self::Pert),
            _ => Err(format!("\"{text}\" is neither triangular nor pert")),
        }
    }
}

/// Paces over those of the price book; 0.8 means that the work takes 1/0.8 of the time.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Paces {
    /// All work of the crew.
    pub crew: Points,
    /// Digging by hand, besides.
    pub hand: Points,
    /// Cutting trenches by machine, besides.
    pub trench: Points,
    /// Pulling pipe in, besides.
    pub pull: Points,
    /// Putting sleeves in, besides.
    pub sleeve: Points,
}

/// Stones in the soil.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StoneRisk {
    /// How far the coarse fragments may lie below those of the survey, in shares of volume.
    pub coarse_less: Sourced<Ratio>,
    /// How far above.
    pub coarse_more: Sourced<Ratio>,
    /// Time that stones add, over what the practice says they add.
    pub slow: Points,
}

/// How wet the soil is on the days of the work, one for the whole site.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MoistureRisk {
    /// Chance that it is a step drier than the survey says.
    pub drier: Sourced<Ratio>,
    /// Chance that it is a step wetter.
    pub wetter: Sourced<Ratio>,
    /// Time of digging over that in moist soil.
    pub dig: BTreeMap<Moisture, Sourced<Ratio>>,
    /// Time of filling and tamping over that with moist soil.
    pub fill: BTreeMap<Moisture, Sourced<Ratio>>,
}

/// Depth of buried services over that of the survey.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ServiceRisk {
    /// Of one that was located.
    pub located: Points,
    /// Of one that was not.
    pub unlocated: Points,
    /// How much of that the digging by hand in its tolerance zone follows; a test hole follows all of it.
    pub zone_follows: Sourced<Ratio>,
}

/// Rock, or ground so stony that it is dug like rock.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RockRisk {
    /// Share of the length of trench.
    pub share: Points,
    /// Digging time there over that in soil without stones.
    pub slow: Points,
}

/// Days lost to the weather.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WeatherRisk {
    /// Chance that a working day is lost.
    pub lost: Points,
    /// Share of a lost day that the crew is paid for.
    pub paid: Sourced<Ratio>,
}
