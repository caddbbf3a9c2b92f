//! The solver against the textbook heuristic (nearest terminal first, from 20 roots) on a grid
//! with holes. Prints the cost of both once, then times them.

use criterion::{Criterion, criterion_group, criterion_main};
use std::collections::BinaryHeap;
use std::hint::black_box;
use std::ops::ControlFlow;
use steiner::{Edge, Group, Limits, Problem, check, solve};

const SIDE: u32 = 60;

/// A grid with square holes; costs and terminals from a fixed linear congruence.
fn grid_with_holes() -> Problem {
    let mut state = 12_345u32;
    let mut next = |below: u32| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 8) % below
    };
    let hole = |x: u32, y: u32| x % 12 > 7 && y % 10 > 5;
    let mut edges = Vec::new();
    for y in 0..SIDE {
        for x in 0..SIDE {
            for (to_x, to_y) in [(x + 1, y), (x, y + 1)] {
                if to_x < SIDE && to_y < SIDE && !hole(x, y) && !hole(to_x, to_y) {
                    let shared = f64::from(8 + next(5));
                    let (a, b) = (y * SIDE + x, to_y * SIDE + to_x);
                    edges.push(Edge {
                        a,
                        b,
                        shared,
                        length: 0.0,
                    });
                }
            }
        }
    }
    let mut terminals = Vec::new();
    while terminals.len() < 40 {
        let (x, y) = (next(SIDE), next(SIDE));
        if !hole(x, y) {
            terminals.push(y * SIDE + x);
        }
    }
    let nodes = (SIDE * SIDE) as usize;
    Problem::new(
        nodes,
        edges,
        vec![Group {
            terminals,
            rate: 0.0,
        }],
    )
    .expect("all in range")
}

/// The textbook heuristic: from a root, again and again the shortest path from the tree to the
/// nearest terminal outside it.
fn nearest_first(problem: &Problem, near: &[Vec<(usize, usize)>], root: usize) -> f64 {
    let mut inside = vec![false; near.len()];
    inside[root] = true;
    let terminals: Vec<usize> = problem.groups()[0]
        .terminals
        .iter()
        .map(|node| *node as usize)
        .collect();
    let mut cost = 0.0;
    while terminals.iter().any(|node| !inside[*node]) {
        let mut dist = vec![u64::MAX; near.len()];
        let mut by = vec![usize::MAX; near.len()];
        let mut heap = BinaryHeap::new();
        for node in (0..near.len()).filter(|node| inside[*node]) {
            dist[node] = 0;
            heap.push((std::cmp::Reverse(0u64), node));
        }
        while let Some((std::cmp::Reverse(length), node)) = heap.pop() {
            if length > dist[node] {
                continue;
            }
            if !inside[node] && terminals.contains(&node) {
                cost += length as f64;
                let mut at = node;
                while !inside[at] {
                    inside[at] = true;
                    at = by[at];
                }
                break;
            }
            for (to, edge) in &near[node] {
                let longer = length + problem.edges()[*edge].shared as u64;
                if longer < dist[*to] {
                    dist[*to] = longer;
                    by[*to] = node;
                    heap.push((std::cmp::Reverse(longer), *to));
                }
            }
        }
    }
    cost
}

fn textbook(problem: &Problem) -> f64 {
    let mut near = vec![Vec::new(); problem.nodes()];
    for (id, edge) in problem.edges().iter().enumerate() {
        near[edge.a as usize].push((edge.b as usize, id));
        near[edge.b as usize].push((edge.a as usize, id));
    }
    let roots = problem.groups()[0].terminals.iter().take(20);
    roots
        .map(|root| nearest_first(problem, &near, *root as usize))
        .fold(f64::INFINITY, f64::min)
}

fn compare(c: &mut Criterion) {
    let problem = grid_with_holes();
    let run = |work| {
        let limits = Limits { work, seed: 1 };
        solve(&problem, limits, &|_| ControlFlow::Continue(())).expect("the grid is connected")
    };
    for work in [1_000_000, 10_000_000] {
        let solution = run(work);
        let cost = check(&problem, &solution.trees).expect("trees join all terminals");
        println!(
            "work {work}: cost {cost}, bound {}, gap {:.4}",
            solution.bound,
            solution.gap()
        );
    }
    println!("textbook, 20 roots: cost {}", textbook(&problem));
    let mut group = c.benchmark_group("grid with holes");
    group.sample_size(10);
    group.bench_function("solve, work 1e6", |b| b.iter(|| black_box(run(1_000_000))));
    group.bench_function("textbook, 20 roots", |b| {
        b.iter(|| black_box(textbook(&problem)))
    });
    group.finish();
}

criterion_group!(benches, compare);
criterion_main!(benches);
