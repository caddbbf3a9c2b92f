//! How time and memory grow: one generated property, as a grid with eight neighbours, dear and
//! cheap grounds, obstacles, and one terminal for every hundred nodes.
//!
//! `cargo run --release -p steiner --example growth -- NODES [SEED [WORK]]`, with the work per edge,
//! prints a line of JSON: cost, bound, seconds, peak memory before and after, and the seconds at
//! which each better tree was there (`steps`), so that runs with much work tell when one with little
//! was how near.

use std::error::Error;
use std::ops::ControlFlow;
use std::time::Instant;
use steiner::{Aim, Edge, Group, Limits, Problem, solve_from};

/// Work for each edge, unless told.
const WORK: u64 = 600;

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let nodes: usize = args
        .next()
        .ok_or("usage: growth NODES [SEED [WORK]]")?
        .parse()?;
    let seed: u64 = args.next().map_or(Ok(1), |seed| seed.parse())?;
    let work: u64 = args.next().map_or(Ok(WORK), |work| work.parse())?;
    let problem = yard((nodes as f64).sqrt().round() as usize, seed)?;
    let before = memory();
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
    let solution = solve_from(
        &problem,
        Limits { work, seed },
        Aim::TreesAndBound,
        None,
        &progress,
    )?;
    let seconds = start.elapsed().as_secs_f64();
    let mut line = format!(
        "{{\"nodes\":{},\"edges\":{},\"terminals\":{},\"cost\":{},\"bound\":{},\"seconds\":{seconds:.3}",
        problem.nodes(),
        problem.edges().len(),
        problem.groups()[0].terminals.len(),
        solution.cost,
        solution.bound,
    );
    let (before, after) = (or_null(before), or_null(memory()));
    line += &format!(",\"memory_before\":{before},\"memory\":{after},\"steps\":[");
    let steps = steps.into_inner();
    let told = steps.iter().map(|(at, cost)| format!("[{at:.3},{cost}]"));
    line += &told.collect::<Vec<_>>().join(",");
    println!("{line}]}}");
    Ok(())
}

fn or_null(bytes: Option<u64>) -> String {
    bytes.map_or("null".to_owned(), |bytes| bytes.to_string())
}

/// Most memory this process has held, in bytes; `None` where the system does not tell.
fn memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
    let kib: u64 = line.trim().trim_end_matches("kB").trim().parse().ok()?;
    Some(kib * 1024)
}

/// The property as a problem.
fn yard(side: usize, seed: u64) -> Result<Problem, Box<dyn Error>> {
    let mut dice = Dice(seed);
    let mut unit = vec![1.0f64; side * side];
    let pieces = (side / 6).max(2).pow(2) / 4;
    for piece in 0..4 * pieces {
        // Grounds first, obstacles last; together these cover about an eighth of the property.
        let cost = if piece < 3 * pieces {
            1.0 + dice.below(30) as f64 / 10.0
        } else {
            f64::INFINITY
        };
        let (wide, high) = (1 + dice.below(6), 1 + dice.below(6));
        let (left, low) = (dice.below(side - 1), dice.below(side - 1));
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
        .map(|_| ground[dice.below(ground.len())])
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

/// Random numbers (G. L. Steele, D. Lea and C. H. Flood, "Fast splittable pseudorandom number
/// generators", OOPSLA 2014).
struct Dice(u64);

impl Dice {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % end.max(1) as u64) as usize
    }
}
