//! What earth is moved for a stretch, from the bank to the crown.
//!
//! Spoil is counted in bank volume (in place, before it is dug). What pipe, bedding and the
//! stone-free fill around the pipe take up is left over: bank = backfill + surplus. Backfill tamped
//! in lifts still stands a little loose; the excess is left as a crown and settles to grade.

use crate::contents::Layout;
use crate::section::Cut;
use crate::{Earthwork, fill};
use job::practice::SoilClass;
use job::{Practice, Soil, SurfaceKind};
use quantity::{Area, Length, Ratio, Volume};

/// Loose volume of a bank volume.
pub fn loose(bank: Volume, bank_to_loose: Ratio) -> Volume {
    bank * bank_to_loose.to_one()
}

/// Volume of spoil as placed in tamped lifts over its bank volume: 1 + (f - 1)(1 - s), where f is
/// loose over bank and s the share of the excess that tamping takes away.
pub fn placed_over_bank(bank_to_loose: Ratio, tamped_share: Ratio) -> f64 {
    1.0 + (bank_to_loose.to_one() - 1.0) * (1.0 - tamped_share.to_one())
}

/// Height of fill to leave proud of grade so that it settles level: the excess of the placed
/// backfill over its bank volume, spread over the trench's area at grade. Nothing for no area.
///
/// Approximate: it takes the fill to settle back to the density of the undisturbed ground.
pub fn crown(
    backfill: Volume,
    bank_to_loose: Ratio,
    tamped_share: Ratio,
    at_grade: Area,
) -> Length {
    let excess = backfill.to_m3() * (placed_over_bank(bank_to_loose, tamped_share) - 1.0);
    if at_grade.to_m2() > 0.0 {
        Length::m(excess / at_grade.to_m2())
    } else {
        Length::ZERO
    }
}

/// Number of lifts in which a trench is filled.
pub fn lifts(depth: Length, lift: Length) -> u32 {
    if lift <= Length::ZERO {
        return 1;
    }
    // A hair of rounding must not add a lift.
    (depth / lift - 1e-9).ceil().max(0.0) as u32
}

/// Whether spoil of this soil goes back around pipe.
pub fn is_stony(practice: &Practice, soil: &Soil) -> bool {
    soil.coarse >= practice.stones.haul_from.value
}

/// Whether leftover spoil may be spread beside the trench: on ground that is raked over anyway.
pub fn spreads(surface: SurfaceKind) -> bool {
    matches!(
        surface,
        SurfaceKind::LawnRedone | SurfaceKind::Bed | SurfaceKind::BareSoil
    )
}

/// Volume in place of what is brought in: bedding under the pipe and, in stony soil, also the clean
/// fill around it up to the haunch, less what lies in it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Imported {
    /// Bedding under the pipe.
    pub bedding: Volume,
    /// Clean fill in place of stony spoil.
    pub clean: Volume,
}

impl Imported {
    /// Both.
    pub fn total(&self) -> Volume {
        self.bedding + self.clean
    }
}

/// What is brought in for a stretch of a length.
pub fn imported(
    practice: &Practice,
    soil: &Soil,
    layout: &Layout,
    cut: &Cut,
    length: Length,
) -> Imported {
    if !layout.has_pipe() {
        return Imported::default();
    }
    let bedding = cut.area_below(cut.bedding);
    let clean = if is_stony(practice, soil) {
        let over = layout.pipe_height() + practice.cut.haunch_over_pipe.value;
        let height = (cut.bedding + over).min(cut.depth);
        cut.area_below(height) - bedding - layout.displaced_below(height - cut.bedding)
    } else {
        Area::ZERO
    };
    Imported {
        bedding: bedding * length,
        clean: clean.max(Area::ZERO) * length,
    }
}

/// Surface to make good: the wider of the trench at grade and what the method spoils, times the
/// length.
pub fn restored(cut: &Cut, spoils_width: Length, length: Length) -> Area {
    cut.top_width.max(spoils_width) * length
}

/// All that is moved for a stretch of a length in one soil under one surface.
pub fn earthwork(
    practice: &Practice,
    ground: (&Soil, SurfaceKind),
    layout: &Layout,
    cut: &Cut,
    length: Length,
) -> Earthwork {
    if !cut.is_open() {
        return Earthwork::default();
    }
    let (soil, surface) = ground;
    let class: &SoilClass = practice.soil_class_of(soil.texture);
    let factor = class.bank_to_loose.value;
    let bank = cut.area_below(cut.depth) * length;
    let displaced = layout.displaced() * length;
    let bedding = imported(practice, soil, layout, cut, length).total();
    let surplus = (displaced + bedding).min(bank);
    let backfill = bank - surplus;
    let stays = spreads(surface) && !is_stony(practice, soil);
    Earthwork {
        bank,
        loose: loose(bank, factor),
        displaced,
        bedding,
        backfill,
        surplus,
        haul: if stays {
            Volume::ZERO
        } else {
            loose(surplus, factor)
        },
        crown: crown(
            backfill,
            factor,
            practice.fill.tamped_share.value,
            cut.top_width * length,
        ),
        lifts: fill::tamping(practice, soil, cut).map_or(0, |t| t.lifts),
        restore: Area::ZERO,
    }
}
