//! What a quantity comes to: a number with its unit, or a word.

use anyhow::{Result, bail};
use quantity::{Quantity, Ratio, UnitName};

/// A computed value.
#[derive(Debug, Clone)]
pub enum Value {
    /// A number in the SI unit, and the units in which it may be expected.
    Measure {
        /// In the SI unit.
        si: f64,
        /// The units.
        units: &'static [UnitName],
    },
    /// A word.
    Word(String),
}

impl Value {
    /// A quantity.
    pub fn of<Q: Quantity>(quantity: Q) -> Self {
        Self::Measure {
            si: quantity.si(),
            units: Q::UNITS,
        }
    }

    /// A plain number.
    pub fn number(number: f64) -> Self {
        Self::of(Ratio::one(number))
    }

    /// A word.
    pub fn word(word: impl Into<String>) -> Self {
        Self::Word(word.into())
    }

    /// The number in a unit.
    ///
    /// # Errors
    /// If it is a word, or has no such unit.
    pub fn in_unit(&self, unit: &str) -> Result<f64> {
        let Self::Measure { si, units } = self else {
            bail!("the quantity is a word, not a number of {unit}");
        };
        match units.iter().find(|u| u.texts.contains(&unit)) {
            Some(found) => Ok(si / found.factor),
            None => {
                let known: Vec<&str> = units.iter().map(|u| u.texts[0]).collect();
                bail!("the quantity is not written in \"{unit}\" but in one of {known:?}")
            }
        }
    }
}
