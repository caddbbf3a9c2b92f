//! Surges that come again and again: how many a PVC pipe stands.

use quantity::{Pressure, Ratio};

/// Stress around the wall, σ = p·(DR − 1)/2; `ratio` is outside diameter over wall.
///
/// Source: ISO 161 and ASTM relation of stress and pressure; from memory. It gives the ratings of
/// SDR 21 and SDR 26 pipe exactly.
pub fn hoop_stress(pressure: Pressure, ratio: Ratio) -> Pressure {
    pressure * ((ratio.to_one() - 1.0) / 2.0)
}

/// Cycles after which PVC pipe fails at a peak of stress, N = 5.05e21·σ^−4.906, σ in psi. Infinite
/// without stress.
///
/// Source: Vinson (1981), as given in Moser, Buried Pipe Design, chapter 4, equation 4.17.
pub fn cycles_to_failure(peak: Pressure) -> f64 {
    if peak.to_pa() <= 0.0 {
        return f64::INFINITY;
    }
    5.05e21 * peak.to_psi().powf(-4.906)
}

/// The peak of stress that PVC pipe stands for a number of cycles: the same equation, turned round.
pub fn stress_for(cycles: f64) -> Pressure {
    Pressure::psi((5.05e21 / cycles.max(1.0)).powf(1.0 / 4.906))
}

/// Cycles after which PVC pipe fails at a range of stress, N = 2.85e8·Δσ^−3.35, Δσ in MPa: another
/// fit, on the difference of highest and lowest stress, to hold the first against.
///
/// Source: Bowman, as given in Moser, Buried Pipe Design, chapter 4, equation 4.18.
pub fn cycles_by_range(range: Pressure) -> f64 {
    if range.to_pa() <= 0.0 {
        return f64::INFINITY;
    }
    2.85e8 * range.to_mpa().powf(-3.35)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_rating_relation_gives_the_published_ratings() {
        for (ratio, rating) in [(21.0, 200.0), (26.0, 160.0)] {
            let stress = hoop_stress(Pressure::psi(rating), Ratio::one(ratio));
            assert!((stress.to_psi() - 2000.0).abs() < 1e-6);
        }
    }

    /// Worked by hand with the constants of the equations; 1000 psi is 6.8948 MPa.
    #[test]
    fn cycles_are_those_of_the_equations() {
        let peak = Pressure::psi(1000.0);
        assert!((cycles_to_failure(peak) / 9.667e6 - 1.0).abs() < 1e-3);
        assert!((cycles_by_range(peak) / 4.422e5 - 1.0).abs() < 2e-3);
        assert!(cycles_to_failure(Pressure::ZERO).is_infinite());
        assert!(cycles_by_range(Pressure::ZERO).is_infinite());
    }

    proptest! {
        #[test]
        fn the_stress_for_its_cycles_is_the_stress(psi in 200.0..5000.0_f64) {
            let stress = Pressure::psi(psi);
            let back = stress_for(cycles_to_failure(stress));
            prop_assert!((back.to_psi() / psi - 1.0).abs() < 1e-9);
        }
    }
}
