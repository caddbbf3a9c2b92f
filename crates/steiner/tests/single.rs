//! One group: on many small problems the optimum must be found and proved, and on larger ones the
//! bound of one run must hold against the trees of another.

#![allow(clippy::unwrap_used, clippy::float_cmp)]

use std::ops::ControlFlow;
use steiner::{Edge, Group, Limits, Problem, Solution, check, solve};

/// A fixed sequence of numbers.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, below: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % below
    }

    /// Whole numbers make ties, others make rounding; some are free.
    fn cost(&mut self, kind: u64) -> f64 {
        match kind {
            0 => self.below(4) as f64,
            1 => self.below(1000) as f64 / 7.0,
            _ => self.below(100) as f64 * 1e6,
        }
    }
}

/// A graph whose nodes hang together but for the last, with loops and parallel edges; terminals
/// may be repeated.
fn problem(numbers: &mut Numbers, nodes: u64, more: u64, terminals: u64) -> Problem {
    let kind = numbers.below(3);
    let mut edges = Vec::new();
    for at in 1..nodes + more {
        let (a, b) = if at < nodes {
            (numbers.below(at), at)
        } else {
            (numbers.below(nodes), numbers.below(nodes))
        };
        let (shared, length) = (numbers.cost(kind), numbers.cost(kind));
        edges.push(Edge {
            a: a as u32,
            b: b as u32,
            shared,
            length,
        });
    }
    let terminals = (0..terminals)
        .map(|_| numbers.below(nodes) as u32)
        .collect();
    let rate = numbers.below(3) as f64 / 2.0;
    Problem::new(nodes as usize + 1, edges, vec![Group { terminals, rate }]).unwrap()
}

fn run(problem: &Problem, work: u64, seed: u64) -> Solution {
    let limits = Limits { work, seed };
    let solution = solve(problem, limits, &|_| ControlFlow::Continue(())).unwrap();
    let cost = check(problem, &solution.trees).unwrap();
    assert!(
        (cost - solution.cost).abs() <= 1e-9 * cost,
        "{cost} {}",
        solution.cost
    );
    assert!(solution.bound <= solution.cost);
    solution
}

/// The optimum by sets of terminals and all nodes; shares nothing with the crate's search.
fn set_by_set(problem: &Problem) -> f64 {
    let nodes = problem.nodes();
    let rate = problem.groups()[0].rate;
    let mut dist = vec![vec![f64::INFINITY; nodes]; nodes];
    for (node, row) in dist.iter_mut().enumerate() {
        row[node] = 0.0;
    }
    for edge in problem.edges() {
        let (a, b) = (edge.a as usize, edge.b as usize);
        dist[a][b] = dist[a][b].min(edge.shared + rate * edge.length);
        dist[b][a] = dist[a][b];
    }
    for via in 0..nodes {
        for a in 0..nodes {
            for b in 0..nodes {
                dist[a][b] = dist[a][b].min(dist[a][via] + dist[via][b]);
            }
        }
    }
    let terminals = &problem.groups()[0].terminals;
    let mut best = vec![vec![f64::INFINITY; nodes]; 1 << terminals.len()];
    for set in 1..best.len() {
        let mut at = vec![f64::INFINITY; nodes];
        for (node, cost) in at.iter_mut().enumerate() {
            if set.is_power_of_two() {
                *cost = dist[terminals[set.trailing_zeros() as usize] as usize][node];
            }
            let mut part = (set - 1) & set;
            while part > 0 {
                *cost = cost.min(best[part][node] + best[set ^ part][node]);
                part = (part - 1) & set;
            }
        }
        for node in 0..nodes {
            let ways = (0..nodes).map(|via| at[via] + dist[via][node]);
            best[set][node] = ways.fold(f64::INFINITY, f64::min);
        }
    }
    best[best.len() - 1]
        .iter()
        .copied()
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn small_problems_are_solved_and_proved() {
    let mut numbers = Numbers(1);
    for case in 0..10_000u64 {
        let (nodes, more) = (2 + numbers.below(8), numbers.below(14));
        let terminals = 1 + numbers.below(5);
        let problem = problem(&mut numbers, nodes, more, terminals);
        let solution = run(&problem, 10_000_000, case % 5);
        let best = set_by_set(&problem);
        let near = 1e-7 * (1.0 + best);
        assert!(
            solution.bound <= best + near,
            "case {case}: bound {} of {best}",
            solution.bound
        );
        assert!(
            (solution.cost - best).abs() <= near,
            "case {case}: {} of {best}",
            solution.cost
        );
        assert!(solution.optimal, "case {case}: {solution:?}");
    }
}

/// A grid with ties, too large for sets of terminals.
fn grid(numbers: &mut Numbers, side: u64, terminals: u64) -> Problem {
    let mut edges = Vec::new();
    for y in 0..side {
        for x in 0..side {
            for (dx, dy, cost) in [(1, 0, 1000.0), (0, 1, 1000.0), (1, 1, 1414.0)] {
                if x + dx < side && y + dy < side {
                    let (a, b) = (y * side + x, (y + dy) * side + x + dx);
                    let shared = cost * (1 + numbers.below(2)) as f64;
                    edges.push(Edge {
                        a: a as u32,
                        b: b as u32,
                        shared,
                        length: 0.0,
                    });
                }
            }
        }
    }
    let nodes = side * side;
    let terminals = (0..terminals)
        .map(|_| numbers.below(nodes) as u32)
        .collect();
    Problem::new(
        nodes as usize,
        edges,
        vec![Group {
            terminals,
            rate: 0.0,
        }],
    )
    .unwrap()
}

#[test]
fn bounds_hold_against_trees_of_other_runs_and_answers_repeat() {
    let mut numbers = Numbers(2);
    for side in [6, 9, 12] {
        let problem = grid(&mut numbers, side, side);
        let runs = [(3_000_000, 1), (3_000_000, 2), (300_000, 3)]
            .map(|(work, seed)| run(&problem, work, seed));
        let least = runs
            .iter()
            .map(|run| run.cost)
            .fold(f64::INFINITY, f64::min);
        for solution in &runs {
            assert!(solution.bound <= least + 1e-6, "{} {least}", solution.bound);
            assert!(!solution.optimal || solution.cost <= least + 1e-6);
        }
        assert_eq!(runs[0], run(&problem, 3_000_000, 1));
    }
}

#[test]
fn breaking_off_at_any_moment_gives_a_tree_and_a_true_bound() {
    let mut numbers = Numbers(3);
    let problem = grid(&mut numbers, 10, 9);
    let best = run(&problem, 100_000_000, 1);
    assert!(best.optimal);
    for calls in [0, 1, 2, 5, 10, 20, 40] {
        let asked = std::cell::Cell::new(0);
        let limits = Limits {
            work: 100_000_000,
            seed: 1,
        };
        let solution = solve(&problem, limits, &|_| {
            asked.set(asked.get() + 1);
            if asked.get() > calls {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        let solution = solution.unwrap();
        assert!(check(&problem, &solution.trees).is_ok());
        assert!(solution.bound <= best.cost && best.cost <= solution.cost);
    }
}
