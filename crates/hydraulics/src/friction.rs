//! Head lost to friction in full round pipe.
//!
//! A plan goes by Hazen–Williams. Published forms of it differ by up to 0.9 %; here the set of the
//! US EPA counts: h = 4.727·L·q^1.852/(C^1.852·d^4.871) in feet and cubic feet per second.
//! Darcy–Weisbach with Colebrook–White stands beside it as the reference.

use crate::water::{GRAVITY, Water};
use quantity::{Area, Flow, Length, Ratio, Velocity};

/// Cubic metres in a cubic foot.
const CUBIC_FOOT: f64 = 0.3048 * 0.3048 * 0.3048;

/// The exponent of the flow in Hazen–Williams.
pub const FLOW_EXPONENT: f64 = 1.852;

/// Below this Reynolds number the flow counts as laminar; from here on Colebrook–White is used,
/// which gives the larger loss in the unsettled range up to 4000.
pub const LAMINAR_BELOW: f64 = 2000.0;

/// Mean velocity in a round pipe, v = q/(π·d²/4); nothing in a pipe of no width.
pub fn velocity(flow: Flow, inside: Length) -> Velocity {
    if inside.to_m() > 0.0 {
        flow / bore(inside)
    } else {
        Velocity::ZERO
    }
}

/// The flow at which a round pipe reaches a velocity.
pub fn flow_at(velocity: Velocity, inside: Length) -> Flow {
    Flow::m3s(velocity.to_mps() * bore(inside).to_m2())
}

fn bore(inside: Length) -> Area {
    (inside * inside) * std::f64::consts::FRAC_PI_4
}

/// Head lost over a length by Hazen–Williams; `c` is the coefficient of the pipe.
///
/// Source: US EPA, EPA/600/R-00/057, table of pipe head loss formulas (constants 4.727, 1.852,
/// 4.871 in ft and ft³/s).
pub fn hazen_williams(length: Length, flow: Flow, inside: Length, c: Ratio) -> Length {
    let (d, q) = (inside.to_ft(), flow.to_m3s().max(0.0) / CUBIC_FOOT);
    if d <= 0.0 || c.to_one() <= 0.0 {
        return Length::ZERO;
    }
    let slope = 4.727 * (q / c.to_one()).powf(FLOW_EXPONENT) / d.powf(4.871);
    length * slope
}

/// Reynolds number, Re = ρ·v·d/μ.
pub fn reynolds(flow: Flow, inside: Length, water: Water) -> f64 {
    water.density_kg_m3 * velocity(flow, inside).to_mps() * inside.to_m() / water.viscosity_pa_s
}

/// Darcy friction factor: 64/Re in laminar flow, else Colebrook–White,
/// 1/√f = −2·log₁₀(ε/(3.7·d) + 2.51/(Re·√f)), iterated until 1/√f moves by less than 1e-12.
///
/// `relative_roughness` is ε/d. Source: Colebrook, J. ICE 11 (1939) 133; from memory.
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    if reynolds <= 0.0 {
        return 0.0;
    }
    if reynolds < LAMINAR_BELOW {
        return 64.0 / reynolds;
    }
    let mut root = 8.0;
    // The map shrinks distances at least fourfold above the laminar bound: 60 rounds are ample.
    for _ in 0..60 {
        let next = -2.0 * (relative_roughness / 3.7 + 2.51 * root / reynolds).log10();
        let moved = (next - root).abs();
        root = next;
        if moved < 1e-12 {
            break;
        }
    }
    1.0 / (root * root)
}

/// Head lost over a length by Darcy–Weisbach, h = f·(L/d)·v²/(2·g); `roughness` is absolute.
///
/// Source: Darcy–Weisbach, any textbook of hydraulics; from memory.
pub fn darcy_weisbach(
    length: Length,
    flow: Flow,
    inside: Length,
    roughness: Length,
    water: Water,
) -> Length {
    if inside.to_m() <= 0.0 {
        return Length::ZERO;
    }
    let f = friction_factor(reynolds(flow, inside, water), roughness / inside);
    let v = velocity(flow, inside).to_mps();
    Length::m(f * (length / inside) * v * v / (2.0 * GRAVITY))
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Celsius;

    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!(
            (value / expected - 1.0).abs() <= tolerance,
            "{value} is not {expected} within {tolerance}"
        );
    }

    /// 2 in PVC Schedule 40 at 50 gpm: worked from the EPA set, exact to the digits given.
    #[test]
    fn hazen_williams_gives_the_worked_case_of_its_own_set() {
        let head = hazen_williams(
            Length::ft(100.0),
            Flow::gpm(50.0),
            Length::inch(2.067),
            Ratio::one(150.0),
        );
        near(head.to_ft(), 3.980_78, 1e-5);
    }

    /// Worked from the form with constant 0.2083 and exponent 4.8704 (ft/100 ft, gpm, in) and
    /// 62.4/144 psi per ft; the two published sets differ by up to 0.9 %.
    #[test]
    fn hazen_williams_lies_within_one_percent_of_the_other_published_set() {
        let rows = [
            (0.622, 2.0, 1.55318),
            (0.824, 8.0, 5.14495),
            (1.049, 10.0, 2.39997),
            (1.38, 20.0, 2.2784),
            (1.61, 30.0, 2.27874),
            (2.067, 50.0, 1.738),
            (3.068, 100.0, 0.916_664),
        ];
        let water = Water::at(Celsius::c(15.0));
        for (inside, flow, psi) in rows {
            let head = hazen_williams(
                Length::ft(100.0),
                Flow::gpm(flow),
                Length::inch(inside),
                Ratio::one(150.0),
            );
            near(water.pressure_of(head).to_psi(), psi, 0.01);
        }
    }

    /// Computed with the library fluids 1.3.1 for 20 °C water and a roughness of 0.0015 mm:
    /// Reynolds number, friction factor, m/100 m.
    #[test]
    fn darcy_weisbach_is_that_of_a_general_purpose_library() {
        let water = Water {
            density_kg_m3: 998.21,
            viscosity_pa_s: 0.001_001_6,
        };
        let rows = [
            (0.0158, 0.1, 8031.2, 0.032_885_6, 2.760_52),
            (0.0204, 0.4, 24_881.0, 0.024_729_1, 9.256_52),
            (0.026, 0.8, 39_044.0, 0.022_272_4, 9.9163),
            (0.0525, 2.5, 60_425.2, 0.020_149_8, f64::NAN),
        ];
        for (inside, lps, re, f, gradient) in rows {
            let (d, q, e) = (Length::m(inside), Flow::lps(lps), Length::mm(0.0015));
            near(reynolds(q, d, water), re, 1e-4);
            near(friction_factor(re, e / d), f, 1e-5);
            if gradient.is_finite() {
                near(
                    darcy_weisbach(Length::m(100.0), q, d, e, water).to_m(),
                    gradient,
                    1e-4,
                );
            }
        }
    }

    #[test]
    fn laminar_flow_is_64_over_re_and_still_water_loses_nothing() {
        near(friction_factor(1000.0, 0.01), 0.064, 1e-12);
        let still = darcy_weisbach(
            Length::m(10.0),
            Flow::ZERO,
            Length::mm(20.0),
            Length::mm(0.0015),
            Water::at(Celsius::c(20.0)),
        );
        assert_eq!(still, Length::ZERO);
    }

    /// Q = v·d²/0.40853 in gpm, ft/s and in.
    #[test]
    fn flow_at_five_feet_a_second_is_that_of_the_table() {
        for (inside, gpm) in [(0.622, 4.73507), (1.049, 13.4678), (1.61, 31.7247)] {
            let flow = flow_at(Velocity::fps(5.0), Length::inch(inside));
            near(flow.to_gpm(), gpm, 1e-4);
            near(velocity(flow, Length::inch(inside)).to_fps(), 5.0, 1e-12);
        }
    }
}
