//! What the locate request names.

use crate::FixedPoint;
use job::Place;
use quantity::{Area, Length, Units};
use routes::StretchId;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where and how deep it will be dug, for those who mark their services.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LocateRequest {
    /// The areas, the largest first; more than one where the property line parts them.
    pub areas: Vec<DigArea>,
    /// All of them together.
    pub area: Area,
    /// How far they reach beyond the trenches.
    pub margin: Length,
    /// What `north` means in them, in words.
    pub north: String,
    /// The deepest cut; zero where nothing is dug.
    pub deepest: Length,
    /// The stretch that has it.
    pub deepest_at: Option<StretchId>,
}

/// One area in which it is dug.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DigArea {
    /// Its outline, clockwise as the plan is seen, each place once.
    pub outline: Vec<Place>,
    /// Those places of it at which it turns.
    pub corners: Vec<DigCorner>,
    /// What it takes up.
    pub area: Area,
}

/// A corner of a dig area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DigCorner {
    /// `A`, `B`, …; no two of a job are called the same.
    pub id: String,
    /// Where.
    pub at: Place,
    /// Index into [`crate::Staking::fixed`] of what it is told from.
    pub from: usize,
    /// The way there from it; none where the corner lies on it.
    pub steps: Vec<Step>,
    /// How far along the outline the next corner is.
    pub to_next: Length,
    /// In which direction it lies.
    pub heading: String,
    /// Whether the outline follows the property line until there.
    pub along_boundary: bool,
}

/// A distance in a direction.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Step {
    /// How far.
    pub length: Length,
    /// Which way, such as `north`.
    pub toward: String,
}

impl LocateRequest {
    /// All corners of all areas.
    pub fn corners(&self) -> impl Iterator<Item = &DigCorner> {
        self.areas.iter().flat_map(|area| &area.corners)
    }
}

impl DigCorner {
    /// Where it lies, in words: `12.0 ft west and 5.0 ft north of B1 corner 2`.
    pub fn place(&self, fixed: &[FixedPoint], units: Units) -> String {
        let name = fixed.get(self.from).map_or("", |fixed| fixed.name.as_str());
        let steps = self.steps.iter();
        let steps: Vec<String> = steps
            .map(|step| format!("{} {}", step.length.amount().show(units), step.toward))
            .collect();
        match steps.len() {
            0 => format!("at {name}"),
            _ => format!("{} of {name}", steps.join(" and ")),
        }
    }

    /// The side to the next corner, in words: `62.0 ft east`.
    pub fn side(&self, units: Units) -> String {
        let length = self.to_next.amount().show(units);
        match self.along_boundary {
            true => format!("{length} {} along the property line", self.heading),
            false => format!("{length} {}", self.heading),
        }
    }
}
