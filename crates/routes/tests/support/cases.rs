//! How many random cases, and which.

use proptest::test_runner::{Config, RngSeed};

/// So many cases, the same ones in every run.
pub fn cases(cases: u32) -> Config {
    Config {
        cases,
        rng_seed: RngSeed::Fixed(1),
        failure_persistence: None,
        ..Config::default()
    }
}
