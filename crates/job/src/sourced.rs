//! A number of the trade together with where it comes from.

use quantity::{
    Angle, Celsius, Conductivity, Current, DegreeDays, Density, DigRate, Duration, Expansion, Flow,
    Length, LinearResistance, Money, Pressure, Ratio, Velocity, Voltage,
};
use serde::de::{Deserializer, Error as _};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What a number rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Basis {
    /// A published text that was read.
    #[serde(rename = "confirmed")]
    Confirmed,
    /// Worked out from a published value.
    #[serde(rename = "computed")]
    Computed,
    /// A published text is named, but the figure was not read in it.
    #[serde(rename = "from memory")]
    FromMemory,
    /// Custom of the trade, no source.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// Made up, to be replaced by the user's own.
    #[serde(rename = "invented")]
    Invented,
    /// Given by this job or by the user's own file.
    #[serde(rename = "given")]
    Given,
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Confirmed => "confirmed",
            Self::Computed => "computed",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice",
            Self::Invented => "invented",
            Self::Given => "given",
        })
    }
}

/// A value of the practice file or the price book with its source.
///
/// In the file: `cover = { value = "18 in", source = "...", basis = "confirmed" }`; an override may be
/// the bare value.
#[derive(Debug, Clone, PartialEq)]
pub struct Sourced<T> {
    /// The value.
    pub value: T,
    /// Where it is published, or a word on where it comes from.
    pub source: String,
    /// What it rests on.
    pub basis: Basis,
    /// Its dotted name with the file, such as `practice cover.main`.
    pub path: String,
}

impl<T> Sourced<T> {
    /// Name, source and basis in one line, for the working of a figure.
    pub fn origin(&self) -> String {
        if self.source.is_empty() {
            format!("{} ({})", self.path, self.basis)
        } else {
            format!("{}: {} ({})", self.path, self.source, self.basis)
        }
    }
}

/// A value that can be read from the text or number of a practice or price file.
pub trait FromScalar: Sized {
    /// Reads it; the error says what would do.
    fn from_scalar(text: &str) -> Result<Self, String>;
}

macro_rules! quantities_from_scalar {
    ($($name:ident),+ $(,)?) => {$(
        impl FromScalar for $name {
            fn from_scalar(text: &str) -> Result<Self, String> {
                text.parse().map_err(|e: quantity::ReadError| e.to_string())
            }
        }
    )+};
}
quantities_from_scalar!(
    Angle,
    Celsius,
    Conductivity,
    Current,
    DegreeDays,
    Density,
    DigRate,
    Duration,
    Expansion,
    Flow,
    Length,
    LinearResistance,
    Pressure,
    Ratio,
    Velocity,
    Voltage,
);

/// An amount of money in the file is a number of currency units.
impl FromScalar for Money {
    fn from_scalar(text: &str) -> Result<Self, String> {
        number(text).map(Self::from_units)
    }
}

/// A whole number.
impl FromScalar for u32 {
    fn from_scalar(text: &str) -> Result<Self, String> {
        text.trim()
            .parse()
            .map_err(|_| format!("\"{text}\" is not a whole number from 0 up"))
    }
}

/// Yes or no.
impl FromScalar for bool {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "yes" => Ok(true),
            "no" => Ok(false),
            other => Err(format!("\"{other}\" is neither \"yes\" nor \"no\"")),
        }
    }
}

/// A word.
impl FromScalar for String {
    fn from_scalar(text: &str) -> Result<Self, String> {
        Ok(text.to_owned())
    }
}

fn number(text: &str) -> Result<f64, String> {
    text.trim()
        .parse()
        .ok()
        .filter(|n: &f64| n.is_finite())
        .ok_or_else(|| format!("\"{text}\" is not a finite number"))
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Scalar {
    Text(String),
    Number(f64),
}

impl Scalar {
    fn text(self) -> String {
        match self {
            Self::Text(text) => text,
            Self::Number(number) => number.to_string(),
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    value: Scalar,
    source: String,
    basis: Basis,
    #[serde(default)]
    path: String,
}

impl<'de, T: FromScalar> Deserialize<'de> for Sourced<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let raw = Raw::deserialize(deserializer)?;
        let value = T::from_scalar(&raw.value.text())
            .map_err(|e| D::Error::custom(format!("{}: {e}", raw.path)))?;
        Ok(Self {
            value,
            source: raw.source,
            basis: raw.basis,
            path: raw.path,
        })
    }
}

/// Reads one plain value of a table row; for `deserialize_with`.
pub fn scalar<'de, T: FromScalar, D: Deserializer<'de>>(deserializer: D) -> Result<T, D::Error> {
    T::from_scalar(&Scalar::deserialize(deserializer)?.text()).map_err(D::Error::custom)
}
