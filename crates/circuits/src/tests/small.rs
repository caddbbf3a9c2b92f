//! Few heads: what is found is the least of all.

use super::{Sketch, brute, holds};
use crate::bound::{Bounds, of_any_choice};
use crate::exact;
use crate::solve::search;
use crate::tree::Tree;

/// 400 small schemes: heads, manifolds, classes, rates and prices vary with the seed.
fn cases() -> impl Iterator<Item = Sketch> {
    (0..400_u64).map(|seed| {
        let manifolds = 1 + (seed % 3) as usize;
        let heads = if manifolds == 3 {
            1 + seed / 3 % 5
        } else {
            1 + seed / 3 % 6
        };
        Sketch::random(seed, heads as usize, manifolds)
    })
}

#[test]
fn the_exact_grouping_is_the_least_of_all_groupings() {
    for (i, sketch) in cases().enumerate() {
        let scheme = sketch.scheme();
        let found = exact::solve(&scheme).unwrap();
        holds(&scheme, &found);
        let least = brute::least(&scheme);
        assert!(
            (found.cost - least).abs() < 1e-6 * least,
            "case {i}: {} {least}",
            found.cost
        );
    }
}

/// Schemes on which the search is held against the exact answer.
const CASES: u64 = 80;

#[test]
fn the_search_comes_near_the_least_and_the_bounds_stay_below() {
    let (mut sum, mut worst, mut gap) = (0.0, 0.0_f64, 0.0);
    for seed in 0..CASES {
        let heads = 4 + seed as usize % 7;
        let scheme = Sketch::random(seed, heads, 1 + seed as usize % 3).scheme();
        let least = exact::solve(&scheme).unwrap().cost;
        let found = search(&scheme, seed).unwrap();
        holds(&scheme, &found);
        let over = found.cost / least - 1.0;
        assert!(over > -1e-9, "case {seed}: below the least");
        assert!(
            found.bound <= least * (1.0 + 1e-9),
            "case {seed}: bound above the least"
        );
        assert!(
            of_any_choice(&scheme) <= least,
            "case {seed}: weak bound above the least"
        );
        sum += over;
        gap += 1.0 - found.bound / least;
        worst = worst.max(over);
    }
    let mean = sum / CASES as f64;
    assert!(gap / (CASES as f64) < 0.05, "{gap}");
    assert!(mean < 0.002, "mean {mean}");
    assert!(worst < 0.04, "worst {worst}");
}

/// The least grouping with each set of valves, one by one.
#[test]
fn the_bound_of_each_set_of_valves_is_below_what_it_can_do() {
    let (mut sum, mut count) = (0.0, 0);
    for seed in 0..120 {
        let mut sketch = Sketch::random(seed, 4 + seed as usize % 6, 3);
        sketch.prices.valve_box = 1.0;
        sketch.prices.main = if seed % 2 == 0 { 0.01 } else { 5.0 };
        let scheme = sketch.scheme();
        let bounds = Bounds::new(&scheme);
        for joined in 1..8 {
            let known = bounds.trenches(Tree::new(&scheme, joined));
            for (valves, simple) in bounds.of_each(&known, joined) {
                let least = exact::least(&scheme, joined, valves);
                let bound = bounds.of(&known, valves);
                assert!(
                    simple <= least * (1.0 + 1e-9),
                    "case {seed}: {simple} {least}"
                );
                assert!(
                    bound <= least * (1.0 + 1e-9),
                    "case {seed}: {bound} {least}"
                );
                if least.is_finite() {
                    sum += 1.0 - bound / least;
                    count += 1;
                }
            }
        }
    }
    assert!(sum / f64::from(count) < 0.05, "{sum}");
}
