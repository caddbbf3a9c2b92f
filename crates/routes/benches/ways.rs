//! Shortest ways around obstacles by [`Ways`] against a plain Dijkstra on the visibility graph, which
//! joins both ends to every corner they see and searches anew for each query.

use criterion::{Criterion, criterion_group, criterion_main};
use geo::Coord;
use routes::plane::{Walls, Ways, polygon};
use std::hint::black_box;

/// Blocks in rows of five, each with eight corners, turned and sized by a fixed rule.
fn scene() -> (Ways, Vec<(Coord, Coord)>) {
    let block = |i: u32| {
        let middle = (f64::from(i % 5) * 10.0 + 5.0, f64::from(i / 5) * 10.0 + 5.0);
        let radius = 2.5 + f64::from(i * 7 % 5) * 0.4;
        let corner = |k: u32| {
            let angle = f64::from(k) * std::f64::consts::FRAC_PI_4 + f64::from(i) * 0.37;
            Coord {
                x: middle.0 + radius * angle.cos(),
                y: middle.1 + 0.8 * radius * angle.sin(),
            }
        };
        polygon(&(0..8).map(corner).collect::<Vec<_>>())
    };
    let obstacles: Vec<_> = (0..20).map(block).collect();
    let ways = Ways::new(Walls::new(None, &obstacles).expect("all numbers are finite"));
    let end = |i: u32, side: f64| Coord {
        x: 25.0 + side * 25.0 - side * f64::from(i % 3) * 0.1,
        y: f64::from(i * 7 % 40),
    };
    let queries = (0..40).map(|i| (end(i, -1.0), end(i + 3, 1.0))).collect();
    (ways, queries)
}

/// The visibility graph of the corners alone.
fn visible(ways: &Ways) -> Vec<Vec<(usize, f64)>> {
    let corners: Vec<Coord> = ways.corners().iter().map(|c| c.at).collect();
    let seen = |a: Coord| {
        let all = corners.iter().enumerate();
        all.filter(|(_, b)| ways.walls().is_open(a, **b))
            .map(|(i, b)| (i, (a - *b).x.hypot((a - *b).y)))
            .collect()
    };
    corners.iter().map(|a| seen(*a)).collect()
}

fn plain(ways: &Ways, graph: &[Vec<(usize, f64)>], a: Coord, b: Coord) -> f64 {
    let length = |p: Coord, q: Coord| (p - q).x.hypot((p - q).y);
    if ways.walls().is_open(a, b) {
        return length(a, b);
    }
    let corners = ways.corners();
    let mut best: Vec<f64> = corners
        .iter()
        .map(|c| match ways.walls().is_open(a, c.at) {
            true => length(a, c.at),
            false => f64::INFINITY,
        })
        .collect();
    let mut done = vec![false; corners.len()];
    let mut found = f64::INFINITY;
    loop {
        let open = (0..corners.len()).filter(|i| !done[*i]);
        let Some(here) = open.min_by(|i, j| best[*i].total_cmp(&best[*j])) else {
            return found;
        };
        if best[here] >= found {
            return found;
        }
        done[here] = true;
        if ways.walls().is_open(corners[here].at, b) {
            found = found.min(best[here] + length(corners[here].at, b));
        }
        for (next, far) in &graph[here] {
            best[*next] = best[*next].min(best[here] + far);
        }
    }
}

fn compare(c: &mut Criterion) {
    let (ways, queries) = scene();
    let graph = visible(&ways);
    for (a, b) in &queries {
        let (ours, plain) = (ways.length(*a, *b), plain(&ways, &graph, *a, *b));
        let same = ours.is_some_and(|ours| (ours - plain).abs() <= 1e-9 * plain);
        assert!(same, "{ours:?} is not {plain}");
    }
    let mut group = c.benchmark_group("40 ways among 160 corners");
    let of = |a: &Coord, b: &Coord| ways.length(*a, *b).unwrap_or(0.0);
    group.bench_function("corner to corner known", |bench| {
        bench.iter(|| -> f64 { queries.iter().map(|(a, b)| black_box(of(a, b))).sum() });
    });
    let of = |a: &Coord, b: &Coord| plain(&ways, &graph, *a, *b);
    group.bench_function("plain Dijkstra", |bench| {
        bench.iter(|| -> f64 { queries.iter().map(|(a, b)| black_box(of(a, b))).sum() });
    });
    group.finish();
}

criterion_group!(benches, compare);
criterion_main!(benches);
