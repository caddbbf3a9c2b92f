//! How long a plan takes, beside reading the same job and laying out its ground: ratios between the
//! three say more than any of them alone, whatever the machine.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use ground::Ground;
use job::{Job, ReadOptions};
use std::hint::black_box;
use std::ops::ControlFlow;

fn read(text: &str) -> Job {
    match job::read(text, &ReadOptions::default()) {
        Ok(reading) => reading.job,
        Err(findings) => panic!("the bench's own job does not read: {findings:?}"),
    }
}

fn bench(criterion: &mut Criterion) {
    let jobs = [
        ("demo", job::DEMO.to_owned()),
        ("demo courtyard", job::DEMO_COURTYARD.to_owned()),
        ("sample 30", job::sample(30, 1)),
        ("sample 100", job::sample(100, 1)),
        ("sample 300", job::sample(300, 1)),
    ];
    let mut group = criterion.benchmark_group("plan");
    group.sample_size(10);
    for (name, text) in &jobs {
        let job = read(text);
        group.bench_function(BenchmarkId::new("read", name), |b| {
            b.iter(|| read(black_box(text)))
        });
        group.bench_function(BenchmarkId::new("ground", name), |b| {
            b.iter(|| Ground::new(black_box(&job)));
        });
        group.bench_function(BenchmarkId::new("plan", name), |b| {
            b.iter(|| plan::plan(black_box(&job), &|_| ControlFlow::Continue(())));
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
