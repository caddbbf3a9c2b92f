//! Numbers drawn by chance, the same for the same seed on any number of threads.
//!
//! Each uncertain quantity has a stream of its own and one value in each of as many layers of equal
//! chance as there are trials (Latin hypercube), so that its own mean and spread are met closely.

use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// Streams from here on belong to the trials.
const OF_TRIALS: u64 = 1 << 32;

/// 2⁶⁴ over the golden ratio, by which the seeds of the streams lie apart.
const APART: u64 = 0x9E37_79B9_7F4A_7C15;

fn stream(seed: u64, number: u64) -> Pcg64 {
    Pcg64::seed_from_u64(seed.wrapping_add(number.wrapping_mul(APART)))
}

/// Where each of `trials` stands from 0 to 1: one in each of the layers, in random order.
pub fn column(seed: u64, number: usize, trials: usize) -> Vec<f64> {
    let mut dice = stream(seed, number as u64);
    let mut layers: Vec<u32> = (0..trials as u32).collect();
    layers.shuffle(&mut dice);
    layers
        .into_iter()
        .map(|layer| (f64::from(layer) + dice.random::<f64>()) / trials as f64)
        .collect()
}

/// The dice of one trial.
pub fn dice(seed: u64, trial: usize) -> Pcg64 {
    stream(seed, OF_TRIALS + trial as u64)
}

/// How many of `n` independent tries of chance `p` come true, at a standing `u` from 0 to 1: the
/// inverse of the binomial distribution.
pub fn binomial(n: u32, p: f64, u: f64) -> u32 {
    if p <= 0.0 {
        return 0;
    }
    if p >= 1.0 {
        return n;
    }
    let odds = p / (1.0 - p);
    let mut chance = (0..n).fold(1.0, |product, _| product * (1.0 - p));
    let mut up_to = chance;
    let mut k = 0;
    while up_to < u && k < n {
        chance *= odds * f64::from(n - k) / f64::from(k + 1);
        up_to += chance;
        k += 1;
    }
    k
}

/// Marks `many` of the places by chance, each set of them alike (Floyd).
pub fn mark(places: &mut [bool], many: u32, dice: &mut Pcg64) {
    let count = places.len();
    for last in count.saturating_sub(many as usize)..count {
        let pick = dice.random_range(0..=last);
        let free = if places[pick] { last } else { pick };
        places[free] = true;
    }
}
