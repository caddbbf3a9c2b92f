//! Cut lists with a known optimum (`data/README.md`).

#![allow(clippy::unwrap_used)]

use cutting::{Limits, check, solve, text};
use std::ops::ControlFlow;

#[test]
fn the_fewest_sticks_are_found_and_proved() {
    for (file, fewest) in [
        ("pc03.csv", 11),
        ("pc07.csv", 29),
        ("pc09.csv", 29),
        ("pc11.csv", 34),
    ] {
        let path = format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"));
        let problem = text::read(&std::fs::read_to_string(path).unwrap()).unwrap();
        let limits = Limits {
            work: 50_000_000,
            seed: 1,
        };
        let solution = solve(&problem, limits, &|_| ControlFlow::Continue(())).unwrap();
        assert_eq!(
            check(&problem, &solution.cuts),
            Ok((fewest, fewest)),
            "{file}"
        );
        assert_eq!(solution.bound, fewest, "{file}");
    }
}
