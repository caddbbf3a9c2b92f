//! A property drawn elsewhere and turned gets the same network.

use crate::network;
use crate::support::moved::moved;
use crate::support::{cases, yard};
use proptest::prelude::*;

fn read(text: &str) -> job::Job {
    job::read(text, &job::ReadOptions::default()).unwrap().job
}

fn compare(text: &str, degrees: f64, by: (f64, f64)) {
    let (a, b) = (read(text), read(&moved(text, degrees, by)));
    let (a, b) = (network(&a), network(&b));
    eprintln!("{degrees:6.1} {by:?} [{:.3}, {:.3}] rounds gap {:.4} {}", 100.0 * (b.cost / a.cost - 1.0), 100.0 * (b.length() / a.length() - 1.0), a.gap(), a.lines.len());
}

#[test]
fn the_demo_jobs_may_lie_anywhere() {
    for text in [job::DEMO, job::DEMO_METRIC] {
        compare(text, 0.0, (137.0, -59.5));
        compare(text, 90.0, (0.0, 0.0));
        compare(text, 217.0, (1000.0, 500.0));
    }
}

proptest! {
    #![proptest_config(cases(80))]

    #[test]
    fn yards_may_lie_anywhere(
        yard in yard::yards(), degrees in 0.0..360.0, by in (-200.0..200.0, -200.0..200.0),
    ) {
        compare(&yard.text(), degrees, by);
    }
}
