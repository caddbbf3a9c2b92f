//! Instances with a known optimum (`data/README.md`).

#![allow(clippy::unwrap_used)]

use schedule::{Limits, check, solve, text};
use std::ops::ControlFlow;

#[test]
fn known_optimum_is_reached_and_proved() {
    for (file, optimum) in [
        ("cr02.rcp", 85),
        ("cr07.rcp", 119),
        ("cr08.rcp", 159),
        ("cr10.rcp", 98),
        ("cr11.rcp", 171),
        ("cr12.rcp", 147),
    ] {
        let path = format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"));
        let problem = text::read(&std::fs::read_to_string(path).unwrap()).unwrap();
        let limits = Limits {
            work: 300_000_000,
            seed: 1,
        };
        let solution = solve(&problem, limits, &|_| ControlFlow::Continue(())).unwrap();
        assert_eq!(
            check(&problem, &solution.starts).unwrap().0,
            optimum,
            "{file}"
        );
        assert_eq!(solution.bound, optimum, "{file}");
    }
}

#[test]
fn a_search_that_is_broken_off_still_gives_a_schedule_and_a_bound() {
    let path = format!("{}/tests/data/cr10.rcp", env!("CARGO_MANIFEST_DIR"));
    let problem = text::read(&std::fs::read_to_string(path).unwrap()).unwrap();
    let limits = Limits {
        work: u64::MAX,
        seed: 1,
    };
    let solution = solve(&problem, limits, &|_| ControlFlow::Break(())).unwrap();
    let (makespan, _) = check(&problem, &solution.starts).unwrap();
    assert!(solution.bound >= 90 && makespan <= 110, "{solution:?}");
}
