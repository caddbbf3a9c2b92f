//! A property drawn elsewhere and turned gets the same price.
//!
//! What is left is the search: where two ways of doing the work cost nearly the same (all lines in
//! one trench by hand, or each pulled by a machine), the ties fall differently on another drawing.
//! The price then hardly changes, but trench, spoil and pipe of a single job may by up to a half; their
//! means are held.

use crate::support::moved::{anywhere, moved};
use crate::support::yard;
use crate::{plan_of, read};
use plan::Plan;

/// Largest change of one price: on a small job a day of hire more, where trench that stands open at
/// evening goes over a step, is a tenth of it.
const PRICE: f64 = 0.15;
/// Largest change of a quantity of the demo jobs.
const QUANTITY: f64 = 0.50;
/// Largest mean change of price, trench, spoil, pipe.
const MEANS: [f64; 4] = [0.015, 0.04, 0.05, 0.04];

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

/// By what share each total changes; nothing if there is no plan either way.
fn changes(text: &str, degrees: f64, by: (f64, f64)) -> Option<[f64; 4]> {
    let plan = plan_of(&read(text));
    let other = plan_of(&read(&moved(text, degrees, by)));
    assert_eq!(
        plan.is_some(),
        other.is_some(),
        "reachable on one drawing only"
    );
    let (a, b) = (totals(&plan?), totals(&other?));
    let change = |i: usize| (b[i] - a[i]).abs() / a[i].max(1e-9);
    Some([change(0), change(1), change(2), change(3)])
}

#[test]
fn the_demo_jobs_may_lie_anywhere() {
    for text in [job::DEMO, job::DEMO_COURTYARD] {
        for (degrees, by) in [(0.0, (137.0, -59.5)), (217.0, (1000.0, 500.0))] {
            let [price, rest @ ..] = changes(text, degrees, by).unwrap();
            assert!(price < 0.04, "{price}");
            assert!(rest.iter().all(|change| *change < QUANTITY), "{rest:?}");
        }
    }
}

#[test]
fn yards_may_lie_anywhere() {
    let found: Vec<[f64; 4]> = anywhere(yard::yards(), 24)
        .iter()
        .filter_map(|(yard, degrees, by)| changes(&yard.text(), *degrees, *by))
        .collect();
    assert!(found.len() >= 20);
    assert!(found.iter().all(|[price, ..]| *price < PRICE), "{found:?}");
    for (i, most) in MEANS.iter().enumerate() {
        let mean = found.iter().map(|changes| changes[i]).sum::<f64>() / found.len() as f64;
        assert!(mean < *most, "{i}: {mean}");
    }
}
