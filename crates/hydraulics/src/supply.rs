//! What the source gives: the curve through its static and its flowing test.

use crate::friction::FLOW_EXPONENT;
use quantity::{Flow, Pressure};

/// Pressure at the source when a flow is drawn, P = Ps − (Ps − Pr)·(Q/Qt)^1.852; negative where the
/// source cannot give the flow.
///
/// Source: the exponent of Hazen–Williams applied to a static and a flowing test, as NFPA 291 does
/// for hydrants; from memory. Beyond the tested flow it is an extrapolation.
pub fn source_pressure(
    static_pressure: Pressure,
    residual: Pressure,
    test_flow: Flow,
    flow: Flow,
) -> Pressure {
    if test_flow.to_m3s() <= 0.0 {
        return static_pressure;
    }
    let share = (flow.max(Flow::ZERO) / test_flow).powf(FLOW_EXPONENT);
    static_pressure - (static_pressure - residual) * share
}

/// The flow at which the pressure at the source has fallen to a value,
/// Q = Qt·((Ps − P)/(Ps − Pr))^(1/1.852); `None` if the curve never falls to it.
pub fn flow_at_pressure(
    static_pressure: Pressure,
    residual: Pressure,
    test_flow: Flow,
    pressure: Pressure,
) -> Option<Flow> {
    let fall = static_pressure - residual;
    let wanted = static_pressure - pressure;
    (fall.to_pa() > 0.0 && wanted.to_pa() >= 0.0)
        .then(|| test_flow * (wanted / fall).powf(1.0 / FLOW_EXPONENT))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_goes_through_both_tests_and_back() {
        let (rest, residual, test) = (Pressure::psi(80.0), Pressure::psi(60.0), Flow::gpm(20.0));
        let at = |q| source_pressure(rest, residual, test, q);
        assert_eq!(at(Flow::ZERO), rest);
        assert!((at(test) - residual).to_pa().abs() < 1e-6);
        let p = at(Flow::gpm(12.0));
        let back = flow_at_pressure(rest, residual, test, p).unwrap();
        assert!((back.to_gpm() - 12.0).abs() < 1e-9);
        assert!(at(Flow::gpm(100.0)).to_pa() < 0.0);
        assert_eq!(flow_at_pressure(rest, rest, test, residual), None);
    }
}
