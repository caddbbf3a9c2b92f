//! Drawn numbers beside closed forms.

use job::practice::Shape;
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use risk::Spread;
use risk::sample::{binomial, column, dice, mark};
use risk::statistics::{deviation, explained, mean, quantile, quantile_error};
use statrs::distribution::{Binomial, DiscreteCDF};

const TRIALS: usize = 10_000;

fn drawn(spread: Spread, stream: usize) -> Vec<f64> {
    let standings = column(7, stream, TRIALS);
    standings.into_iter().map(|s| spread.quantile(s)).collect()
}

fn sorted(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(f64::total_cmp);
    values
}

#[test]
fn mean_and_variance_are_those_of_the_closed_forms() {
    let points = [
        (0.0, 0.0, 1.0),
        (0.8, 1.0, 1.15),
        (3.0, 6.0, 12.0),
        (2.0, 9.0, 9.0),
    ];
    for shape in [Shape::Triangular, Shape::Pert] {
        for (low, likely, high) in points {
            let spread = Spread::new(low, likely, high, shape);
            let values = drawn(spread, 3);
            let width = high - low;
            assert!(
                (mean(&values) - spread.mean()).abs() < 2e-5 * width,
                "{spread:?}"
            );
            let variance = deviation(&values).powi(2);
            assert!(
                (variance / spread.variance() - 1.0).abs() < 1e-3,
                "{spread:?}"
            );
        }
    }
}

#[test]
fn a_sum_of_three_has_the_quantiles_of_irwin_and_hall() {
    let columns: Vec<Vec<f64>> = (0..3).map(|stream| column(1, stream, TRIALS)).collect();
    let sums = (0..TRIALS).map(|t| columns.iter().map(|c| c[t]).sum());
    let sums = sorted(sums.collect());
    // F(x) = x³ / 6 up to 1.
    let tail = 0.6_f64.cbrt();
    for (p, exact) in [(0.1, tail), (0.5, 1.5), (0.9, 3.0 - tail)] {
        let off = quantile(&sums, p) - exact;
        assert!(off.abs() < 4.0 * quantile_error(&sums, p), "{p}: {off}");
    }
    assert!((deviation(&sums) - 0.5).abs() < 0.01);
}

#[test]
fn a_sum_of_many_has_the_quantiles_of_the_normal_limit() {
    const MANY: usize = 24;
    let spread = Spread::new(0.0, 1.0, 4.0, Shape::Triangular);
    let columns: Vec<Vec<f64>> = (0..MANY).map(|stream| drawn(spread, stream)).collect();
    let sums = (0..TRIALS).map(|t| columns.iter().map(|c| c[t]).sum());
    let sums = sorted(sums.collect());
    let (mu, sigma) = (
        MANY as f64 * spread.mean(),
        (MANY as f64 * spread.variance()).sqrt(),
    );
    // The standard normal's quantile of 90 %; the skewness of the sum moves all three by (z² − 1) γ / 6.
    let z = 1.281_551_565_544_600_4;
    let (a, m, b): (f64, f64, f64) = (0.0, 1.0, 4.0);
    let third = (a + b - 2.0 * m) * (2.0 * a - b - m) * (a - 2.0 * b + m);
    let skewness =
        2.0_f64.sqrt() * third / (5.0 * (a * a + b * b + m * m - a * b - a * m - b * m).powf(1.5));
    let moved = skewness / (MANY as f64).sqrt() / 6.0;
    for (p, score) in [(0.1, -z), (0.5, 0.0), (0.9, z)] {
        let limit = mu + sigma * (score + moved * (score * score - 1.0));
        let off = quantile(&sums, p) - limit;
        assert!(off.abs() < 4.0 * quantile_error(&sums, p), "{p}: {off}");
    }
}

#[test]
fn standard_errors_of_quantiles_cover_as_often_as_they_say() {
    let mut dice = Pcg64::seed_from_u64(11);
    for p in [0.1, 0.5, 0.8, 0.9] {
        let tries = 600;
        let covered = (0..tries).filter(|_| {
            let sample = sorted((0..TRIALS).map(|_| dice.random::<f64>()).collect());
            (quantile(&sample, p) - p).abs() <= quantile_error(&sample, p) * 1.96
        });
        let share = covered.count() as f64 / f64::from(tries);
        assert!((0.92..0.98).contains(&share), "{p}: {share}");
    }
}

#[test]
fn standard_errors_are_those_of_the_asymptotic_form() {
    // √(p (1 − p) / n) / f(x), and the density of the uniform is 1.
    let sample: Vec<f64> = (0..TRIALS)
        .map(|k| (k as f64 + 0.5) / TRIALS as f64)
        .collect();
    for p in [0.1, 0.5, 0.9] {
        let exact = (p * (1.0 - p) / TRIALS as f64).sqrt();
        assert!((quantile_error(&sample, p) / exact - 1.0).abs() < 0.05);
    }
}

#[test]
fn shares_of_variance_are_those_of_the_squared_weights() {
    let columns: Vec<Vec<f64>> = (0..3).map(|stream| column(5, stream, TRIALS)).collect();
    let weights = [3.0, 2.0, 1.0];
    let value = |t| (0..3).map(|k| weights[k] * columns[k][t]).sum();
    let values: Vec<f64> = (0..TRIALS).map(value).collect();
    for (column, weight) in columns.iter().zip(weights) {
        let share = explained(&[column], &values);
        assert!(
            (share - weight * weight / 14.0).abs() < 0.015,
            "{weight}: {share}"
        );
    }
    let both = explained(&[&columns[0], &columns[1]], &values);
    // Eight layers of each see 1 − 1/64 of what it explains.
    assert!((both - 13.0 / 14.0).abs() < 0.025, "{both}");
    let none = explained(&[&column(6, 9, TRIALS)], &values);
    assert!(none < 0.01, "{none}");
}

#[test]
fn a_product_is_explained_by_both_and_by_neither_alone() {
    let (a, b) = (column(2, 0, TRIALS), column(2, 1, TRIALS));
    let values: Vec<f64> = a
        .iter()
        .zip(&b)
        .map(|(a, b)| (a - 0.5) * (b - 0.5))
        .collect();
    assert!(explained(&[&a], &values) < 0.02);
    assert!(explained(&[&a, &b], &values) > 0.95);
}

#[test]
fn streams_do_not_follow_each_other() {
    let columns: Vec<Vec<f64>> = (0..20).map(|stream| column(1, stream, TRIALS)).collect();
    let off: Vec<f64> = columns.iter().map(|c| mean(c) - 0.5).collect();
    assert!(off.iter().all(|off| off.abs() < 1e-4));
    for (k, one) in columns.iter().enumerate() {
        for other in &columns[..k] {
            let product: Vec<f64> = one
                .iter()
                .zip(other)
                .map(|(a, b)| (a - 0.5) * (b - 0.5))
                .collect();
            // Five standard errors of a correlation of independent columns.
            assert!(mean(&product).abs() * 12.0 < 0.05);
        }
    }
}

#[test]
fn each_layer_is_met_once() {
    let mut met = vec![false; 1_000];
    for standing in column(3, 1, 1_000) {
        let layer = (standing * 1_000.0) as usize;
        assert!(!met[layer]);
        met[layer] = true;
    }
}

#[test]
fn places_are_marked_alike() {
    let mut counts = [0_u32; 6];
    for trial in 0..6_000 {
        let mut places = [false; 6];
        mark(&mut places, 2, &mut dice(1, trial));
        assert_eq!(places.iter().filter(|place| **place).count(), 2);
        for (count, place) in counts.iter_mut().zip(places) {
            *count += u32::from(place);
        }
    }
    // 2000 each, give or take five standard errors of √(6000 · 1/3 · 2/3).
    assert!(
        counts.iter().all(|count| count.abs_diff(2_000) < 183),
        "{counts:?}"
    );
}

proptest! {
    #[test]
    fn quantiles_undo_the_distribution(
        low in -2.0f64..2.0,
        below in 0.001f64..3.0,
        above in 0.001f64..3.0,
        p in 0.001f64..0.999,
        pert in any::<bool>(),
    ) {
        let shape = if pert { Shape::Pert } else { Shape::Triangular };
        let spread = Spread::new(low, low + below, low + below + above, shape);
        let x = spread.quantile(p);
        prop_assert!((spread.low..=spread.high).contains(&x));
        prop_assert!((spread.cdf(x) - p).abs() < 1e-9, "{} {}", spread.cdf(x), p);
        prop_assert!(spread.quantile(p * 0.9) <= x);
    }

    #[test]
    fn lost_days_are_binomial(n in 0u32..60, p in 0.0f64..1.0, u in 0.0001f64..0.9999) {
        let exact = Binomial::new(p, u64::from(n)).unwrap();
        let k = binomial(n, p, u);
        prop_assert!(k <= n);
        prop_assert!(exact.cdf(u64::from(k)) >= u - 1e-9);
        prop_assert!(k == 0 || exact.cdf(u64::from(k) - 1) <= u + 1e-9);
    }
}
