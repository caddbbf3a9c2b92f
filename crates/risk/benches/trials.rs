//! How long the trials of the demo take, on one thread and on all, beside a plain loop that only draws a
//! number for every task of every trial and adds it up: the ratio holds whatever the machine.

#[path = "../tests/support/mod.rs"]
mod support;

use criterion::{Criterion, criterion_group, criterion_main};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::hint::black_box;
use support::Site;

fn plain_loop(site: &Site) -> f64 {
    let times: Vec<f64> = site.schedule.tasks.iter().map(|t| t.hours.to_s()).collect();
    let mut dice = Pcg64::seed_from_u64(site.job.seed);
    let mut longest = 0.0_f64;
    for _ in 0..site.job.practice.risk.trials.value {
        let whole: f64 = times.iter().map(|time| time * dice.random::<f64>()).sum();
        longest = longest.max(whole);
    }
    longest
}

fn bench(criterion: &mut Criterion) {
    let site = Site::demo("");
    let pert = Site::demo("[risk]\nshape = \"pert\"\n");
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let mut group = criterion.benchmark_group("trials");
    group.sample_size(20);
    group.bench_function("plain loop", |b| b.iter(|| plain_loop(black_box(&site))));
    group.bench_function("demo", |b| b.iter(|| black_box(&site).risk()));
    group.bench_function("demo, PERT", |b| b.iter(|| black_box(&pert).risk()));
    if let Ok(pool) = one {
        group.bench_function("demo, one thread", |b| {
            b.iter(|| pool.install(|| black_box(&site).risk()));
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
