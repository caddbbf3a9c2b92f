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

use crate::contents::Layout;
use job::Soil;
use job::practice::{Excavation, SoilClass};
use job::prices::Widths;
use job::{Practice, Sourced};
use quantity::{Length, Ratio, Volume};

/// The measures of a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// From grade to the floor, bedding included; for pulled pipe, to its underside.
    pub depth: Length,
    /// Width at the floor; zero where no trench is opened.
    pub width: Length,
    /// Horizontal over vertical of the sides.
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

/// The cut of an open trench `width` wide at the floor for what lies in it.
///
/// The sides are upright down to the depth from which protection is needed, then sloped over the
/// whole depth by the soil's type; shoring instead would keep them upright.
pub fn trench(practice: &Practice, soil: &Soil, layout: &Layout, width: Length) -> Cut {
    let under = if layout.has_pipe() {
        bedding(practice, soil)
    } else {
        Length::ZERO
    };
    let depth = layout.underside + under;
    let rules = &practice.excavation;
    let protection = depth >= rules.protection_depth.value;
    let class = practice.soil_class_of(soil.texture);
    let side_slope = match slope_rule(rules, class) {
        Some(slope) if protection => slope.value,
        _ => Ratio::ZERO,
    };
    Cut {
        depth,
        width,
        side_slope,
        top_width: top_width(width, side_slope, depth),
        bedding: under,
        egress: depth >= rules.egress_depth.value,
        protection,
    }
}

/// The cut where no trench is opened and the deepest thing's underside lies at `depth`.
pub fn unopened(depth: Length) -> Cut {
    Cut {
        depth,
        width: Length::ZERO,
        side_slope: Ratio::ZERO,
        top_width: Length::ZERO,
        bedding: Length::ZERO,
        egress: false,
        protection: false,
    }
}
