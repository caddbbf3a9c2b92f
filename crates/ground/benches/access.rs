//! How the time to find what eight sizes of machine reach grows with the obstacles of a site.

#![allow(clippy::unwrap_used, missing_docs)]

#[allow(dead_code)] // other suites take the rest
#[path = "../../routes/tests/support/yard.rs"]
mod yard;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use ground::Ground;
use job::prices::MethodKind;
use job::{Job, MethodId};
use quantity::Length;
use serde_json::json;
use std::hint::black_box;
use yard::{At, Yard, feature, line, point};

/// Distance of the obstacles in metres: they lie on a grid, each moved a little.
const APART: f64 = 7.0;

/// Numbers from 0 to 1 that look random and are the same everywhere (a congruential generator).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (self.0 >> 40) as f64 / f64::from(1 << 24)
    }
}

/// A site with obstacles on a grid, a fence with a gate across it, and spot elevations.
fn site(obstacles: usize) -> Job {
    let mut dice = Dice(7);
    let columns = (obstacles as f64).sqrt().ceil() as usize;
    let side = 12.0 + columns as f64 * APART;
    let mut yard = Yard::plain((side, side), (4.0, 4.0), &[(3.0, 5.0)]);
    for i in 0..obstacles {
        let row = (i / columns) as f64 + f64::from(i / columns >= columns / 2) * 0.5;
        let x = 8.0 + (i % columns) as f64 * APART + dice.roll() * 2.5;
        let y = 8.0 + row * APART + dice.roll() * 2.5;
        yard.more
            .push(obstacle(&format!("O{i}"), (x, y), &mut dice));
    }
    let middle = 8.0 + (columns / 2) as f64 * APART - 0.5;
    let fence = |id: &str, from: At, to: At| {
        let kind = json!({"kind": "obstacle", "obstacle": "fence"});
        feature(id, line(&[from, to]), kind)
    };
    let (from, to) = (side / 2.0, side / 2.0 + 1.3);
    yard.more.push(fence("F1", (0.0, middle), (from, middle)));
    yard.more.push(fence("F2", (to, middle), (side, middle)));
    let gate = json!({"kind": "gate", "clear_width": "1.3 m"});
    yard.more
        .push(feature("GT", line(&[(from, middle), (to, middle)]), gate));
    for i in 0..25 {
        let at = (f64::from(i % 5) * side / 4.0, f64::from(i / 5) * side / 4.0);
        let height = json!({"kind": "spot", "elevation": format!("{} m", 10.0 + dice.roll())});
        yard.more
            .push(feature(&format!("SP{i}"), point(at), height));
    }
    with_eight_sizes(yard.job())
}

fn obstacle(id: &str, (x, y): At, dice: &mut Dice) -> serde_json::Value {
    let (radius, turn) = (0.6 + 1.4 * dice.roll(), dice.roll());
    let corners = 4 + (dice.roll() * 5.0) as u32;
    let corner = |i: u32| {
        let angle = (turn + f64::from(i % corners) / f64::from(corners)) * std::f64::consts::TAU;
        [x + radius * angle.cos(), y + radius * angle.sin()]
    };
    let ring: Vec<[f64; 2]> = (0..=corners).map(corner).collect();
    let shape = json!({"type": "Polygon", "coordinates": [ring]});
    feature(id, shape, json!({"kind": "obstacle", "obstacle": "other"}))
}

fn with_eight_sizes(mut job: Job) -> Job {
    let methods = &mut job.prices.method;
    methods.retain(|_, m| matches!(m.kind, MethodKind::Trench | MethodKind::Pull));
    let model = methods.values().next().unwrap().clone();
    methods.clear();
    for i in 0..8u32 {
        let mut method = model.clone();
        method.body_width.value = Length::m(0.7 + 0.15 * f64::from(i));
        method.turning_room.as_mut().unwrap().value = Length::m(1.8 + 0.4 * f64::from(i));
        methods.insert(MethodId(format!("m{i}")), method);
    }
    job
}

fn access(c: &mut Criterion) {
    let mut group = c.benchmark_group("eight sizes of machine");
    group.sample_size(10);
    for obstacles in [125, 250, 500, 1000] {
        let job = site(obstacles);
        let id = BenchmarkId::from_parameter(obstacles);
        group.bench_with_input(id, &job, |b, job| b.iter(|| Ground::new(black_box(job))));
    }
    group.finish();
}

criterion_group!(benches, access);
criterion_main!(benches);
