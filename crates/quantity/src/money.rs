//! Money in integer cents of the price book's currency.

use crate::{Amount, Style};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An amount of money, in integer cents.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct Money(i64);

impl Money {
    /// No money.
    pub const ZERO: Self = Self(0);

    /// From integer cents.
    pub const fn cents(cents: i64) -> Self {
        Self(cents)
    }

    /// From a number of currency units, rounded half away from zero to the cent.
    /// Amounts beyond the range of the integer are cut off at its ends.
    pub fn from_units(units: f64) -> Self {
        Self((units * 100.0).round() as i64)
    }

    /// The integer cents.
    pub const fn to_cents(self) -> i64 {
        self.0
    }

    /// The number of currency units.
    pub fn to_units(self) -> f64 {
        self.0 as f64 / 100.0
    }

    /// This price times a quantity, rounded half away from zero to the cent.
    pub fn times(self, quantity: f64) -> Self {
        Self((self.0 as f64 * quantity).round() as i64)
    }

    /// As an [`Amount`]; its number is in currency units.
    pub fn amount(self) -> Amount {
        Amount::new(self.to_units(), Style::Money)
    }
}

impl std::ops::Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl std::ops::Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl std::ops::AddAssign for Money {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl std::iter::Sum for Money {
    fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
        items.fold(Self::ZERO, |sum, item| sum + item)
    }
}

impl std::fmt::Display for Money {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let cents = self.0.unsigned_abs();
        let whole = crate::group_thousands(&(cents / 100).to_string());
        write!(f, "{sign}{whole}.{:02}", cents % 100)
    }
}
