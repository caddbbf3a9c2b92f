//! How long the sheets take beside the plan that they show: the demo, and a job of 1,000 heads.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use job::{Job, ReadOptions};
use sheets::Wanted;
use std::hint::black_box;
use std::ops::ControlFlow;

fn read(text: &str) -> Job {
    match job::read(text, &ReadOptions::default()) {
        Ok(reading) => reading.job,
        Err(findings) => panic!("the bench's own job does not read: {findings:?}"),
    }
}

fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("paper");
    group.sample_size(10);
    for (name, text) in [
        ("demo", job::DEMO.to_owned()),
        ("1000", job::sample(1000, 1)),
    ] {
        let job = read(&text);
        let planned = || match plan::plan(&job, &|_| ControlFlow::Continue(())) {
            Ok(plan) => plan,
            Err(error) => panic!("the bench's own job has no plan: {error:?}"),
        };
        let plan = planned();
        let wanted = Wanted {
            only: Vec::new(),
            units: job.units,
            version: None,
        };
        group.bench_function(BenchmarkId::new("plan", name), |b| {
            b.iter(|| black_box(planned()))
        });
        group.bench_function(BenchmarkId::new("sheets", name), |b| {
            b.iter(|| sheets::pdf(black_box(&job), &plan, &wanted));
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
