//! What it costs that trenches turn and meet.

use crate::candidates::{cross, length};
use geo::Coord;
use job::Practice;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, TAU};

/// Bends and junctions of a network's trenches, and what they cost beyond digging and lines.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Turning {
    /// Places at which no trench runs straight through.
    pub bends: usize,
    /// Places at which three trenches or more meet.
    pub junctions: usize,
    /// What is made there with one more bend: each trench beyond the third, and each angle between
    /// neighbouring trenches that is sharper than there are fittings for.
    pub more: usize,
    /// What all of it costs, currency units.
    pub cost: f64,
}

/// The rule by which turning is counted and priced.
#[derive(Debug, Clone, Copy)]
pub struct TurningRule {
    bend_from: f64,
    least_angle: f64,
    bend: f64,
    junction: f64,
}

impl TurningRule {
    /// The rule of a practice at these prices for a bend and a junction.
    pub fn new(practice: &Practice, bend: f64, junction: f64) -> Self {
        Self {
            bend_from: practice.trench.bend_from.value.to_rad(),
            least_angle: practice.trench.least_angle.value.to_rad(),
            bend: bend.max(0.0),
            junction: junction.max(0.0),
        }
    }

    /// Adds a place from which trenches leave in these directions.
    pub fn add(&self, arms: &[Coord], sum: &mut Turning) {
        if arms.len() < 2 {
            return;
        }
        let (bends, more) = (usize::from(!self.runs_through(arms)), self.sharp(arms));
        let more = more + arms.len().saturating_sub(3);
        let junctions = usize::from(arms.len() > 2);
        sum.bends += bends;
        sum.more += more;
        sum.junctions += junctions;
        sum.cost += self.bend * (bends + more) as f64 + self.junction * junctions as f64;
    }

    /// What a place costs from which trenches leave in these directions.
    pub fn cost(&self, arms: &[Coord]) -> f64 {
        let mut sum = Turning::default();
        self.add(arms, &mut sum);
        sum.cost
    }

    fn runs_through(&self, arms: &[Coord]) -> bool {
        (0..arms.len())
            .any(|i| (i + 1..arms.len()).any(|j| PI - between(arms[i], arms[j]) < self.bend_from))
    }

    /// How many angles between neighbouring arms are too sharp.
    fn sharp(&self, arms: &[Coord]) -> usize {
        // A hair below, so that an angle drawn as the least one is not counted for its rounding.
        let least = self.least_angle - 1e-6;
        if arms.len() == 2 {
            return usize::from(between(arms[0], arms[1]) < least);
        }
        let mut bearings: Vec<f64> = arms.iter().map(|v| v.y.atan2(v.x)).collect();
        bearings.sort_by(f64::total_cmp);
        let next = |i: usize| match bearings.get(i + 1) {
            Some(next) => *next,
            None => bearings[0] + TAU,
        };
        (0..bearings.len())
            .filter(|i| next(*i) - bearings[*i] < least)
            .count()
    }
}

/// The angle between two directions, from 0 to π.
pub fn between(u: Coord, v: Coord) -> f64 {
    if length(u) <= 0.0 || length(v) <= 0.0 {
        return 0.0;
    }
    cross(u, v).abs().atan2(u.x * v.x + u.y * v.y)
}

#[cfg(test)]
#[allow(clippy::float_cmp)] // sums of whole prices are exact
mod tests {
    use super::*;
    use geo::coord;

    fn rule() -> TurningRule {
        TurningRule {
            bend_from: 5f64.to_radians(),
            least_angle: 45f64.to_radians(),
            bend: 1.0,
            junction: 10.0,
        }
    }

    fn at(degrees: &[f64]) -> Turning {
        let arm = |d: &f64| coord! {x: d.to_radians().cos(), y: d.to_radians().sin()};
        let arms: Vec<Coord> = degrees.iter().map(arm).collect();
        let mut sum = Turning::default();
        rule().add(&arms, &mut sum);
        sum
    }

    #[test]
    fn a_straight_run_costs_nothing_and_a_tee_less_than_a_star() {
        assert_eq!(at(&[10.0, 190.0]).cost, 0.0);
        assert_eq!(at(&[10.0, 187.0]).cost, 0.0);
        assert_eq!(at(&[0.0, 90.0]).cost, 1.0);
        assert_eq!(at(&[0.0, 90.0, 180.0]).cost, 10.0);
        assert_eq!(at(&[0.0, 120.0, 240.0]).cost, 11.0);
        assert_eq!(at(&[0.0, 90.0, 180.0, 270.0]).cost, 11.0);
    }

    #[test]
    fn a_sharp_angle_is_made_with_one_more_bend() {
        assert_eq!(at(&[0.0, 30.0]).cost, 2.0);
        assert_eq!(at(&[0.0, 45.0, 180.0]).cost, 10.0);
        assert_eq!(at(&[0.0, 30.0, 180.0]).cost, 11.0);
        assert_eq!(at(&[350.0, 20.0, 180.0]).more, 1);
    }
}
