//! Water: density and viscosity by temperature, head and pressure.

use quantity::{Celsius, Length, Pressure};

/// Standard gravity, m/s². Source: CGPM 1901, resolution 2.
pub const GRAVITY: f64 = 9.806_65;

/// Water at one temperature and at the pressure of the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa·s.
    pub viscosity_pa_s: f64,
}

impl Water {
    /// Water at a temperature; the formulas hold from 0 °C to 100 °C and are kept to that range.
    pub fn at(temperature: Celsius) -> Self {
        Self {
            density_kg_m3: density(temperature),
            viscosity_pa_s: viscosity(temperature),
        }
    }

    /// The pressure under a column of it, p = ρ·g·h.
    pub fn pressure_of(self, head: Length) -> Pressure {
        Pressure::pa(self.density_kg_m3 * GRAVITY * head.to_m())
    }

    /// The height of the column that makes a pressure, h = p/(ρ·g).
    pub fn head_of(self, pressure: Pressure) -> Length {
        Length::m(pressure.to_pa() / (self.density_kg_m3 * GRAVITY))
    }
}

/// Density of water free of air at one atmosphere, kg/m³.
///
/// Source: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, equation 16, coefficients from memory.
/// Tabulated values at 4, 15 and 20 °C are met within 0.02 kg/m³.
pub fn density(temperature: Celsius) -> f64 {
    let t = liquid(temperature);
    let above = [
        999.839_52,
        16.945_176,
        -7.987_040_1e-3,
        -46.170_461e-6,
        105.563_02e-9,
        -280.542_53e-12,
    ];
    above.iter().rev().fold(0.0, |sum, a| sum * t + a) / (1.0 + 16.879_850e-3 * t)
}

/// Dynamic viscosity of liquid water at 0.1 MPa, Pa·s.
///
/// Source: IAPWS release on the viscosity of ordinary water (2008), the recommended correlation for
/// 0.1 MPa, coefficients from memory; stated there for 253 K to 383 K within 1 %. Tabulated values
/// at 4, 15 and 20 °C are met within 0.2 %.
pub fn viscosity(temperature: Celsius) -> f64 {
    let reduced = (liquid(temperature) + 273.15) / 300.0;
    let terms: [(f64, f64); 4] = [
        (280.68, -1.9),
        (511.45, -7.7),
        (61.131, -19.6),
        (0.459_03, -40.0),
    ];
    terms.iter().map(|(a, b)| a * reduced.powf(*b)).sum::<f64>() * 1e-6
}

/// Degrees, kept to the range in which water is liquid at one atmosphere.
fn liquid(temperature: Celsius) -> f64 {
    temperature.to_c().clamp(0.0, 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IAPWS-95 and IAPWS 2008 values as tabulated, from memory.
    #[test]
    fn density_and_viscosity_are_those_of_the_tables() {
        let rows = [
            (15.0, 999.10, 1.1375e-3),
            (20.0, 998.21, 1.0016e-3),
            (4.0, 999.97, 1.5672e-3),
        ];
        for (t, density, viscosity) in rows {
            let water = Water::at(Celsius::c(t));
            assert!((water.density_kg_m3 - density).abs() < 0.02, "{t} °C");
            assert!(
                (water.viscosity_pa_s / viscosity - 1.0).abs() < 2e-3,
                "{t} °C"
            );
        }
    }

    /// 62.4 lb/ft³ over 144 in²/ft² makes 0.4333 psi per foot; water at 15 °C weighs 62.37 lb/ft³.
    #[test]
    fn a_foot_of_water_presses_with_0_433_psi() {
        let water = Water::at(Celsius::c(15.0));
        let foot = water.pressure_of(Length::ft(1.0));
        assert!((foot.to_psi() - 0.4333).abs() < 5e-4);
        assert!((water.head_of(foot).to_ft() - 1.0).abs() < 1e-12);
    }
}
