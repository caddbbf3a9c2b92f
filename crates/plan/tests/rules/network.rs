//! Everything is connected, nothing forbidden is crossed.

use crate::support::{cases, checker, yard};
use crate::{plan_of, read};
use proptest::prelude::*;

fn holds(text: &str) {
    let job = read(text);
    let Some(plan) = plan_of(&job) else { return };
    let faults = checker::faults(&job, &plan.network);
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn the_demo_jobs_keep_the_rules_of_the_network() {
    holds(job::DEMO);
    holds(job::DEMO_COURTYARD);
}

proptest! {
    #![proptest_config(cases(16))]

    #[test]
    fn yards_keep_the_rules_of_the_network(yard in yard::yards()) {
        holds(&yard.text());
    }
}

proptest! {
    #![proptest_config(cases(8))]

    #[test]
    fn samples_keep_the_rules_of_the_network(heads in 1u32..40, seed in 0u64..1000) {
        holds(&job::sample(heads, seed));
    }
}
