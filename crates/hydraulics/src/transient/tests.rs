//! The simulation against closed forms and an exact recursion.

use super::*;
use proptest::prelude::*;

const AREA: f64 = 5.0e-4;

fn plain(length: f64, wave: f64, resistance: f64) -> Pipe {
    Pipe {
        length,
        area: AREA,
        wave,
        resistance,
        from: 0.0,
        to: 0.0,
    }
}

/// A held head, one pipe, and a valve that takes all of the drop.
fn single(rest: f64, pipe: Pipe) -> Line {
    Line {
        source: Source {
            rest,
            fall: 0.0,
            exponent: 1.852,
        },
        pipes: vec![pipe],
        check: None,
        valve: Valve {
            resistance: f64::INFINITY,
            outlet: 0.0,
        },
    }
}

/// Allievi's chain: heads at the valve at times a period apart, of periods 2·L/a of a frictionless pipe,
/// ζᵢ² + ζᵢ₋₁² − 2 = 2ρ(ηᵢ₋₁·ζᵢ₋₁ − ηᵢ·ζᵢ), ζ² = H/H₀, ρ = a·V₀/(2·g·H₀), η the opening.
///
/// Source: Allievi, Theory of water hammer (1925); from memory.
fn allievi(rho: f64, openings: &[f64]) -> Vec<f64> {
    let mut zeta = 1.0;
    let mut before = 1.0;
    let mut heads = vec![1.0];
    for opening in openings {
        let right = 2.0 - zeta * zeta + 2.0 * rho * before * zeta;
        let b = rho * opening;
        zeta = -b + (b * b + right).max(0.0).sqrt();
        before = *opening;
        heads.push(zeta * zeta);
    }
    heads
}

#[test]
fn a_valve_that_closes_at_once_makes_the_rise_of_joukowsky() {
    let line = single(40.0, plain(100.0, 400.0, 0.0));
    let flow = 1.2 * AREA;
    let wave = 400.0 * 1.2 / GRAVITY;
    for closure in [0.0, 0.1, 0.45] {
        let rise = line.close(flow, closure, 64).unwrap();
        let rise = rise.at_valve - rise.at_valve_before;
        assert!(
            (rise / wave - 1.0).abs() < 5e-3,
            "{closure} s: {rise} for {wave}"
        );
    }
}

#[test]
fn slower_closings_follow_the_chain_of_allievi() {
    for (rest, length, velocity, closure) in [
        (50.0, 120.0, 1.0, 3.0),
        (30.0, 300.0, 1.5, 4.5),
        (80.0, 40.0, 2.0, 0.8),
        (15.0, 200.0, 0.6, 10.0),
    ] {
        let wave = 400.0;
        let line = single(rest, plain(length, wave, 0.0));
        let period = 2.0 * length / wave;
        let rho = wave * velocity / (2.0 * GRAVITY * rest);
        let periods = (closure / period).round() as usize;
        let closure = period * periods as f64;
        let opening = |t: f64| (1.0 - t / closure).max(0.0);
        // One chain holds at times a period apart; the most of all chains is the most at all times.
        let most = (1..=50)
            .flat_map(|offset| {
                let first = period * f64::from(offset) / 50.0;
                let times = (0..periods + 4).map(|i| first + i as f64 * period);
                allievi(rho, &times.map(opening).collect::<Vec<_>>())
            })
            .fold(1.0, f64::max)
            * rest;
        let found = line.close(velocity * AREA, closure, 100).unwrap().at_valve;
        assert!((found / most - 1.0).abs() < 5e-3, "{found} for {most}");
    }
}

/// A line as in a plan: three bores, a falling source, a check, heights.
fn crooked() -> Line {
    let pipe = |length, inside: f64, wave, resistance, from, to| Pipe {
        length,
        area: std::f64::consts::FRAC_PI_4 * inside * inside,
        wave,
        resistance,
        from,
        to,
    };
    Line {
        source: Source {
            rest: 56.0,
            fall: 9.0e5,
            exponent: 1.852,
        },
        pipes: vec![
            pipe(6.0, 0.030, 500.0, 1.0e6, 0.0, 0.2),
            pipe(41.0, 0.038, 360.0, 2.6e6, 0.2, -1.0),
            pipe(0.3, 0.038, 360.0, 2.0e4, -1.0, -1.0),
            pipe(23.0, 0.026, 420.0, 9.0e6, -1.0, 2.0),
        ],
        check: Some(Check {
            before: 1,
            resistance: 4.0e6,
        }),
        valve: Valve {
            resistance: 2.0e6,
            outlet: 2.0,
        },
    }
}

#[test]
fn nothing_moves_while_the_valve_stays_open() {
    let line = crooked();
    let flow = 8.0e-4;
    // A valve that would take a thousand years.
    let still = {
        let steady = line.steady(flow);
        let mut grid = Grid::new(&line, &steady, flow, 48);
        let drop = steady.last().unwrap().1 - line.valve.outlet;
        let mut head = 0.0;
        for _ in 0..500 {
            head = grid.advance(&line, flow * flow / drop);
        }
        head - steady.last().unwrap().1
    };
    assert!(still.abs() < 1e-6, "{still}");
}

#[test]
fn the_outcome_does_not_hang_on_the_grid() {
    let line = crooked();
    // Ends of pipes are rounded to whole reaches, which shifts the steep fronts of a sudden closing.
    for (closure, within) in [(0.0, 0.02), (0.5, 5e-3), (1.0, 5e-3), (3.0, 5e-3)] {
        let coarse = line.close(8.0e-4, closure, line.reaches(64)).unwrap();
        let fine = line.close(8.0e-4, closure, 400).unwrap();
        for (c, f) in coarse.highest.iter().zip(&fine.highest) {
            assert!((c - f).abs() < within * f, "{closure} s: {c} and {f}");
        }
    }
}

#[test]
fn a_line_packs_up_to_the_head_of_the_source_at_rest_and_beyond() {
    let line = crooked();
    let outcome = line.close(8.0e-4, 1.0, 64).unwrap();
    for (pipe, highest) in line.pipes.iter().zip(&outcome.highest) {
        let rest = line.source.rest - pipe.from.max(pipe.to);
        assert!(*highest >= rest - 0.5, "{highest} at rest {rest}");
    }
    assert!(
        outcome
            .before
            .iter()
            .zip(&outcome.highest)
            .all(|(b, h)| h > b)
    );
}

#[test]
fn lines_without_flow_length_or_pressure_have_no_outcome() {
    let line = crooked();
    assert_eq!(line.close(0.0, 1.0, 40), None);
    assert_eq!(line.close(f64::NAN, 1.0, 40), None);
    assert_eq!(line.close(5.0e-3, 1.0, 40), None);
    let short = single(10.0, plain(0.0, 400.0, 0.0));
    assert_eq!(short.close(1e-4, 1.0, 40), None);
    let none = Line {
        pipes: Vec::new(),
        ..line
    };
    assert_eq!(none.close(1e-4, 1.0, 40), None);
}

proptest! {
    /// Where the valve takes the whole drop; no closing makes more than one at once would, friction
    /// and packing aside.
    #[test]
    fn no_closing_makes_more_than_one_at_once(
        length in 5.0..400.0_f64,
        wave in 250.0..600.0_f64,
        velocity in 0.2..2.5_f64,
        rest in 20.0..70.0_f64,
        closure in 0.0..6.0_f64,
    ) {
        let line = single(rest, plain(length, wave, 0.0));
        let outcome = line.close(velocity * AREA, closure, 32).unwrap();
        let rise = outcome.at_valve - rest;
        let most = wave * velocity / GRAVITY;
        prop_assert!(rise <= most * 1.001, "{rise} over {most}");
        prop_assert!(rise >= 0.0);
        prop_assert!(outcome.highest.iter().chain(&outcome.lowest).all(|h| h.is_finite()));
    }

    #[test]
    fn a_slower_valve_never_makes_more(
        velocity in 0.3..2.0_f64,
        closure in 0.0..3.0_f64,
        slower in 1.1..3.0_f64,
    ) {
        let line = single(50.0, plain(80.0, 400.0, 0.0));
        let most = |t: f64| line.close(velocity * AREA, t, 48).unwrap().at_valve;
        prop_assert!(most(closure * slower) <= most(closure) * 1.002);
    }
}
