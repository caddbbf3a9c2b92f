//! The cross-section of a cut.
//!
//! ```text
//!    |<------ top width ------>|
//!    ───────┐           ┌───────   grade
//!            \         /           1 vertical : h horizontal
//!             \       /      depth
//!              └─────┘
//!              |width|
//! ```
//!
//! Benched sides go up in equal upright steps whose inner corners lie on the slope; shored ones are
//! upright. Which is taken is a matter of price ([`trenches`] gives all that the practice admits); a
//! competent person on site decides.

use crate::contents::Layout;
use job::Soil;
use job::practice::{Excavation, Sides, SoilClass};
use job::prices::Widths;
use job::{Practice, Sourced};
use quantity::{Angle, Area, Length, Ratio, Volume};

/// The measures of a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// From grade to the floor, bedding included; for pulled pipe, to its underside.
    pub depth: Length,
    /// Width at the floor; zero where no trench is opened.
    pub width: Length,
    /// How the sides stand.
    pub sides: Sides,
    /// Steps on each side; 0 where they are not benched.
    pub benches: u32,
    /// Horizontal over vertical of the sides from the floor's edge to the edge at grade.
    pub side_slope: Ratio,
    /// Width at grade.
    pub top_width: Length,
    /// Thickness of bedding under the pipe.
    pub bedding: Length,
    /// Whether a way out is needed.
    pub egress: bool,
    /// Whether the sides are sloped or shored.
    pub protection: bool,
}

impl Cut {
    /// Whether a trench is opened.
    pub fn is_open(&self) -> bool {
        self.width > Length::ZERO
    }

    /// Area of the section from the floor up to a height, at most up to grade.
    pub fn area_below(&self, height: Length) -> Area {
        let height = height.max(Length::ZERO).min(self.depth);
        if self.benches == 0 {
            return height * (self.width + height * self.side_slope.to_one());
        }
        let (step, back) = self.step();
        (0..self.benches)
            .map(|i| {
                let below = step * f64::from(i);
                let part = (height - below).max(Length::ZERO).min(step);
                part * (self.width + back * (2.0 * f64::from(i)))
            })
            .sum()
    }

    /// Corners of the section from one edge at grade round the floor to the other: across, with 0 in
    /// the middle of the floor, and depth from grade.
    pub fn outline(&self) -> Vec<(Length, Length)> {
        let half = self.width * 0.5;
        let mut side = vec![(half, self.depth)];
        if self.benches == 0 {
            side.push((self.top_width * 0.5, Length::ZERO));
        } else {
            let (step, back) = self.step();
            for i in 0..self.benches {
                let (out, top) = (half + back * f64::from(i), step * f64::from(i + 1));
                if i > 0 {
                    side.push((out, self.depth - step * f64::from(i)));
                }
                side.push((out, self.depth - top));
            }
        }
        let left = side.iter().rev().map(|(x, depth)| (-*x, *depth));
        left.chain(side.iter().copied()).collect()
    }

    /// Height of a step, and how far each next one stands back.
    fn step(&self) -> (Length, Length) {
        let steps = f64::from(self.benches.max(1));
        let back = (self.top_width - self.width) * 0.5;
        (self.depth / steps, back / (steps - 1.0).max(1.0))
    }
}

/// Width at grade of a trench with sloped sides: w + 2 h d.
///
/// Geometry of a simply sloped trench, as drawn in 29 CFR 1926 Subpart P Appendix B.
pub fn top_width(bottom: Length, side_slope: Ratio, depth: Length) -> Length {
    bottom + depth * (2.0 * side_slope.to_one())
}

/// Volume in place of a trench with sloped sides: d (w + h d) L.
pub fn volume(bottom: Length, side_slope: Ratio, depth: Length, length: Length) -> Volume {
    depth * (bottom + depth * side_slope.to_one()) * length
}

/// The narrowest of the widths that a method cuts into which `needed` fits.
pub fn cut_width(widths: &Widths, needed: Length) -> Option<Length> {
    widths.0.iter().copied().find(|w| *w >= needed)
}

/// Thickness of bedding under pipe in a soil: nothing below the limit of coarse fragments.
pub fn bedding(practice: &Practice, soil: &Soil) -> Length {
    if soil.coarse >= practice.cut.bedding_from_coarse.value {
        practice.cut.bedding.value
    } else {
        Length::ZERO
    }
}

/// Greatest slope of the sides for a soil class. A type without a row is taken as the flattest one.
pub fn slope_rule<'a>(rules: &'a Excavation, class: &SoilClass) -> Option<&'a Sourced<Ratio>> {
    rules.slope.get(&class.excavation_type.value).or_else(|| {
        rules
            .slope
            .values()
            .max_by(|a, b| a.value.total_cmp(&b.value))
    })
}

/// The cut of an open trench for what lies in it by the first way of keeping its sides that the
/// practice names.
pub fn trench(practice: &Practice, soil: &Soil, layout: &Layout, width: Length) -> Cut {
    let under = bed(practice, soil, layout);
    let depth = layout.underside + under;
    let (sides, _) = admissible(practice, soil, depth);
    sided(practice, soil, (depth, width, under), sides)
}

/// The cuts that the practice admits, one for each way of keeping the sides, the first that it names
/// and the others; `width` gives the width at the floor for a least width.
///
/// Down to the depth from which protection is needed the sides stand upright.
pub fn trenches(
    practice: &Practice,
    soil: &Soil,
    layout: &Layout,
    width: impl Fn(Length) -> Length,
) -> (Cut, Vec<Cut>) {
    let under = bed(practice, soil, layout);
    let depth = layout.underside + under;
    let cut = |sides| {
        let least = match sides {
            Sides::Shored => layout.width.max(practice.excavation.shored_width.value),
            _ => layout.width,
        };
        sided(practice, soil, (depth, width(least), under), sides)
    };
    let (first, others) = admissible(practice, soil, depth);
    (cut(first), others.into_iter().map(cut).collect())
}

fn bed(practice: &Practice, soil: &Soil, layout: &Layout) -> Length {
    if layout.has_pipe() {
        bedding(practice, soil)
    } else {
        Length::ZERO
    }
}

/// The ways of keeping the sides at a depth, the first and the others: benched only in a soil type
/// that has a height of benches, sloped where nothing else is left.
fn admissible(practice: &Practice, soil: &Soil, depth: Length) -> (Sides, Vec<Sides>) {
    let rules = &practice.excavation;
    if depth < rules.protection_depth.value {
        return (Sides::Upright, Vec::new());
    }
    let benched = bench_rule(practice, soil).is_some();
    let listed = rules.sides.value.0.iter().copied();
    let mut ways = listed.filter(|s| *s != Sides::Benched || benched);
    let first = ways.next().unwrap_or(Sides::Sloped);
    (first, ways.collect())
}

/// Greatest height of a bench in a soil, if it may be benched.
pub fn bench_rule<'a>(practice: &'a Practice, soil: &Soil) -> Option<&'a Sourced<Length>> {
    let class = practice.soil_class_of(soil.texture);
    practice.excavation.bench.get(&class.excavation_type.value)
}

/// A cut of depth, width at the floor and bedding with its sides kept in a way.
fn sided(
    practice: &Practice,
    soil: &Soil,
    (depth, width, bedding): (Length, Length, Length),
    sides: Sides,
) -> Cut {
    let rules = &practice.excavation;
    let class = practice.soil_class_of(soil.texture);
    let slope = slope_rule(rules, class).map_or(Ratio::ZERO, |rule| rule.value);
    let (side_slope, benches) = match sides {
        Sides::Upright | Sides::Shored => (Ratio::ZERO, 0),
        Sides::Sloped => (slope, 0),
        Sides::Benched => {
            let step = bench_rule(practice, soil).map_or(depth, |rule| rule.value);
            benched(slope, depth, step)
        }
    };
    Cut {
        depth,
        width,
        sides,
        benches,
        side_slope,
        top_width: top_width(width, side_slope, depth),
        bedding,
        egress: depth >= rules.egress_depth.value,
        protection: depth >= rules.protection_depth.value,
    }
}

/// Overall slope and number of benches of equal height, none higher than `step`, whose inner corners
/// lie on a slope: h (n - 1)/n, since the lowest one stands at the floor's edge.
pub fn benched(slope: Ratio, depth: Length, step: Length) -> (Ratio, u32) {
    // A hair of rounding must not add a bench.
    let steps = (depth / step - 1e-9).ceil().max(1.0);
    (slope * ((steps - 1.0) / steps), steps as u32)
}

/// The cut where no trench is opened and the deepest thing's underside lies at `depth`.
pub fn unopened(depth: Length) -> Cut {
    Cut {
        depth,
        width: Length::ZERO,
        sides: Sides::Upright,
        benches: 0,
        side_slope: Ratio::ZERO,
        top_width: Length::ZERO,
        bedding: Length::ZERO,
        egress: false,
        protection: false,
    }
}

/// Where ways out stand along a trench so that nobody in it is farther from one than `travel`: equal
/// shares of the length with one in the middle of each, as distances from its beginning.
pub fn ways_out(length: Length, travel: Length) -> Vec<Length> {
    if length <= Length::ZERO || travel <= Length::ZERO {
        return Vec::new();
    }
    // A hair of rounding must not add a way out.
    let count = (length / (travel * 2.0) - 1e-9).ceil().max(1.0);
    (0..count as u32)
        .map(|i| length * ((f64::from(i) + 0.5) / count))
        .collect()
}

/// Height and width of a heap of triangular section along a trench: √(A tan φ) and 2 h/tan φ.
pub fn windrow(area: Area, repose: Angle) -> (Length, Length) {
    let tangent = repose.to_rad().tan();
    if tangent <= 0.0 || area <= Area::ZERO {
        return (Length::ZERO, Length::ZERO);
    }
    let height = (area.to_m2() * tangent).sqrt();
    (Length::m(height), Length::m(2.0 * height / tangent))
}

/// Width of ground that an open trench takes up at grade: the trench, its spoil on one side, and the
/// set-back between them. Nothing where no trench is opened.
pub fn worked_width(practice: &Practice, soil: &Soil, cut: &Cut) -> Length {
    if !cut.is_open() {
        return Length::ZERO;
    }
    let class = practice.soil_class_of(soil.texture);
    let loose = cut.area_below(cut.depth) * class.bank_to_loose.value.to_one();
    let heap = windrow(loose, class.repose.value).1;
    cut.top_width + practice.excavation.spoil_setback.value + heap
}
