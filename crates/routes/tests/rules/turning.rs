//! Bends and junctions: counted from the geometry, priced, and fewer where they cost more.

use crate::support::yard::{At, Yard, yards};
use crate::support::{cases, checker};
use crate::{DIG, LAY, at_turning_prices};
use job::Job;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use routes::{Network, NodeKind};

/// A bend and a junction cost this where they cost something.
const TURNING: [f64; 2] = [6.0, 10.0];
/// Where bends are so dear that any detour without one is taken.
const DEAR: [f64; 2] = [60.0, 10.0];

fn network(job: &Job, turning: [f64; 2]) -> Network {
    at_turning_prices(job, DIG, LAY, turning)
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn tidied_networks_keep_the_rules_at_any_price(yard in yards(), bend in 0.0..80.0, junction in 0.0..80.0) {
        let job = yard.job();
        let found = network(&job, [bend, junction]);
        prop_assert_eq!(checker::faults(&job, &found), Vec::<String>::new());
        let [bends, junctions, more] = checker::turning(&job, &found);
        let cost = bend * (bends + more) as f64 + junction * junctions as f64;
        prop_assert!((found.turning.cost - cost).abs() < 1e-6 * (1.0 + cost));
        prop_assert!(found.bound <= found.laying() * (1.0 + 1e-9));
        prop_assert_eq!(&found, &network(&job, [bend, junction]));
    }
}

/// On open ground everything that the cost is made of can be read off the plan.
#[test]
fn the_cost_is_that_of_the_trenches_drawn() {
    let yard = Yard::plain((30.0, 30.0), (4.0, 10.0), &scattered());
    let found = network(&yard.job(), TURNING);
    let laid = found.stretches.iter();
    let laid: f64 = laid
        .map(|s| s.length.to_m() * (DIG + LAY * s.carries.len() as f64))
        .sum();
    assert!(
        (found.laying() - laid).abs() < 1e-6,
        "{} {laid}",
        found.laying()
    );
}

fn scattered() -> Vec<At> {
    vec![
        (9.0, 12.0),
        (14.0, 6.0),
        (17.0, 14.0),
        (22.0, 9.0),
        (25.0, 20.0),
        (12.0, 24.0),
        (5.0, 19.0),
    ]
}

/// Over many yards dear bends become fewer, and what is gained in bends is paid for in digging.
#[test]
fn dear_bends_are_fewer_and_digging_never_cheaper_for_it() {
    let mut runner = proptest::test_runner::TestRunner::new(cases(12));
    let mut sums = [[0.0; 2]; 2];
    for _ in 0..12 {
        let yard = yards().new_tree(&mut runner).unwrap().current();
        let job = yard.job();
        for (sum, turning) in sums.iter_mut().zip([[0.0, 0.0], DEAR]) {
            let found = network(&job, turning);
            sum[0] += found.turning.bends as f64;
            sum[1] += found.laying();
        }
    }
    let [free, dear] = sums;
    assert!(dear[0] < 0.8 * free[0], "{sums:?}");
    assert!(dear[1] >= free[1] * (1.0 - 1e-9), "{sums:?}");
}

/// Two heads in almost the same direction: the trenches to them part at an angle for which there are
/// fittings.
#[test]
fn trenches_part_at_no_sharp_angle() {
    for off in [0.8, 1.5, 2.5] {
        let heads = [(14.0, 10.0 + off), (20.0, 10.0)];
        let water = ((1.0, 10.0), (2.0, 10.0));
        let yard = Yard {
            water,
            ..Yard::plain((30.0, 30.0), (4.0, 10.0), &heads)
        };
        let found = network(&yard.job(), TURNING);
        assert_eq!(found.turning.more, 0, "{off}");
        assert!(!found.findings.iter().any(|f| f.rule == "sharp-junction"));
    }
}

/// Two circuits whose valves and heads stand a foot apart run in one trench, though no place of one
/// lies on the other.
#[test]
fn trenches_a_foot_apart_become_one() {
    let circuit = |y: f64| ((4.0, y), vec![(24.0, y)]);
    let yard = Yard {
        circuits: vec![circuit(10.0), circuit(10.3)],
        water: ((1.0, 10.0), (2.0, 10.0)),
        ..Yard::plain((30.0, 30.0), (4.0, 10.0), &[])
    };
    let found = network(&yard.job(), TURNING);
    assert!(!found.findings.iter().any(|f| f.rule == "trenches-too-near"));
    assert!(found.length().to_m() < 24.0, "{}", found.length().to_m());
    let free = found.nodes.iter().filter(|n| n.what == NodeKind::Junction);
    assert_eq!(free.count(), 0);
}
