//! How time and memory grow: one generated property, as a grid with eight neighbours, dear and
//! cheap grounds, obstacles, and one terminal for every hundred nodes.
//!
//! `cargo run --release -p steiner --example growth -- NODES [SEED [WORK]]`, with the work per edge,
//! prints a line of JSON: cost, bound, seconds, peak memory before and after, and the seconds at
//! which each better tree was there (`steps`), so that runs with much work tell when one with little
//! was how near.

#[path = "shared/memory.rs"]
mod memory;

use memory::peak;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::error::Error;
use std::ops::ControlFlow;
use std::time::Instant;
use steiner::{Edge, Group, Limits, Problem, solve};

/// Work for each edge, unless told.
const WORK: u64 = 600;
/// Smaller properties have no room for anything.
const LEAST: usize = 100;

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let nodes: usize = args
        .next()
        .ok_or("usage: growth NODES [SEED [WORK]]")?
        .parse()?;
    let seed: u64 = args.next().map_or(Ok(1), |seed| seed.parse())?;
    let work: u64 = args.next().map_or(Ok(WORK), |work| work.parse())?;
    if nodes < LEAST {
        return Err(format!("{nodes} nodes are too few: at least {LEAST}").into());
    }
    let problem = yard((nodes as f64).sqrt().round() as usize, seed)?;
    let before = peak();
    let start = Instant::now();
    let steps = std::cell::RefCell::new(Vec::<(f64, f64)>::new());
    let progress = |now: steiner::Progress| {
        let mut steps = steps.borrow_mut();
        if steps.last().is_none_or(|(_, cost)| now.cost < *cost) {
            steps.push((start.elapsed().as_secs_f64(), now.cost));
        }
        ControlFlow::Continue(())
    };
    let work = work.saturating_mul(problem.edges().len() as u64);
    let solution = solve(&problem, Limits { work, seed }, &progress)?;
    let seconds = start.elapsed().as_secs_f64();
    let mut line = format!(
        "{{\"nodes\":{},\"edges\":{},\"terminals\":{},\"cost\":{},\"bound\":{},\"seconds\":{seconds:.3}",
        problem.nodes(),
        problem.edges().len(),
        problem.groups()[0].terminals.len(),
        solution.cost,
        solution.bound,
    );
    let after = peak();
    line += &format!(",\"memory_before\":{before},\"memory\":{after},\"steps\":[");
    let steps = steps.into_inner();
    let told = steps.iter().map(|(at, cost)| format!("[{at:.3},{cost}]"));
    line += &told.collect::<Vec<_>>().join(",");
    println!("{line}]}}");
    Ok(())
}

/// The property as a problem.
fn yard(side: usize, seed: u64) -> Result<Problem, Box<dyn Error>> {
    let mut dice = Pcg64::seed_from_u64(seed);
    let mut below = |end: usize| dice.random_range(0..end.max(1));
    let mut unit = vec![1.0f64; side * side];
    let pieces = (side / 6).max(2).pow(2) / 4;
    for piece in 0..4 * pieces {
        // Grounds first, obstacles last; these cover about a twelfth of the property.
        let cost = if piece < 3 * pieces {
            1.0 + below(30) as f64 / 10.0
        } else {
            f64::INFINITY
        };
        let (wide, high) = (1 + below(6), 1 + below(6));
        let (left, low) = (below(side - 1), below(side - 1));
        for row in low..(low + high).min(side) {
            for column in left..(left + wide).min(side) {
                unit[row * side + column] = cost;
            }
        }
    }
    let mut edges = Vec::new();
    for at in 0..side * side {
        let (row, column) = (at / side, at % side);
        let right = (column + 1 < side).then_some(at + 1);
        let up = (row + 1 < side).then_some(at + side);
        let slant = up.filter(|_| column + 1 < side).map(|at| at + 1);
        let back = up.filter(|_| column > 0).map(|at| at - 1);
        let ways = [(right, 1.0), (up, 1.0), (slant, 2f64.sqrt())];
        for (to, length) in ways.into_iter().chain([(back, 2f64.sqrt())]) {
            let Some(to) = to else { continue };
            let shared = length * (unit[at] + unit[to]) / 2.0;
            if shared.is_finite() {
                edges.push(Edge {
                    a: at as u32,
                    b: to as u32,
                    shared,
                    length,
                });
            }
        }
    }
    let ground = largest(side * side, &edges);
    let mut terminals: Vec<u32> = (0..(side * side / 100).max(4))
        .map(|_| ground[below(ground.len())])
        .collect();
    terminals.sort_unstable();
    terminals.dedup();
    let group = Group {
        terminals,
        rate: 0.0,
    };
    Ok(Problem::new(side * side, edges, vec![group])?)
}

/// The nodes of the largest piece that hangs together.
fn largest(nodes: usize, edges: &[Edge]) -> Vec<u32> {
    let mut near = vec![Vec::new(); nodes];
    for edge in edges {
        near[edge.a as usize].push(edge.b);
        near[edge.b as usize].push(edge.a);
    }
    let mut seen = vec![false; nodes];
    let mut best = Vec::new();
    for start in 0..nodes as u32 {
        if std::mem::replace(&mut seen[start as usize], true) {
            continue;
        }
        let mut piece = vec![start];
        let mut at = 0;
        while at < piece.len() {
            for to in &near[piece[at] as usize] {
                if !std::mem::replace(&mut seen[*to as usize], true) {
                    piece.push(*to);
                }
            }
            at += 1;
        }
        if piece.len() > best.len() {
            best = piece;
        }
    }
    best
}
