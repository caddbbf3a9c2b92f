//! How points are marked on the ground.

use crate::Sourced;
use crate::sourced::FromScalar;
use quantity::{Angle, Length, Ratio};
use serde::Deserialize;

/// How points are marked on the ground.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Staking {
    /// Length of the tapes.
    pub tape_length: Sourced<Length>,
    /// Their class.
    pub tape_class: Sourced<TapeClass>,
    /// What holding the tape at its ends and reading it adds to the error of a distance: a standard
    /// deviation.
    pub holding: Sourced<Length>,
    /// Tapes that cross at less than this are warned of.
    pub least_crossing: Sourced<Angle>,
    /// An outline that turns by less than this at a place has no corner there that one finds.
    pub least_turn: Sourced<Angle>,
    /// Above this share of points without a tie the plan speaks of it.
    pub untied: Sourced<Ratio>,
    /// How far the dig area of the locate request reaches beyond the trenches.
    pub dig_area_margin: Sourced<Length>,
    /// The errors of tapes by class.
    pub tape: Tapes,
}

/// The class of a tape's accuracy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TapeClass {
    /// The finest.
    I,
    /// Between.
    II,
    /// The coarsest.
    III,
}

impl FromScalar for TapeClass {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "I" => Ok(Self::I),
            "II" => Ok(Self::II),
            "III" => Ok(Self::III),
            _ => Err(format!("\"{text}\" is none of I, II and III")),
        }
    }
}

/// The errors of tapes by class.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tapes {
    /// Of class I.
    pub i: TapeError,
    /// Of class II.
    pub ii: TapeError,
    /// Of class III.
    pub iii: TapeError,
}

/// The largest error that a tape may have: a part that does not change and one by the metre begun.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TapeError {
    /// The part that does not change.
    pub fixed: Sourced<Length>,
    /// For every metre begun, as a share of it.
    pub by_length: Sourced<Ratio>,
}

impl Staking {
    /// The errors of the tapes in use.
    pub fn tape_error(&self) -> &TapeError {
        match self.tape_class.value {
            TapeClass::I => &self.tape.i,
            TapeClass::II => &self.tape.ii,
            TapeClass::III => &self.tape.iii,
        }
    }
}
