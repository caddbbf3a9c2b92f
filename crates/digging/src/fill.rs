//! How a trench is filled: what goes in, in which lifts, with how much water, and how proud of grade
//! it is left.
//!
//! Volumes close: spoil as placed + what lies in the trench + what is brought in = the trench + the
//! crown. What is said of settling takes the fill to go back to the density of the undisturbed
//! ground; the factors are uncertain, so the crown is given with a low and a high value.

use crate::Earthwork;
use crate::contents::Layout;
use crate::earth::{self, is_stony, lifts, spreads};
use crate::section::Cut;
use job::practice::{Compactor, SoilClass};
use job::{Practice, Soil, SurfaceKind};
use quantity::{Area, Density, Length, Ratio, Volume};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How one stretch is filled.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Fill {
    /// Spoil as it stands after tamping, crown included.
    pub placed: Volume,
    /// Bedding under the pipe, in place.
    pub bedding: Volume,
    /// Clean fill in place of stony spoil around the pipe, in place.
    pub clean: Volume,
    /// Loose volume of bedding and clean fill as it is delivered.
    pub delivered: Volume,
    /// Loose volume of leftover spoil that is spread beside the trench.
    pub spread: Volume,
    /// What it is tamped with; empty where nothing is tamped.
    pub compactor: String,
    /// Thickness of a lift, each the same.
    pub lift: Length,
    /// Passes over each lift.
    pub passes: u32,
    /// Whether the spoil wants water.
    pub moisture: FillMoisture,
    /// Water to bring the spoil to its optimum.
    pub water: Volume,
    /// The same for one lift.
    pub water_per_lift: Volume,
    /// The least crown that may settle level.
    pub crown_low: Length,
    /// The most.
    pub crown_high: Length,
    /// How far the surface sinks if the trench is filled level and nothing is tamped.
    pub settles: Length,
    /// Width of sod to lift, keep and relay; zero where there is no lawn to keep.
    pub sod_width: Length,
    /// Area of it.
    pub sod: Area,
}

/// How the moisture of spoil stands to the optimum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FillMoisture {
    /// Near enough to the optimum.
    #[default]
    Near,
    /// Too dry: it wants water.
    Dry,
    /// Too wet: it has to dry first.
    Wet,
}

/// In what lifts a trench is tamped, and with what.
#[derive(Debug, Clone, Copy)]
pub struct Tamping<'a> {
    /// The tool.
    pub compactor: &'a Compactor,
    /// Greatest thickness of a lift.
    pub most: Length,
    /// Number of lifts.
    pub lifts: u32,
    /// Passes over each.
    pub passes: u32,
}

/// The tool with the fewest passes over the whole fill among those that fit into the cut and suit its
/// soil, of equal ones the first by key; `None` where nothing is opened or nothing fits.
pub fn tamping<'a>(practice: &'a Practice, soil: &Soil, cut: &Cut) -> Option<Tamping<'a>> {
    let class = &practice.texture.get(&soil.texture)?.value;
    if !cut.is_open() {
        return None;
    }
    let height = cut.depth - cut.bedding;
    practice
        .compactor
        .values()
        .filter(|c| c.least_width.value <= cut.width)
        .filter_map(|compactor| {
            let most = compactor
                .lift
                .get(class)?
                .value
                .min(practice.fill.lift.value);
            Some(Tamping {
                compactor,
                most,
                lifts: lifts(height, most),
                passes: compactor.passes.get(class)?.value,
            })
        })
        .min_by_key(|t| u64::from(t.lifts) * u64::from(t.passes))
}

/// Water that brings soil from one water content to another: V ρ_d (w_opt - w), at 1 kg to the litre;
/// nothing for soil that is wetter.
pub fn water_to_add(fill: Volume, dry: Density, optimum: Ratio, present: Ratio) -> Volume {
    let share = (optimum.to_one() - present.to_one()).max(0.0);
    Volume::l(fill.to_m3() * dry.to_kg_per_m3() * share)
}

/// How a water content stands to the optimum with its window.
pub fn moisture_of(optimum: Ratio, window: Ratio, present: Ratio) -> FillMoisture {
    // A hair of rounding at the edge of the window must not ask for water.
    let off = present.to_one() - optimum.to_one();
    let window = window.to_one() + 1e-9;
    if off > window {
        FillMoisture::Wet
    } else if off < -window {
        FillMoisture::Dry
    } else {
        FillMoisture::Near
    }
}

/// Volume in the bank, or in a heap, of what makes a fill: V_F (ρ_fill/ρ_from)(1 + loss), UFC 3-220-20
/// equation 3-9.
pub fn borrowed(fill: Volume, in_fill: Density, from: Density, loss: Ratio) -> Volume {
    fill * (in_fill / from * (1.0 + loss.to_one()))
}

/// Dry density from the density with its water: ρ/(1 + w), UFC 3-220-20 equation 3-1.
pub fn dry_density(total: Density, water: Ratio) -> Density {
    total / (1.0 + water.to_one())
}

/// How far fill placed loose and level sinks: V (1 - 1/f)/area at grade, where f is loose over bank.
pub fn settles(spoil: Volume, bank_to_loose: Ratio, at_grade: Area) -> Length {
    if at_grade <= Area::ZERO {
        return Length::ZERO;
    }
    Length::m(spoil.to_m3() * (1.0 - 1.0 / bank_to_loose.to_one()) / at_grade.to_m2())
}

/// The least and the most that the crown may have to be: from the factors that spoil and tamping may
/// have. The crown of the practice's own factors is never outside.
pub fn crown_range(
    practice: &Practice,
    class: &SoilClass,
    backfill: Volume,
    at_grade: Area,
) -> (Length, Length) {
    let rules = &practice.fill;
    let of = |factor, tamped| earth::crown(backfill, factor, tamped, at_grade);
    let middle = of(class.bank_to_loose.value, rules.tamped_share.value);
    let low = of(class.loose_low.value, rules.tamped_high.value);
    let high = of(class.loose_high.value, rules.tamped_low.value);
    (low.min(middle), high.max(middle))
}

/// How a stretch is filled, of which `earth` is moved.
pub fn fill(
    practice: &Practice,
    ground: (&Soil, SurfaceKind),
    layout: &Layout,
    cut: &Cut,
    earth: &Earthwork,
    length: Length,
) -> Fill {
    let Some(tamping) = tamping(practice, ground.0, cut) else {
        return Fill::default();
    };
    let (soil, surface) = ground;
    let class = practice.soil_class_of(soil.texture);
    let factor = class.bank_to_loose.value;
    let tamped = practice.fill.tamped_share.value;
    let at_grade = cut.top_width * length;
    let imported = earth::imported(practice, soil, layout, cut, length);
    let (crown_low, crown_high) = crown_range(practice, class, earth.backfill, at_grade);
    let spread = spreads(surface) && !is_stony(practice, soil);
    let (moisture, water) = water(practice, soil, earth.backfill);
    let sod_width = sod_width(practice, surface, cut);
    let count = f64::from(tamping.lifts.max(1));
    Fill {
        placed: earth.backfill * earth::placed_over_bank(factor, tamped),
        bedding: imported.bedding,
        clean: imported.clean,
        delivered: imported.total() * delivered_over_placed(practice),
        spread: if spread {
            earth::loose(earth.surplus, factor)
        } else {
            Volume::ZERO
        },
        compactor: tamping.compactor.label.clone(),
        lift: (cut.depth - cut.bedding) * (1.0 / count),
        passes: tamping.passes,
        moisture,
        water,
        water_per_lift: water * (1.0 / count),
        crown_low,
        crown_high,
        settles: settles(earth.backfill, factor, at_grade),
        sod_width,
        sod: sod_width * length,
    }
}

/// Loose volume over volume tamped in place of the fill that is brought in.
pub fn delivered_over_placed(practice: &Practice) -> f64 {
    let class = practice.soil_class.get(&practice.fill.import_class.value);
    class.map_or(1.0, |c| c.bank_to_loose.value / c.bank_to_compacted.value)
}

/// Water that the spoil wants, by its dry mass in the bank.
fn water(practice: &Practice, soil: &Soil, backfill: Volume) -> (FillMoisture, Volume) {
    let class = practice.soil_class_of(soil.texture);
    let optimum = class.optimum.value;
    let present = class
        .moisture
        .get(&soil.moisture)
        .map_or(optimum, |w| w.value);
    let moisture = moisture_of(optimum, practice.fill.moisture_window.value, present);
    let water = match moisture {
        FillMoisture::Dry => water_to_add(backfill, class.dry_density.value, optimum, present),
        FillMoisture::Near | FillMoisture::Wet => Volume::ZERO,
    };
    (moisture, water)
}

/// Width of sod to lift: the trench at grade with a margin beyond each edge, on lawn that is kept.
pub fn sod_width(practice: &Practice, surface: SurfaceKind, cut: &Cut) -> Length {
    if surface == SurfaceKind::LawnKept && cut.is_open() {
        cut.top_width + practice.fill.sod_margin.value * 2.0
    } else {
        Length::ZERO
    }
}
