//! How the time to choose methods and machines grows with the stretches, beside sizing the pipes of
//! the same network.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use job::{Job, ReadOptions};
use plan::{digging, hydraulics};
use std::hint::black_box;
use std::ops::ControlFlow;
use working::Ledger;

fn read(text: &str) -> Job {
    match job::read(text, &ReadOptions::default()) {
        Ok(reading) => reading.job,
        Err(findings) => panic!("the bench's own job does not read: {findings:?}"),
    }
}

fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("methods");
    group.sample_size(10);
    for heads in [125, 250, 500, 1000] {
        let job = read(&job::sample(heads, 1));
        let plan = match plan::plan(&job, &|_| ControlFlow::Continue(())) {
            Ok(plan) => plan,
            Err(error) => panic!("the bench's own job has no plan: {error:?}"),
        };
        let (network, water) = (&plan.network, &plan.hydraulics);
        let stretches = network.stretches.len();
        group.throughput(Throughput::Elements(stretches as u64));
        group.bench_function(BenchmarkId::new("size", stretches), |b| {
            b.iter(|| hydraulics::size(black_box(&job), network, &mut Ledger::new()));
        });
        group.bench_function(BenchmarkId::new("dig", stretches), |b| {
            b.iter(|| digging::dig(black_box(&job), network, water, &mut Ledger::new()));
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
