//! What the source gives: the curve through its static and its flowing test, and what a pump, a meter,
//! a filter and a regulator make of it.

use crate::friction::FLOW_EXPONENT;
use job::{Curve, Source};
use quantity::{Flow, Pressure};

/// Pressure that something takes at a flow: as stated between the flows of its curve, in proportion;
/// that of the first point below it; beyond the last point it follows the square of the flow.
///
/// Source: loss in equipment follows the square of the flow, any textbook of hydraulics; from memory.
pub fn loss(curve: &Curve, flow: Flow) -> Pressure {
    let points = curve.points();
    let (last_flow, last) = points[points.len() - 1];
    if curve.is_constant() || flow <= points[0].0 {
        points[0].1
    } else if flow >= last_flow {
        last * (flow / last_flow).powi(2)
    } else {
        between(points, flow)
    }
}

/// Pressure that a pump adds at a flow: as stated between the flows of its curve, in proportion; that of
/// the first point below it; beyond the last point it falls on as between the last two.
pub fn pump(curve: &Curve, flow: Flow) -> Pressure {
    let points = curve.points();
    match points {
        [.., (q1, p1), (q2, p2)] if flow > *q2 => *p2 + (*p2 - *p1) * ((flow - *q2) / (*q2 - *q1)),
        [.., (last, _)] if flow > points[0].0 && flow <= *last => between(points, flow),
        _ => points[0].1,
    }
}

/// In proportion between the two points on either side of a flow that lies within the curve.
fn between(points: &[(Flow, Pressure)], flow: Flow) -> Pressure {
    let after = points
        .partition_point(|(q, _)| *q < flow)
        .clamp(1, points.len() - 1);
    let ((q1, p1), (q2, p2)) = (points[after - 1], points[after]);
    p1 + (p2 - p1) * ((flow - q1) / (q2 - q1))
}

/// Pressure behind the source and all that stands at it: pump, meter, filter, regulator; negative where
/// the source cannot give the flow.
pub fn behind_source(source: &Source, flow: Flow) -> Pressure {
    let of = |curve: &Option<Curve>| curve.as_ref().map_or(Pressure::ZERO, |c| loss(c, flow));
    let tested = source_pressure(
        source.static_pressure,
        source.residual_pressure,
        source.test_flow,
        flow,
    );
    let pumped = source
        .pump
        .as_ref()
        .map_or(Pressure::ZERO, |c| pump(c, flow));
    let left = tested + pumped - of(&source.meter_loss) - of(&source.filter_loss);
    source.regulated.map_or(left, |most| left.min(most))
}

/// The most that the source gives at a pressure behind all that stands at it, within a millionth;
/// `None` if it does not reach the pressure at any flow. Without a limit where the tests show no fall.
pub fn most_flow(source: &Source, pressure: Pressure) -> Option<Flow> {
    let gives = |flow: Flow| behind_source(source, flow) >= pressure;
    if !gives(Flow::ZERO) {
        return None;
    }
    let (mut low, mut high) = (Flow::ZERO, source.test_flow);
    // A source that still holds at a million times the tested flow has no limit that a test shows.
    for _ in 0..20 {
        if !gives(high) {
            break;
        }
        (low, high) = (high, high * 2.0);
    }
    if gives(high) {
        return Some(Flow::m3s(f64::INFINITY));
    }
    while high - low > high * 1e-6 {
        let middle = (low + high) * 0.5;
        if gives(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}

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

#[cfg(test)]
mod tests {
    use super::*;

    fn source() -> Source {
        Source {
            id: "S".into(),
            at: job::Place::new(0.0, 0.0),
            static_pressure: Pressure::psi(80.0),
            test_flow: Flow::gpm(20.0),
            residual_pressure: Pressure::psi(60.0),
            service_size: "1 in".into(),
            main_pipe: "pvc_sch40".into(),
            pump: None,
            meter_loss: None,
            filter_loss: None,
            regulated: None,
        }
    }

    fn curve(points: &[(f64, f64)]) -> Option<Curve> {
        let point = |(gpm, psi): &(f64, f64)| (Flow::gpm(*gpm), Pressure::psi(*psi));
        Curve::through(points.iter().map(point).collect())
    }

    /// Worked by hand: 80 − 20·(10/20)^1.852 = 74.459 psi of the tests; 4 psi in the meter half way
    /// between its points; 1 × (10/5)² psi in the filter; 12 psi of the pump.
    #[test]
    fn everything_at_the_source_counts() {
        let mut source = source();
        let at = |s: &Source, gpm: f64| behind_source(s, Flow::gpm(gpm)).to_psi();
        assert!((at(&source, 10.0) - 74.4594).abs() < 1e-3);
        source.meter_loss = curve(&[(5.0, 2.0), (15.0, 6.0)]);
        assert!((at(&source, 10.0) - 70.4594).abs() < 1e-3);
        source.filter_loss = curve(&[(2.0, 0.5), (5.0, 1.0)]);
        assert!((at(&source, 10.0) - 66.4594).abs() < 1e-3);
        source.pump = curve(&[(0.0, 20.0), (5.0, 16.0), (10.0, 12.0)]);
        assert!((at(&source, 10.0) - 78.4594).abs() < 1e-3);
        assert!((pump(source.pump.as_ref().unwrap(), Flow::gpm(20.0)).to_psi() - 4.0).abs() < 1e-9);
        assert!(
            (pump(source.pump.as_ref().unwrap(), Flow::gpm(40.0)).to_psi() + 12.0).abs() < 1e-9
        );
        source.regulated = Some(Pressure::psi(50.0));
        assert!((at(&source, 10.0) - 50.0).abs() < 1e-9);
        let most = most_flow(&source, Pressure::psi(50.0)).unwrap();
        assert!(
            (at(&source, most.to_gpm() * 1.001)) < 50.0
                && at(&source, most.to_gpm()) >= 50.0 - 1e-9
        );
        assert_eq!(most_flow(&source, Pressure::psi(51.0)), None);
    }

    #[test]
    fn the_curve_goes_through_both_tests_and_back() {
        let (rest, residual, test) = (Pressure::psi(80.0), Pressure::psi(60.0), Flow::gpm(20.0));
        let at = |q| source_pressure(rest, residual, test, q);
        assert_eq!(at(Flow::ZERO), rest);
        assert!((at(test) - residual).to_pa().abs() < 1e-6);
        let back = most_flow(&source(), at(Flow::gpm(12.0))).unwrap();
        assert!((back.to_gpm() - 12.0).abs() < 1e-4);
        assert!(at(Flow::gpm(100.0)).to_pa() < 0.0);
    }
}
