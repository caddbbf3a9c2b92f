//! What pipe stands: tension, bends, scratches.

use crate::contents::{Layout, Thing};
use job::Job;
use job::practice::{Pull, PullMaterial};
use quantity::{Angle, Area, Force, Length, Pressure, Ratio};
use std::f64::consts::PI;

/// Standard gravity, m/s² (3rd General Conference on Weights and Measures, 1901).
const GRAVITY: f64 = 9.806_65;

/// Density to which specific gravity refers, kg/m³.
const WATER: f64 = 1000.0;

/// Allowable tension of pipe that is pulled in: fy ft Ty π D² (1/DR - 1/DR²), as in ASTM F1804, with
/// the tensile yield Ty, its factor fy, the factor ft for the time under tension, the outside
/// diameter D and the dimension ratio DR. The form of the equation is from memory.
pub fn allowable_tension(
    tensile_yield: Pressure,
    yield_factor: Ratio,
    time_factor: Ratio,
    outside: Length,
    dimension_ratio: Ratio,
) -> Force {
    let dr = dimension_ratio.to_one();
    let wall_area: Area = outside * outside * (PI * (1.0 / dr - 1.0 / (dr * dr)));
    tensile_yield * wall_area * (yield_factor.to_one() * time_factor.to_one())
}

/// Tension of a pull over straight legs with a turn between each two: every leg adds its length
/// times the force for a metre, every turn multiplies by e^(friction × turn). Of both directions in
/// which one may pull, the greater.
///
/// The turns act as on a rope over a bollard (Euler–Eytelwein).
pub fn tension(per_metre: Force, legs: &[Length], turns: &[Angle], friction: Ratio) -> Force {
    let one_way = |legs: &mut dyn Iterator<Item = &Length>,
                   turns: &mut dyn Iterator<Item = &Angle>| {
        let mut sum = Force::ZERO;
        for leg in legs {
            sum += per_metre * leg.to_m();
            if let Some(turn) = turns.next() {
                sum = sum * (friction.to_one() * turn.to_rad()).exp();
            }
        }
        sum
    };
    let there = one_way(&mut legs.iter(), &mut turns.iter());
    let back = one_way(&mut legs.iter().rev(), &mut turns.iter().rev());
    there.max(back)
}

/// Force for a metre of straight pull: weight of the empty pipe with its friction, uphill, and the
/// drag of the soil on its surface.
pub fn force_per_metre(
    rules: &Pull,
    specific_gravity: Ratio,
    (outside, inside): (Length, Length),
    slope: Ratio,
) -> Force {
    let wall = (outside * outside - inside * inside) * (PI / 4.0);
    let weight = wall.to_m2() * specific_gravity.to_one() * WATER * GRAVITY;
    let slope = slope.to_one();
    let along = (rules.friction.value.to_one() + slope) / slope.hypot(1.0);
    Force::n(weight * along) + rules.soil_drag.value * (outside * Length::m(PI))
}

/// Least bend radius of pipe over its outside diameter, by its dimension ratio: the row of the
/// nearest ratio that is not smaller; `None` beyond the table.
pub fn bend_ratio(material: &PullMaterial, dimension_ratio: Ratio) -> Option<Ratio> {
    material
        .bend
        .iter()
        .filter(|row| dimension_ratio <= row.dr)
        .min_by(|a, b| a.dr.total_cmp(&b.dr))
        .map(|row| row.over_outside)
}

/// Least bend radius of pipe; where joints are pulled in, a fitting may lie in any bend.
pub fn bend_radius(
    rules: &Pull,
    material: &PullMaterial,
    outside: Length,
    dimension_ratio: Ratio,
) -> Option<Length> {
    let bare = bend_ratio(material, dimension_ratio)?.to_one();
    let ratio = if material.joints.value > 0 {
        bare.max(rules.bend_with_fitting.value.to_one())
    } else {
        bare
    };
    Some(outside * ratio)
}

/// Deepest scratch that a wall may have.
pub fn scratch_limit(rules: &Pull, wall: Length) -> Length {
    wall * rules.scratch.value.to_one()
}

/// One pipe of a stretch, with what it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Strand {
    /// Index into the network's lines.
    pub line: usize,
    /// In words.
    pub what: String,
    /// Outside diameter.
    pub outside: Length,
    /// Wall thickness.
    pub wall: Length,
    /// Deepest scratch that the wall may have.
    pub scratch: Length,
    /// Outside diameter over wall.
    pub dimension_ratio: Ratio,
    /// Tension that it stands.
    pub allowable: Force,
    /// Force for a metre of straight pull.
    pub per_metre: Force,
    /// Friction in turns.
    pub friction: Ratio,
    /// Least bend radius, if the practice has one.
    pub bend_radius: Option<Length>,
    /// Length in one piece, or in as many as may be joined in a pull.
    pub pieces: Length,
}

impl Strand {
    /// Tension of a straight pull.
    pub fn straight(&self, length: Length) -> Force {
        self.tension(&[length], &[])
    }

    /// Tension of a pull with turns.
    pub fn tension(&self, legs: &[Length], turns: &[Angle]) -> Force {
        tension(self.per_metre, legs, turns, self.friction)
    }

    /// The longest straight pull that the tension allows.
    pub fn longest_by_tension(&self) -> Length {
        Length::m(self.allowable.to_n() / self.per_metre.to_n().max(f64::MIN_POSITIVE))
    }

    /// The longest straight pull that tension and coil allow.
    pub fn longest(&self) -> Length {
        self.longest_by_tension().min(self.pieces)
    }
}

/// The pipes that lie in a stretch on ground of a slope; those whose wall is not known are left out.
pub fn strands(job: &Job, slope: Ratio, layout: &Layout) -> Vec<Strand> {
    let things = layout.placed.iter();
    things.filter_map(|(t, _)| strand(job, slope, t)).collect()
}

fn strand(job: &Job, slope: Ratio, thing: &Thing) -> Option<Strand> {
    let rules = &job.practice.pull;
    let tube = thing.tube?;
    let family = job.practice.pipe.get(tube.family)?;
    let material = rules.of(family.material)?;
    let wall = tube.wall(thing.outside);
    let dimension_ratio = Ratio::one(thing.outside / wall);
    let own = family.tensile_yield.as_ref();
    let tensile_yield = own.unwrap_or(&material.tensile_yield);
    Some(Strand {
        line: thing.line,
        what: thing.what.clone(),
        outside: thing.outside,
        wall,
        scratch: scratch_limit(rules, wall),
        dimension_ratio,
        allowable: allowable_tension(
            tensile_yield.value,
            rules.yield_factor.value,
            rules.time_factor.value,
            thing.outside,
            dimension_ratio,
        ),
        per_metre: force_per_metre(
            rules,
            material.specific_gravity.value,
            (thing.outside, tube.inside),
            slope,
        ),
        friction: rules.friction.value,
        bend_radius: bend_radius(rules, material, thing.outside, dimension_ratio),
        pieces: family.piece.value * f64::from(material.joints.value + 1),
    })
}
