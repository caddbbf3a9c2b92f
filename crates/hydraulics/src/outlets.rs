//! The multiple-outlet factor F: friction of a lateral with equal outlets at equal spacing, over
//! that of the same pipe if all of its flow went to the end.
//!
//! A plan does not use it: it goes by each pipe's own flow. It is the check on that.

/// Christiansen's approximation with the first outlet one spacing from the inlet,
/// F = 1/(m+1) + 1/(2N) + √(m−1)/(6N²); `exponent` m is that of the flow in the friction formula.
/// One for no outlets.
///
/// Source: Christiansen, Univ. of California Bulletin 670 (1942); from memory.
pub fn christiansen(outlets: u32, exponent: f64) -> f64 {
    if outlets == 0 {
        return 1.0;
    }
    let n = f64::from(outlets);
    1.0 / (exponent + 1.0) + 1.0 / (2.0 * n) + (exponent - 1.0).max(0.0).sqrt() / (6.0 * n * n)
}

/// The sum behind it, F = Σ iᵐ/Nᵐ⁺¹ for i = 1 … N. One for no outlets.
///
/// Source: arithmetic, from the definition.
pub fn exact(outlets: u32, exponent: f64) -> f64 {
    if outlets == 0 {
        return 1.0;
    }
    let n = f64::from(outlets);
    let sum: f64 = (1..=outlets).map(|i| f64::from(i).powf(exponent)).sum();
    sum / n.powf(exponent + 1.0)
}

/// The sum with the first outlet half a spacing from the inlet,
/// F = (Nᵐ/2 + Σ iᵐ)/((N−½)·Nᵐ) for i = 1 … N−1. One for no outlets.
///
/// Source: arithmetic, from the definition.
pub fn exact_half_spacing(outlets: u32, exponent: f64) -> f64 {
    if outlets == 0 {
        return 1.0;
    }
    let n = f64::from(outlets);
    let sum: f64 = (1..outlets).map(|i| f64::from(i).powf(exponent)).sum();
    (0.5 * n.powf(exponent) + sum) / ((n - 0.5) * n.powf(exponent))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// N, exact, Christiansen, half spacing, for m = 1.852; worked from the definitions.
    #[test]
    fn factors_are_those_of_the_table() {
        let rows = [
            (1, 1.0, 1.0045, 1.0),
            (2, 0.6385, 0.6391, 0.518),
            (5, 0.4568, 0.4568, 0.3964),
            (10, 0.4022, 0.4022, 0.3707),
            (50, 0.3607, 0.3607, 0.3542),
        ];
        for (n, sum, approximation, half) in rows {
            assert!((exact(n, 1.852) - sum).abs() < 5.1e-5, "{n}");
            assert!(
                (christiansen(n, 1.852) - approximation).abs() < 5.1e-5,
                "{n}"
            );
            assert!((exact_half_spacing(n, 1.852) - half).abs() < 5.1e-5, "{n}");
        }
    }
}
