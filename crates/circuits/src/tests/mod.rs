//! Schemes of places in an open plane, and what every grouping of them holds to.

mod brute;
mod plain;
mod small;

use crate::cost::account;
use crate::rng::Rng;
use crate::scheme::{Bore, Grouped, Head, Prices, Scheme};
use proptest::prelude::*;

/// Heads and other places in the plane: backflow assembly, controller, manifolds.
#[derive(Debug, Clone)]
struct Sketch {
    heads: Vec<(f64, f64)>,
    others: Vec<(f64, f64)>,
    manifolds: usize,
    needs: Vec<Head>,
    prices: Prices,
}

impl Sketch {
    fn random(seed: u64, heads: usize, manifolds: usize) -> Self {
        let mut rng = Rng::new(seed);
        let size = 12.0 * (heads as f64).sqrt();
        let at = |rng: &mut Rng| (rng.unit() * size, rng.unit() * size);
        let classes = 1 + rng.below(2);
        let rated = rng.unit() < 0.3;
        let needs = |rng: &mut Rng| {
            let class = rng.below(classes) as u32;
            Head {
                flow: 0.5 + rng.unit() * 1.5,
                most: 5.0 + rng.unit() * 2.0,
                class,
                rate: (rated && class == 0).then(|| 10.0 + rng.below(3) as f64),
            }
        };
        Self {
            heads: (0..heads).map(|_| at(&mut rng)).collect(),
            others: (0..2 + manifolds).map(|_| at(&mut rng)).collect(),
            manifolds,
            needs: (0..heads).map(|_| needs(&mut rng)).collect(),
            prices: Prices {
                valve: 20.0 + rng.unit() * 80.0,
                valve_box: 20.0 + rng.unit() * 40.0,
                valves_per_box: 1 + rng.below(4) as u32,
                main: 5.0,
                wire: 0.5,
                conductor: 0.4,
            },
        }
    }

    fn scheme(&self) -> Scheme {
        let places: Vec<(f64, f64)> = self.heads.iter().chain(&self.others).copied().collect();
        let length: Vec<f64> = places
            .iter()
            .flat_map(|a| places.iter().map(|b| (a.0 - b.0).hypot(a.1 - b.1)))
            .collect();
        let bore = |most, price| Bore { most, price };
        let mut scheme = Scheme {
            heads: self.needs.clone(),
            wired: true,
            manifolds: self.manifolds,
            trench: length.iter().map(|l| l * 15.0).collect(),
            length,
            bores: vec![
                bore(1.5, 2.5),
                bore(3.0, 3.0),
                bore(5.0, 3.8),
                bore(9.0, 5.5),
            ],
            prices: self.prices,
            tolerance: 0.1,
        };
        scheme.round();
        scheme
    }

    fn turned(&self, angle: f64, by: (f64, f64)) -> Self {
        let (sin, cos) = angle.sin_cos();
        let turn = |p: &(f64, f64)| (p.0 * cos - p.1 * sin + by.0, p.0 * sin + p.1 * cos + by.1);
        Self {
            heads: self.heads.iter().map(turn).collect(),
            others: self.others.iter().map(turn).collect(),
            ..self.clone()
        }
    }
}

/// What has to hold of every grouping.
fn holds(scheme: &Scheme, grouped: &Grouped) {
    let mut heads: Vec<usize> = grouped.sets.iter().flat_map(|s| s.heads.clone()).collect();
    heads.sort_unstable();
    assert_eq!(heads, (0..scheme.heads.len()).collect::<Vec<_>>());
    for set in &grouped.sets {
        let of = |h: &usize| scheme.heads[*h];
        let flow: f64 = set.heads.iter().map(|h| of(h).flow).sum();
        let most = set
            .heads
            .iter()
            .map(|h| of(h).most)
            .fold(f64::INFINITY, f64::min);
        assert!(flow <= most * (1.0 + 1e-9), "{flow} above {most}");
        let first = of(&set.heads[0]);
        assert!(set.heads.iter().all(|h| of(h).class == first.class));
        let rates = || set.heads.iter().filter_map(|h| of(h).rate);
        if let (Some(low), Some(high)) = (rates().reduce(f64::min), rates().reduce(f64::max)) {
            assert!(high - low <= high * scheme.tolerance + 1e-9);
        }
        assert_eq!(grouped.joined >> set.manifold & 1, 1);
    }
    let (parts, _) = account(scheme, &grouped.sets, grouped.joined);
    let total = parts.total();
    assert!(
        (total - grouped.cost).abs() <= 1e-6 * total,
        "{total} is not {}",
        grouped.cost
    );
    assert!(grouped.bound <= grouped.cost);
    assert!(grouped.bound > 0.0);
}
