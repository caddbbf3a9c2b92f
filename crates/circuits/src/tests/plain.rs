//! Many heads in an open plane.

use super::*;
use crate::solve;

#[test]
fn what_cannot_run_is_not_grouped() {
    let mut scheme = Sketch::random(1, 20, 2).scheme();
    scheme.heads[7].flow = 1e3;
    assert_eq!(solve(&scheme, 1), None);
    scheme.heads.clear();
    assert_eq!(solve(&scheme, 1), None);
}

#[test]
fn the_same_scheme_and_seed_give_the_same_grouping() {
    let scheme = Sketch::random(5, 40, 3).scheme();
    assert_eq!(solve(&scheme, 3), solve(&scheme, 3));
}

#[test]
fn a_free_valve_on_each_head_is_taken_and_a_dear_one_shared() {
    let mut sketch = Sketch::random(9, 16, 1);
    for need in &mut sketch.needs {
        *need = Head {
            flow: 1.0,
            most: 4.0,
            class: 0,
            rate: None,
        };
    }
    sketch.prices.valve = 1e6;
    let few = solve(&sketch.scheme(), 1).unwrap();
    assert_eq!(few.sets.len(), 4);
}

/// Two rows of heads, far from each other: nothing is gained by one circuit over both.
#[test]
fn neighbours_stay_together() {
    let need = Head {
        flow: 1.0,
        most: 4.0,
        class: 0,
        rate: None,
    };
    let row = |y: f64| (0..8).map(move |i| (f64::from(i) * 5.0, y));
    let sketch = Sketch {
        heads: row(0.0).chain(row(200.0)).collect(),
        others: vec![(-5.0, 100.0), (-6.0, 100.0), (-5.0, 101.0)],
        manifolds: 1,
        needs: vec![need; 16],
        prices: Sketch::random(1, 1, 1).prices,
    };
    let found = solve(&sketch.scheme(), 1).unwrap();
    assert_eq!(found.sets.len(), 4);
    for set in &found.sets {
        assert!(
            set.heads.iter().all(|h| h / 8 == set.heads[0] / 8),
            "{:?}",
            set.heads
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn every_grouping_holds(seed in 0_u64..1 << 40, heads in 13_usize..60, manifolds in 1_usize..5) {
        let scheme = Sketch::random(seed, heads, manifolds).scheme();
        holds(&scheme, &solve(&scheme, seed).unwrap());
    }

    /// A search may end elsewhere where a length is rounded the other way, so the cost may differ by a
    /// hundredth.
    #[test]
    fn moving_and_turning_keeps_the_cost(
        seed in 0_u64..1 << 40,
        angle in 0.0..6.3_f64,
        x in -500.0..500.0_f64,
        y in -500.0..500.0_f64,
    ) {
        let sketch = Sketch::random(seed, 30, 2);
        let here = solve(&sketch.scheme(), 1).unwrap();
        let there = solve(&sketch.turned(angle, (x, y)).scheme(), 1).unwrap();
        prop_assert!((here.cost / there.cost - 1.0).abs() < 0.01, "{} {}", here.cost, there.cost);
        prop_assert!((here.bound / there.bound - 1.0).abs() < 1e-6);
    }

    /// With more manifolds than are looked at one by one the bound still holds.
    #[test]
    fn many_manifolds_are_grouped_too(seed in 0_u64..1 << 40) {
        let scheme = Sketch::random(seed, 20, 10).scheme();
        holds(&scheme, &solve(&scheme, seed).unwrap());
    }
}
