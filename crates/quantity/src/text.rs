//! Reading a quantity from a text such as `"18 in"` or `"2.4 gpm"`.

use thiserror::Error;

/// A quantity that is stored in one SI unit and read from a text with any of its units.
pub trait Quantity: Copy + std::str::FromStr<Err = ReadError> {
    /// The name of the quantity, for messages.
    const NAME: &'static str;
    /// The units it may be written in.
    const UNITS: &'static [UnitName];
    /// From a number in the SI unit.
    fn from_si(value: f64) -> Self;
    /// The number in the SI unit.
    fn si(self) -> f64;
}

/// The spellings of one unit, and how many SI units it makes.
#[derive(Debug, Clone, Copy)]
pub struct UnitName {
    /// The accepted spellings; the first is the one shown in messages.
    pub texts: &'static [&'static str],
    /// SI units in one of this unit.
    pub factor: f64,
}

/// Why a text is not a quantity.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReadError {
    /// The text does not begin with a finite number.
    #[error("\"{text}\" does not begin with a finite number; write for example \"{example}\"")]
    Number {
        /// What was read.
        text: String,
        /// A text that would do.
        example: String,
    },
    /// The unit is missing or not one of this quantity.
    #[error("\"{text}\" needs a unit of {quantity}: one of {units}")]
    Unit {
        /// What was read.
        text: String,
        /// The quantity that was wanted.
        quantity: &'static str,
        /// The units that would do.
        units: String,
    },
}

pub(crate) fn read<Q: Quantity>(text: &str) -> Result<Q, ReadError> {
    let trimmed = text.trim();
    let split = number_length(trimmed);
    let number: f64 = trimmed[..split]
        .parse()
        .ok()
        .filter(|n: &f64| n.is_finite())
        .ok_or_else(|| ReadError::Number {
            text: text.to_owned(),
            example: format!("12 {}", Q::UNITS[0].texts[0]).trim().to_owned(),
        })?;
    let unit = trimmed[split..].trim();
    let factor = Q::UNITS
        .iter()
        .find(|u| u.texts.contains(&unit))
        .map(|u| u.factor)
        .ok_or_else(|| ReadError::Unit {
            text: text.to_owned(),
            quantity: Q::NAME,
            units: Q::UNITS
                .iter()
                .map(|u| u.texts[0])
                .filter(|t| !t.is_empty())
                .collect::<Vec<_>>()
                .join(", "),
        })?;
    let value = number * factor;
    if !value.is_finite() {
        let example = format!("12 {}", Q::UNITS[0].texts[0]);
        return Err(ReadError::Number {
            text: text.to_owned(),
            example,
        });
    }
    Ok(Q::from_si(value))
}

/// How many bytes at the start of `text` spell a decimal number.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut end = 0;
    for (i, byte) in bytes.iter().enumerate() {
        let exponent = matches!(byte, b'e' | b'E')
            && i > 0
            && bytes
                .get(i + 1)
                .is_some_and(|b| b.is_ascii_digit() || matches!(b, b'-' | b'+'));
        let after_exponent = i > 0 && matches!(bytes[i - 1], b'e' | b'E');
        let sign = matches!(byte, b'-' | b'+') && (i == 0 || after_exponent);
        if byte.is_ascii_digit() || *byte == b'.' || exponent || sign {
            end = i + 1;
        } else {
            break;
        }
    }
    end
}
