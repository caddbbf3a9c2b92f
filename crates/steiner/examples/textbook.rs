//! The textbook heuristic on one problem file, for comparison: from a root, again and again the
//! shortest path to the nearest terminal outside the tree, begun anew at each of up to 20 roots
//! (H. Takahashi and A. Matsuyama, Math. Japonica 24, 1980). Shares no code with the solver.
//!
//! `cargo run --release -p steiner --example textbook -- FILE` prints a line of JSON.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::error::Error;
use std::time::Instant;
use steiner::{Problem, text};

const ROOTS: usize = 20;

fn main() -> Result<(), Box<dyn Error>> {
    let file = std::env::args().nth(1).ok_or("usage: textbook FILE")?;
    let problem = text::read(&std::fs::read_to_string(&file)?)?;
    if problem.groups().len() != 1 {
        return Err("the textbook heuristic takes one group of terminals".into());
    }
    let start = Instant::now();
    let near = neighbours(&problem);
    let terminals = &problem.groups()[0].terminals;
    let costs = terminals
        .iter()
        .take(ROOTS)
        .map(|root| nearest_first(&near, *root as usize, terminals));
    let cost = costs.fold(f64::INFINITY, f64::min);
    let seconds = start.elapsed().as_secs_f64();
    println!("{{\"cost\":{cost},\"seconds\":{seconds:.3}}}");
    Ok(())
}

fn neighbours(problem: &Problem) -> Vec<Vec<(usize, f64)>> {
    let rate = problem.groups()[0].rate;
    let mut near = vec![Vec::new(); problem.nodes()];
    for edge in problem.edges() {
        let cost = edge.shared + rate * edge.length;
        near[edge.a as usize].push((edge.b as usize, cost));
        near[edge.b as usize].push((edge.a as usize, cost));
    }
    near
}

fn nearest_first(near: &[Vec<(usize, f64)>], root: usize, terminals: &[u32]) -> f64 {
    let mut waiting = vec![false; near.len()];
    for node in terminals {
        waiting[*node as usize] = true;
    }
    let mut far = vec![f64::INFINITY; near.len()];
    let mut by = vec![usize::MAX; near.len()];
    let mut queue = BinaryHeap::new();
    far[root] = 0.0;
    queue.push((Reverse(0f64.to_bits()), root));
    let mut cost = 0.0;
    while let Some((Reverse(bits), node)) = queue.pop() {
        let length = f64::from_bits(bits);
        if length > far[node] {
            continue;
        }
        if waiting[node] {
            cost += length;
            // The whole path belongs to the tree now: its nodes are at distance 0.
            let mut at = node;
            while far[at] > 0.0 || waiting[at] {
                waiting[at] = false;
                far[at] = 0.0;
                queue.push((Reverse(0f64.to_bits()), at));
                if by[at] == usize::MAX {
                    break;
                }
                at = by[at];
            }
            continue;
        }
        for (to, price) in &near[node] {
            let longer = length + price;
            if longer < far[*to] {
                far[*to] = longer;
                by[*to] = node;
                queue.push((Reverse(longer.to_bits()), *to));
            }
        }
    }
    if waiting.iter().any(|waits| *waits) {
        return f64::INFINITY;
    }
    cost
}
