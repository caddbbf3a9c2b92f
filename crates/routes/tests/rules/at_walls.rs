//! Components within clearances: what they need is a way out, not a way through.

use crate::support::checker;
use crate::support::yard::{At, Yard, feature};
use crate::{length_of, network};
use routes::LineKind;
use serde_json::json;

fn keeps_the_rules(yard: &Yard) {
    let job = yard.job();
    let faults = checker::faults(&job, &network(&job));
    assert!(faults.is_empty(), "{faults:#?}");
}

/// A yard of 20 m with a house in its middle and a cable between two places.
fn cable(from: At, to: At) -> Yard {
    let ends = json!({"type": "MultiPoint", "coordinates": [from, to]});
    let lights = json!({"kind": "cable", "service": "lighting"});
    Yard {
        buildings: vec![(8.0, 8.0, 12.0, 12.0)],
        more: vec![feature("LC", ends, lights)],
        ..Yard::plain((20.0, 20.0), (3.0, 3.0), &[(5.0, 3.0)])
    }
}

#[test]
fn a_cable_between_opposite_walls_goes_round_the_house() {
    keeps_the_rules(&cable((8.0, 10.0), (12.0, 10.0)));
    keeps_the_rules(&cable((8.0, 10.0), (12.0, 9.1)));
    keeps_the_rules(&cable((10.0, 8.0), (12.0, 10.0)));
}

#[test]
fn a_cable_along_one_wall_keeps_its_distance() {
    keeps_the_rules(&cable((8.0, 8.5), (8.0, 11.5)));
    keeps_the_rules(&cable((8.0, 8.2), (7.9, 17.0)));
}

#[test]
fn a_controller_on_a_wall_is_wired_round_the_house() {
    for valve in [(12.3, 10.0), (14.0, 10.0), (10.0, 12.1), (19.9, 19.9)] {
        let yard = Yard {
            buildings: vec![(8.0, 8.0, 12.0, 12.0)],
            controller: Some((8.0, 10.0)),
            ..Yard::plain((20.0, 20.0), valve, &[(18.0, 10.0)])
        };
        keeps_the_rules(&yard);
    }
}

#[test]
fn heads_along_the_property_line_and_a_corner_of_a_paved_court() {
    let mut yard = Yard::plain((20.0, 20.0), (4.0, 4.0), &[]);
    yard.circuits[0].1 = vec![(0.1, 0.1), (10.0, 0.05), (19.9, 0.1), (19.95, 12.0)];
    keeps_the_rules(&yard);
    let court = crate::support::yard::area((6.0, 6.0, 14.0, 14.0));
    let concrete = json!({"kind": "surface", "surface": "concrete"});
    yard.more.push(feature("COURT", court, concrete));
    yard.circuits[0]
        .1
        .extend([(5.98, 10.0), (14.02, 10.0), (10.0, 6.0)]);
    keeps_the_rules(&yard);
}

/// A controller in the middle of a wall of 10 m: the trench to it comes straight out rather than
/// along the wall.
#[test]
fn a_trench_does_not_run_along_the_wall_of_its_controller() {
    let yard = Yard {
        buildings: vec![(10.0, 5.0, 14.0, 15.0)],
        controller: Some((10.0, 10.0)),
        ..Yard::plain((24.0, 20.0), (16.0, 3.0), &[(18.0, 3.0)])
    };
    keeps_the_rules(&yard);
    let network = network(&yard.job());
    let clear = 24.0 * 0.0254;
    let near = |s: &&routes::Stretch| {
        s.path
            .iter()
            .all(|p| p.x > 10.0 - clear + 1e-6 && p.x < 10.1)
    };
    let mut beside = network
        .stretches
        .iter()
        .filter(near)
        .map(|s| s.length.to_m());
    let along = beside.by_ref().fold(0.0, f64::max);
    assert!(along < 1.6 * clear, "{along}");
    let wire = length_of(&network, &LineKind::Wire);
    assert!(wire > 5.0 + clear, "{wire}");
}

/// A component in an alley too narrow to keep the clearances gets its way out along the alley.
#[test]
fn a_valve_in_a_narrow_alley_is_reached() {
    let yard = Yard {
        buildings: vec![(5.0, 6.0, 9.5, 14.0), (10.3, 6.0, 15.0, 14.0)],
        ..Yard::plain((20.0, 20.0), (9.9, 9.0), &[(10.0, 3.0)])
    };
    keeps_the_rules(&yard);
}

/// A controller on a house that stands in a paved court: one sleeve, not one for each change of
/// what is beside the paving.
#[test]
fn under_one_paving_there_is_one_sleeve() {
    let court = crate::support::yard::area((6.0, 6.0, 14.0, 14.0));
    let concrete = json!({"kind": "surface", "surface": "concrete"});
    let yard = Yard {
        buildings: vec![(9.0, 9.0, 12.0, 12.0)],
        controller: Some((9.0, 10.0)),
        more: vec![feature("COURT", court, concrete)],
        ..Yard::plain((20.0, 20.0), (3.0, 10.0), &[(3.0, 15.0)])
    };
    keeps_the_rules(&yard);
    let network = network(&yard.job());
    let sleeves = network.stretches.iter().filter(|s| s.sleeve.is_some());
    assert_eq!(sleeves.count(), 1);
}
