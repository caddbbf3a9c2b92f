//! What a crew takes along to stake the site.

use crate::LocateRequest;
use job::{Finding, Place};
use quantity::{Angle, Length};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// All points to mark, and what they are measured from.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Staking {
    /// The line along which stations are counted.
    pub baseline: Option<Baseline>,
    /// What tapes are held at; [`Distance::fixed`] counts in it from 0.
    pub fixed: Vec<FixedPoint>,
    /// The points, in the order in which the stretches are listed; components apart from them last.
    pub points: Vec<StakePoint>,
    /// The area that is white-lined and named in the locate request.
    #[serde(default)]
    pub request: LocateRequest,
    /// What stands against staking.
    pub findings: Vec<Finding>,
}

/// A line along which stations are counted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Baseline {
    /// The feature that it is or lies on.
    pub feature: String,
    /// Which line of the feature it is, in words.
    pub which: String,
    /// Station nought.
    pub from: Place,
    /// The place towards which stations grow.
    pub to: Place,
}

/// A point that a tape is held at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FixedPoint {
    /// What it is called, such as `B1 corner 2`; no two are called the same.
    pub name: String,
    /// The feature that it belongs to.
    pub feature: String,
    /// Where.
    pub at: Place,
}

/// A point to mark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StakePoint {
    /// `STK1`, `STK2` …
    pub id: String,
    /// What is there.
    pub roles: Vec<Role>,
    /// The components and services there, in the order of the roles.
    pub features: Vec<String>,
    /// Where.
    pub at: Place,
    /// How far along the baseline.
    pub station: Length,
    /// How far from it.
    pub offset: Length,
    /// On which side of it, seen in its direction; nothing on the line itself.
    pub side: Option<Side>,
    /// Two distances that fix it, if there are such.
    pub tie: Option<Tie>,
    /// Why there is no tie, and the nearest fixed points; empty if there is one.
    pub untied: String,
}

/// What a point is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// The water source.
    Source,
    /// The backflow assembly.
    Backflow,
    /// The controller.
    Controller,
    /// A valve.
    Valve,
    /// Valves in one box.
    Manifold,
    /// A head.
    Head,
    /// Where a drip area is fed.
    Drip,
    /// An end of a cable.
    CableEnd,
    /// Where trenches meet.
    Junction,
    /// Where a trench ends.
    End,
    /// Where a trench turns.
    Bend,
    /// Where a trench crosses a buried service.
    Crossing,
    /// An end of a sleeve.
    SleeveEnd,
}

impl Role {
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Source => "source",
            Self::Backflow => "backflow assembly",
            Self::Controller => "controller",
            Self::Valve => "valve",
            Self::Manifold => "manifold",
            Self::Head => "head",
            Self::Drip => "drip point",
            Self::CableEnd => "cable end",
            Self::Junction => "junction",
            Self::End => "end",
            Self::Bend => "bend",
            Self::Crossing => "crossing",
            Self::SleeveEnd => "sleeve end",
        }
    }
}

/// A side of a line, seen in its direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// A distance from a fixed point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Distance {
    /// Index into [`Staking::fixed`].
    pub fixed: usize,
    /// The distance.
    pub length: Length,
}

/// Two distances that fix a point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Tie {
    /// From the first fixed point.
    pub first: Distance,
    /// From the second.
    pub second: Distance,
    /// On which side the point lies, seen from the first fixed point towards the second.
    pub side: Side,
    /// The angle at which the tapes cross, from 0° to 90°.
    pub angle: Angle,
    /// Expected error of the place: a standard deviation.
    pub error: Length,
    /// Whether the tapes cross at less than the practice's least angle.
    pub flat: bool,
    /// A third distance, to check with.
    pub check: Option<Distance>,
}

impl Staking {
    /// How many points have no tie.
    pub fn untied(&self) -> usize {
        self.points.iter().filter(|p| p.tie.is_none()).count()
    }

    /// The tie with the largest expected error.
    pub fn worst(&self) -> Option<(&StakePoint, &Tie)> {
        self.points
            .iter()
            .filter_map(|point| Some((point, point.tie.as_ref()?)))
            .max_by(|a, b| a.1.error.total_cmp(&b.1.error))
    }
}
