//! Sizes of circuits of many heads, beside one evaluation of pressures for given sizes: how many times as
//! long the whole choice takes.

#[path = "../tests/site/mod.rs"]
mod site;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use site::Site;
use std::hint::black_box;

/// One circuit of so many heads on a comb: a trunk with side branches of five heads.
fn comb(heads: u32, psi: f64) -> Site {
    let mut site = Site::new();
    site.job.system.source.static_pressure = quantity::Pressure::psi(110.0);
    site.job.system.source.residual_pressure = quantity::Pressure::psi(100.0);
    site.job.system.source.test_flow = quantity::Flow::gpm(60.0);
    let (valve, lateral) = site.valve(1, site.backflow(), 5.0, 0.0);
    let mut trunk = valve;
    let gpm = 40.0 / f64::from(heads);
    for row in 0..heads.div_ceil(5) {
        let x = 5.0 + 4.0 * f64::from(row + 1);
        trunk = site.head(lateral, &format!("T{row}"), trunk, (x, 0.0), gpm, psi);
        let mut last = trunk;
        for head in 1..5 {
            let to = (x, 4.0 * f64::from(head));
            last = site.head(lateral, &format!("H{row}-{head}"), last, to, gpm, psi);
        }
    }
    site
}

fn sizing(c: &mut Criterion) {
    let mut group = c.benchmark_group("sizes of one circuit");
    group.sample_size(10);
    for heads in [20, 50, 100, 200] {
        for (name, psi) in [("pressure to spare", 40.0), ("pressure short", 88.0)] {
            let site = comb(heads, psi);
            group.bench_function(BenchmarkId::new(name, heads), |b| {
                b.iter(|| black_box(&site).size());
            });
        }
    }
    group.finish();
}

criterion_group!(benches, sizing);
criterion_main!(benches);
