//! Instances with a known optimum; origin and optimum stand in `data/README.md`.

use std::ops::ControlFlow;
use steiner::{Limits, check, solve, text};

/// File, optimum, and the gap between bound and cost that must not be exceeded.
const CASES: [(&str, f64, f64); 8] = [
    ("t1-007.gr", 1239.0, 0.0),
    ("t1-033.gr", 319.0, 0.0),
    ("t1-053.gr", 1_100_361.0, 0.0),
    ("t2-001.gr", 1086.0, 0.0),
    // Here the best tree uses edges that its own bound has ruled out for better ones.
    ("t2-003.gr", 41_350.0, 0.0),
    ("sh01.txt", 17_671.0, 0.0),
    ("sh02.txt", 35_632.0, 0.06),
    ("sh04.txt", 45_289.0, 0.01),
];

#[test]
fn known_optimum_is_reached_and_never_undercut() {
    for (file, optimum, most) in CASES {
        let path = format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"));
        let problem = text::read(&std::fs::read_to_string(path).unwrap()).unwrap();
        let limits = Limits {
            work: 20_000_000,
            seed: 1,
        };
        let solution = solve(&problem, limits, &|_| ControlFlow::Continue(())).unwrap();
        let cost = check(&problem, &solution.trees).unwrap();
        assert!(
            (cost - solution.cost).abs() < 1e-6,
            "{file}: says {}",
            solution.cost
        );
        assert!(
            (cost - optimum).abs() < 1e-6,
            "{file}: {cost}, optimum {optimum}"
        );
        assert!(
            solution.bound <= optimum + 1e-6,
            "{file}: bound {}",
            solution.bound
        );
        assert!(
            solution.gap() <= most + 1e-9,
            "{file}: gap {}",
            solution.gap()
        );
        assert_eq!(solution.optimal, solution.gap() <= 1e-9, "{file}");
    }
}
