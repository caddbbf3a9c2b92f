//! A property drawn elsewhere and turned gets the same plan.

use crate::support::moved::moved;
use crate::support::{cases, yard};
use crate::{plan_of, read};
use plan::Plan;
use proptest::prelude::*;

/// What is compared: price, trench, spoil, pipe.
fn totals(plan: &Plan) -> [f64; 4] {
    let bank: f64 = plan.digging.digs.iter().map(|d| d.earth.bank.to_m3()).sum();
    let pipes = plan.hydraulics.pipes.iter();
    let pipe: f64 = pipes
        .map(|p| plan.network.stretch(p.stretch).length.to_m())
        .sum();
    [
        plan.price.total.to_units(),
        plan.network.length().to_m(),
        bank,
        pipe,
    ]
}

fn compare(text: &str, degrees: f64, by: (f64, f64)) {
    let plan = plan_of(&read(text));
    let other = plan_of(&read(&moved(text, degrees, by)));
    match (plan, other) {
        (Some(plan), Some(other)) => {
            let (a, b) = (totals(&plan), totals(&other));
            let off: Vec<f64> = a.iter().zip(b).map(|(a, b)| 100.0 * (b - a) / a).collect();
            let cost = 100.0 * (other.network.cost / plan.network.cost - 1.0);
            eprintln!(
                "{degrees:6.1} {by:?}: {off:.2?} cost {cost:.2} gap {:.4} rounds {} {}",
                plan.network.gap(),
                plan.rounds,
                other.rounds
            );
        }
        (None, None) => {}
        _ => panic!("reachable only one way"),
    }
}

#[test]
fn the_demo_job_may_lie_anywhere() {
    for text in [job::DEMO, job::DEMO_METRIC] {
        compare(text, 0.0, (137.0, -59.5));
        compare(text, 30.0, (0.0, 0.0));
        compare(text, 90.0, (0.0, 0.0));
        compare(text, 217.0, (1000.0, 500.0));
    }
}

proptest! {
    #![proptest_config(cases(60))]

    #[test]
    fn yards_may_lie_anywhere(
        yard in yard::yards(), degrees in 0.0..360.0, by in (-200.0..200.0, -200.0..200.0),
    ) {
        compare(&yard.text(), degrees, by);
    }
}
