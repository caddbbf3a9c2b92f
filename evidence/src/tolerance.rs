//! How near a computed value has to be.

use anyhow::{Context, Result, bail};

/// Two numbers closer than this, in share, are the same number: what is left is rounding.
const ROUNDING: f64 = 1e-9;

/// How near a computed value has to be to the expected one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tolerance {
    /// The same word, or the same number.
    Exact,
    /// Within this share of the expected number.
    Share(f64),
    /// Within this, in the unit of the row.
    Within(f64),
}

impl Tolerance {
    /// Reads `exact`, `0.5 %` (a share of the expected value) or `0.05 psi` (in the row's unit).
    ///
    /// # Errors
    /// If it is none of these, or negative, or as wide as the value itself.
    pub fn read(text: &str, unit: &str) -> Result<Self> {
        let text = text.trim();
        if text == "exact" {
            return Ok(Self::Exact);
        }
        let number = |number: &str| -> Result<f64> {
            let wrong = || {
                format!("the tolerance \"{text}\" is none; write `exact`, `0.5 %` or `0.05 {unit}`")
            };
            let value: f64 = number.trim().parse().with_context(wrong)?;
            if value.is_finite() && value >= 0.0 {
                Ok(value)
            } else {
                bail!(wrong())
            }
        };
        if let Some(share) = text.strip_suffix('%') {
            let share = number(share)? / 100.0;
            if share >= 0.5 {
                bail!("a tolerance of {text} lets nearly anything hold");
            }
            return Ok(Self::Share(share));
        }
        number(text.strip_suffix(unit).unwrap_or(text)).map(Self::Within)
    }

    /// Whether a computed number is near enough to the expected one.
    pub fn holds(self, computed: f64, expected: f64) -> bool {
        let off = (computed - expected).abs();
        let allowed = match self {
            Self::Exact => 0.0,
            Self::Share(share) => share * expected.abs(),
            Self::Within(within) => within,
        };
        // Not a number is never near.
        off <= allowed + ROUNDING * expected.abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tolerances_are_read_and_held_to() {
        assert_eq!(Tolerance::read("exact", "in").unwrap(), Tolerance::Exact);
        let share = Tolerance::read("0.5 %", "in").unwrap();
        assert!(share.holds(1.005, 1.0) && !share.holds(1.006, 1.0));
        let within = Tolerance::read("0.05 psi", "psi").unwrap();
        assert!(within.holds(10.05, 10.0) && !within.holds(10.06, 10.0));
        assert!(!within.holds(f64::NAN, 10.0));
        assert!(Tolerance::read("0.05 bar", "psi").is_err());
        assert!(Tolerance::read("-1 %", "psi").is_err());
        assert!(Tolerance::read("90 %", "psi").is_err());
    }
}
