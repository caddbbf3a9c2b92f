//! Routes whose length or cost can be worked out by hand.

use crate::support::yard::{At, Yard, feature};
use crate::{DIG, LAY, at_prices, length_of, network};
use routes::LineKind;
use serde_json::json;

fn first() -> LineKind {
    LineKind::Lateral("C0".to_owned())
}

/// A yard whose source, backflow assembly and valve stand in a row.
fn in_a_row(heads: &[At]) -> Yard {
    let water = ((1.0, 10.0), (2.0, 10.0));
    Yard {
        water,
        ..Yard::plain((30.0, 30.0), (4.0, 10.0), heads)
    }
}

fn apart(a: At, b: At) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

#[test]
fn one_pipe_runs_straight_and_costs_its_length() {
    let yard = in_a_row(&[(16.0, 13.0)]);
    let network = network(&yard.job());
    let straight = apart((4.0, 10.0), (16.0, 13.0));
    assert!((length_of(&network, &first()) - straight).abs() < 1e-6);
    let stretches = network.stretches.iter();
    let dearer = stretches.map(|s| s.length.to_m() * (DIG + LAY * s.carries.len() as f64));
    assert!((network.cost - dearer.sum::<f64>()).abs() < 1e-6);
    assert!((network.cost - network.bound).abs() < 1e-6);
}

/// Two corners of the house, grown square by the clearance of 24 in, are turned round.
#[test]
fn one_pipe_goes_the_shortest_way_round_a_house() {
    let clear = 24.0 * 0.0254;
    for (low, high, turned) in [(6.0, 16.0, 16.0), (4.0, 14.0, 4.0), (9.0, 19.0, 9.0)] {
        let yard = Yard {
            buildings: vec![(8.0, low, 12.0, high)],
            water: ((18.9, 1.0), (17.5, 1.0)),
            ..Yard::plain((20.0, 22.0), (2.0, 10.0), &[(18.0, 10.0)])
        };
        let up = if turned > 10.0 {
            turned + clear
        } else {
            turned - clear
        };
        let [west, east] = [(8.0 - clear, up), (12.0 + clear, up)];
        let known = apart((2.0, 10.0), west) + apart(west, east) + apart(east, (18.0, 10.0));
        let other = if turned > 10.0 {
            low - clear
        } else {
            high + clear
        };
        let longer = 2.0 * apart((2.0, 10.0), (8.0 - clear, other)) + 4.0 + 2.0 * clear;
        // Digging is cheap, so that no other line is worth meeting.
        let found = length_of(&at_prices(&yard.job(), 0.01, 10.0), &first());
        let known = known.min(longer);
        assert!((found - known).abs() < 0.005 * known, "{found} {known}");
    }
}

#[test]
fn three_corners_of_an_even_triangle_meet_in_one_junction() {
    let (side, x, y) = (9.0, 6.0, 6.0);
    let top = (x + side / 2.0, y + side * 3f64.sqrt() / 2.0);
    // Turned further, the main comes so near that the lateral shares its trench, which is cheaper.
    for turn in [0.0, 0.15, 0.3] {
        let (cx, cy) = (x + side / 2.0, y + side * 3f64.sqrt() / 6.0);
        let turned = |(px, py): At| -> At {
            let (dx, dy, (sin, cos)) = (px - cx, py - cy, f64::sin_cos(turn));
            (cx + cos * dx - sin * dy, cy + sin * dx + cos * dy)
        };
        let heads = [turned((x + side, y)), turned(top)];
        let yard = Yard::plain((24.0, 24.0), turned((x, y)), &heads);
        // Digging is cheap, so that the main is not worth meeting.
        let found = length_of(&at_prices(&yard.job(), 0.01, 10.0), &first());
        let steiner = side * 3f64.sqrt();
        assert!(
            (found - steiner).abs() < 0.001 * steiner,
            "{found} {steiner}"
        );
    }
}

/// Two circuits whose valves and whose heads stand together at the ends of one way share its
/// trench: digging is paid once and laying twice.
#[test]
fn two_lines_in_one_trench_pay_for_digging_once() {
    let circuit = ((4.0, 10.0), vec![(16.0, 10.0)]);
    let yard = Yard {
        circuits: vec![circuit.clone(), circuit],
        ..in_a_row(&[])
    };
    let network = network(&yard.job());
    let expected = 3.0 * (DIG + LAY) + 12.0 * (DIG + 2.0 * LAY);
    assert!(
        (network.cost - expected).abs() < 1e-6,
        "{} {expected}",
        network.cost
    );
    assert!((network.length().to_m() - 15.0).abs() < 1e-6);
}

/// A cable between two places near a pipe leaves its own way when sharing the trench is cheaper,
/// and keeps to it when it is not.
#[test]
fn a_cable_shares_a_trench_when_that_is_cheaper() {
    let yard = |off: f64| {
        let mut yard = in_a_row(&[(28.0, 10.0)]);
        let ends = json!({"type": "MultiPoint",
                          "coordinates": [[4.0, 10.0 + off], [28.0, 10.0 + off]]});
        let lights = json!({"kind": "cable", "service": "lighting"});
        yard.more.push(feature("LC", ends, lights));
        network(&yard.job())
    };
    let (near, far) = (yard(0.5), yard(16.0));
    let alone = 3.0 * (DIG + LAY) + 2.0 * 24.0 * (DIG + LAY);
    assert!((far.cost - alone).abs() < 1e-6, "{} {alone}", far.cost);
    // Down half a metre, along the trench that is there, and up again is a way, so it costs no
    // more.
    let shared = 3.0 * (DIG + LAY) + 24.0 * (DIG + 2.0 * LAY) + 2.0 * 0.5 * (DIG + LAY);
    assert!(near.cost <= shared + 1e-6, "{} {shared}", near.cost);
}

/// A strip of concrete 2 m wide is crossed square: the sleeve is as long as the strip and what
/// stands out on both sides, 12 in each.
#[test]
fn a_walk_is_crossed_square_by_the_shortest_sleeve() {
    let mut yard = in_a_row(&[(16.0, 10.0)]);
    let walk = crate::support::yard::area((9.0, 0.0, 11.0, 30.0));
    let concrete = json!({"kind": "surface", "surface": "concrete"});
    yard.more.push(feature("WALK", walk, concrete));
    let network = network(&yard.job());
    let sleeves: Vec<_> = network
        .stretches
        .iter()
        .filter(|s| s.sleeve.is_some())
        .collect();
    assert_eq!(sleeves.len(), 1);
    let long = sleeves[0].length.to_m();
    assert!((long - (2.0 + 2.0 * 0.3048)).abs() < 1e-6, "{long}");
    assert!((sleeves[0].sleeve.as_ref().unwrap().angle.to_deg() - 90.0).abs() < 1e-6);
    assert!((length_of(&network, &first()) - 12.0).abs() < 1e-6);
}
