//! What must hold for every problem, on small random ones where all solutions can be tried.

#![allow(clippy::unwrap_used, clippy::float_cmp)]

use proptest::prelude::*;
use std::ops::ControlFlow;
use steiner::{
    Aim, Edge, Fault, Group, Limits, Problem, ProblemError, Solution, check, solve, solve_from,
    unreachable_terminals,
};

fn run(problem: &Problem, seed: u64) -> Solution {
    let limits = Limits {
        work: 300_000,
        seed,
    };
    let solution = solve(problem, limits, &|_| ControlFlow::Continue(())).unwrap();
    let cost = check(problem, &solution.trees).unwrap();
    assert!(near(cost, solution.cost), "{cost} {}", solution.cost);
    assert!(solution.bound <= solution.cost);
    solution
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-7 * (1.0 + a.abs().max(b.abs()))
}

/// A connected graph of 4 to 6 nodes and up to 9 edges.
fn graph() -> impl Strategy<Value = (usize, Vec<Edge>)> {
    (4usize..=6).prop_flat_map(|nodes| {
        let ups = (1..nodes)
            .map(|node| (0..node as u32, cost(), cost()))
            .collect::<Vec<_>>();
        let more = prop::collection::vec((0..nodes as u32, 0..nodes as u32, cost(), cost()), 0..5);
        (ups, more).prop_map(move |(ups, more)| {
            let up = ups
                .into_iter()
                .enumerate()
                .map(|(at, (a, shared, length))| Edge {
                    a,
                    b: at as u32 + 1,
                    shared,
                    length,
                });
            let more = more.into_iter().map(|(a, b, shared, length)| Edge {
                a,
                b,
                shared,
                length,
            });
            (nodes, up.chain(more).collect())
        })
    })
}

/// Whole numbers make ties, others make rounding.
fn cost() -> impl Strategy<Value = f64> {
    prop_oneof![(0u32..6).prop_map(f64::from), 0.0..5.0f64]
}

fn problem(groups: std::ops::Range<usize>) -> impl Strategy<Value = Problem> {
    (graph(), groups).prop_flat_map(|((nodes, edges), groups)| {
        let group = (prop::collection::vec(0..nodes as u32, 1..5), cost());
        let ban = (0..groups, 0..edges.len() as u32, prop::bool::weighted(0.3));
        (prop::collection::vec(group, groups), ban).prop_map(move |(list, ban)| {
            let groups: Vec<Group> = list
                .into_iter()
                .map(|(terminals, rate)| Group { terminals, rate })
                .collect();
            let free = Problem::new(nodes, edges.clone(), groups).unwrap();
            let mut banned = free.clone();
            banned.forbid(ban.0, ban.1);
            if ban.2 && unreachable_terminals(&banned).is_empty() {
                banned
            } else {
                free
            }
        })
    })
}

/// Every tree of every group, as bits of edges.
fn all_trees(problem: &Problem, group: usize) -> Vec<u32> {
    let mut single = Problem::new(
        problem.nodes(),
        problem.edges().to_vec(),
        vec![problem.groups()[group].clone()],
    )
    .unwrap();
    for edge in 0..problem.edges().len() as u32 {
        if problem.is_forbidden(group, edge) {
            single.forbid(0, edge);
        }
    }
    let edges = problem.edges().len() as u32;
    (0..1u32 << edges)
        .filter(|bits| check(&single, &[list(*bits)]).is_ok())
        .collect()
}

fn list(bits: u32) -> Vec<u32> {
    (0..32).filter(|edge| bits >> edge & 1 == 1).collect()
}

/// The optimum by trying every combination, group by group; for equal unions only the cheapest
/// way there is kept.
fn brute_force(problem: &Problem) -> f64 {
    let price = |bits: u32, cost: &dyn Fn(&Edge) -> f64| -> f64 {
        list(bits)
            .iter()
            .map(|edge| cost(&problem.edges()[*edge as usize]))
            .sum()
    };
    let mut unions = std::collections::BTreeMap::from([(0u32, 0.0f64)]);
    for group in 0..problem.groups().len() {
        let rate = problem.groups()[group].rate;
        let trees = all_trees(problem, group);
        let mut next = std::collections::BTreeMap::new();
        for (union, cost) in &unions {
            for tree in &trees {
                let cost = cost + price(*tree, &|edge| rate * edge.length);
                let best = next.entry(union | tree).or_insert(f64::INFINITY);
                *best = best.min(cost);
            }
        }
        unions = next;
    }
    let total = unions
        .iter()
        .map(|(union, cost)| cost + price(*union, &|edge| edge.shared));
    total.fold(f64::INFINITY, f64::min)
}

/// Single tree by dynamic programming over terminal sets and all nodes, with distances by
/// Floyd and Warshall: shares nothing with the crate's search.
fn set_by_set(problem: &Problem) -> f64 {
    let nodes = problem.nodes();
    let rate = problem.groups()[0].rate;
    let mut dist = vec![vec![f64::INFINITY; nodes]; nodes];
    for (node, row) in dist.iter_mut().enumerate() {
        row[node] = 0.0;
    }
    for (id, edge) in problem.edges().iter().enumerate() {
        if !problem.is_forbidden(0, id as u32) {
            let (a, b) = (edge.a as usize, edge.b as usize);
            let cost = edge.shared + rate * edge.length;
            dist[a][b] = dist[a][b].min(cost);
            dist[b][a] = dist[a][b];
        }
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
            for part in (1..set).filter(|part| part & set == *part) {
                *cost = cost.min(best[part][node] + best[set ^ part][node]);
            }
        }
        for node in 0..nodes {
            best[set][node] = (0..nodes)
                .map(|via| at[via] + dist[via][node])
                .fold(f64::INFINITY, f64::min);
        }
    }
    best[best.len() - 1]
        .iter()
        .copied()
        .fold(f64::INFINITY, f64::min)
}

fn changed(problem: &Problem, change: impl Fn(Edge) -> Edge) -> Problem {
    let edges = problem.edges().iter().copied().map(change).collect();
    let mut other = Problem::new(problem.nodes(), edges, problem.groups().to_vec()).unwrap();
    for group in 0..problem.groups().len() {
        for edge in 0..problem.edges().len() as u32 {
            if problem.is_forbidden(group, edge) {
                other.forbid(group, edge);
            }
        }
    }
    other
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn optimum_lies_between_bound_and_cost(problem in problem(1..4), seed in 0u64..9) {
        let best = brute_force(&problem);
        let solution = run(&problem, seed);
        prop_assert!(solution.bound <= best + 1e-7, "bound {} best {best}", solution.bound);
        prop_assert!(best <= solution.cost + 1e-7, "best {best} cost {}", solution.cost);
        if solution.optimal {
            prop_assert!(near(solution.cost, best), "cost {} best {best}", solution.cost);
        }
    }

    #[test]
    fn one_group_matches_dynamic_programming(problem in problem(1..2), seed in 0u64..9) {
        let solution = run(&problem, seed);
        let best = set_by_set(&problem);
        prop_assert!(near(solution.cost, best), "{} {best}", solution.cost);
        prop_assert!(solution.optimal);
    }

    #[test]
    fn scaling_the_costs_scales_cost_and_bound(problem in problem(1..4), by in 0.01..100.0f64) {
        let scaled = changed(&problem, |edge| Edge {
            shared: edge.shared * by,
            length: edge.length * by,
            ..edge
        });
        let (one, two) = (run(&problem, 1), run(&scaled, 1));
        prop_assert!(near(one.cost * by, two.cost), "{} * {by} {}", one.cost, two.cost);
        prop_assert!(near(one.bound * by, two.bound), "{} * {by} {}", one.bound, two.bound);
    }

    #[test]
    fn sharing_is_never_dearer_than_separate_trees(problem in problem(2..4)) {
        let together = run(&problem, 1).cost;
        let separate: f64 = (0..problem.groups().len()).map(|group| {
            let edges = problem.edges().to_vec();
            let mut one =
                Problem::new(problem.nodes(), edges, vec![problem.groups()[group].clone()]).unwrap();
            let banned = (0..problem.edges().len() as u32)
                .filter(|edge| problem.is_forbidden(group, *edge));
            banned.for_each(|edge| one.forbid(0, edge));
            run(&one, 1).cost
        }).sum();
        prop_assert!(together <= separate + 1e-7, "{together} {separate}");
    }

    #[test]
    fn the_same_question_gets_the_same_answer(problem in problem(1..4), seed in 0u64..9) {
        prop_assert_eq!(run(&problem, seed), run(&problem, seed));
    }

    #[test]
    fn breaking_off_still_gives_trees(problem in problem(1..4)) {
        let limits = Limits { work: 1_000_000, seed: 1 };
        let solution = solve(&problem, limits, &|_| ControlFlow::Break(())).unwrap();
        prop_assert!(near(check(&problem, &solution.trees).unwrap(), solution.cost));
        prop_assert!(solution.bound <= brute_force(&problem) + 1e-7);
    }
}

/// Too large to try all solutions, with loops, parallel edges, ties and free edges.
fn larger() -> impl Strategy<Value = Problem> {
    let node = || 0..40u32;
    let ups = (1..40u32)
        .map(|node| (0..node, cost(), cost()))
        .collect::<Vec<_>>();
    let more = prop::collection::vec((node(), node(), cost(), cost()), 0..80);
    let groups = prop::collection::vec((prop::collection::vec(node(), 1..12), cost()), 1..6);
    (ups, more, groups).prop_map(|(ups, more, groups)| {
        let up = (1..)
            .zip(ups)
            .map(|(b, (a, shared, length))| edge(a, b, shared, length));
        let more = more
            .into_iter()
            .map(|(a, b, shared, length)| edge(a, b, shared, length));
        let groups = groups
            .iter()
            .map(|(terminals, rate)| group(terminals, *rate))
            .collect();
        Problem::new(40, up.chain(more).collect(), groups).unwrap()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn bounds_of_one_seed_never_exceed_costs_of_another(problem in larger()) {
        let (one, two) = (run(&problem, 1), run(&problem, 2));
        prop_assert!(one.bound <= two.cost + 1e-7, "{} {}", one.bound, two.cost);
        prop_assert!(two.bound <= one.cost + 1e-7, "{} {}", two.bound, one.cost);
        if one.optimal && two.optimal {
            prop_assert!(near(one.cost, two.cost), "{} {}", one.cost, two.cost);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1500) })]

    /// Little work, so that bounds of every stage are met, not only those that close the gap.
    #[test]
    fn bounds_of_several_groups_hold_at_every_stage(
        problem in problem(2..5),
        seed in 0u64..9,
        work in 0u64..20_000,
    ) {
        let best = brute_force(&problem);
        let limits = Limits { work, seed };
        let solution = solve(&problem, limits, &|_| ControlFlow::Continue(())).unwrap();
        prop_assert!(solution.bound <= best + 1e-7, "bound {} best {best}", solution.bound);
        prop_assert!(best <= solution.cost + 1e-7, "best {best} cost {}", solution.cost);
        let limits = Limits { work: work + 20_000, seed };
        let known = Some(solution.trees.as_slice());
        let more = |_: steiner::Progress| ControlFlow::Continue(());
        let later = solve_from(&problem, limits, Aim::TreesAndBound, known, &more).unwrap();
        prop_assert!(later.bound <= best + 1e-7, "bound {} best {best}", later.bound);
        prop_assert!(later.cost <= solution.cost + 1e-7, "{} {}", later.cost, solution.cost);
        let nearby = solve_from(&problem, limits, Aim::Near, known, &more).unwrap();
        prop_assert!(nearby.cost <= solution.cost + 1e-7, "{} {}", nearby.cost, solution.cost);
        prop_assert!(nearby.bound <= 0.0);
        // Trees of which something is gone are mended.
        let rest = solution.trees.iter().map(|tree| tree.iter().copied().skip(1).collect());
        let rest: Vec<Vec<u32>> = rest.collect();
        let mended = solve_from(&problem, limits, Aim::Near, Some(&rest), &more).unwrap();
        let cost = check(&problem, &mended.trees).unwrap();
        prop_assert!(near(cost, mended.cost));
        prop_assert!(best <= mended.cost + 1e-7);
    }

    #[test]
    fn a_search_may_be_broken_off_at_any_step(
        problem in problem(2..5),
        seed in 0u64..9,
        after in 0u32..12,
    ) {
        let asked = std::cell::Cell::new(0);
        let breaks = |_: steiner::Progress| {
            asked.set(asked.get() + 1);
            if asked.get() > after { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        let limits = Limits { work: 2_000_000, seed };
        let solution = solve(&problem, limits, &breaks).unwrap();
        let cost = check(&problem, &solution.trees).unwrap();
        prop_assert!(near(cost, solution.cost));
        prop_assert!(solution.bound <= brute_force(&problem) + 1e-7);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    #[test]
    fn threads_change_nothing(problem in larger()) {
        let with = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| run(&problem, 1))
        };
        prop_assert_eq!(with(1), with(2));
    }
}

/// Three pairs of corners of a triangle: one by one, half of each side would do.
#[test]
fn a_union_bounds_what_pairs_do_not() {
    let edges = vec![
        edge(0, 1, 1.0, 0.0),
        edge(1, 2, 1.0, 0.0),
        edge(0, 2, 1.0, 0.0),
    ];
    let groups = vec![
        group(&[0, 1], 1.0),
        group(&[1, 2], 1.0),
        group(&[2, 0], 1.0),
    ];
    let problem = Problem::new(3, edges, groups).unwrap();
    let limits = Limits { work: 0, seed: 1 };
    let solution = solve(&problem, limits, &|_| ControlFlow::Continue(())).unwrap();
    assert_eq!((solution.cost, solution.bound), (2.0, 2.0));
}

fn edge(a: u32, b: u32, shared: f64, length: f64) -> Edge {
    Edge {
        a,
        b,
        shared,
        length,
    }
}

fn group(terminals: &[u32], rate: f64) -> Group {
    Group {
        terminals: terminals.to_vec(),
        rate,
    }
}

#[test]
fn unreachable_terminals_are_named() {
    let edges = vec![edge(0, 1, 1.0, 1.0), edge(2, 3, 1.0, 1.0)];
    let groups = vec![group(&[0, 1], 1.0), group(&[1, 0, 3, 2], 1.0)];
    let mut problem = Problem::new(4, edges, groups).unwrap();
    assert_eq!(unreachable_terminals(&problem), [(1, 3), (1, 2)]);
    let limits = Limits { work: 0, seed: 0 };
    let error = solve(&problem, limits, &|_| ControlFlow::Continue(())).unwrap_err();
    assert_eq!((error.group, error.terminal), (1, 3));
    assert!(error.to_string().contains("terminal 3 of group 1"));
    problem.forbid(0, 0);
    assert_eq!(unreachable_terminals(&problem), [(0, 1), (1, 3), (1, 2)]);
}

#[test]
fn costs_that_are_no_costs_are_refused() {
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        let one = || vec![group(&[0, 1], 1.0)];
        let shared = Problem::new(2, vec![edge(0, 1, bad, 1.0)], one()).unwrap_err();
        assert!(matches!(
            shared,
            ProblemError::EdgeCost {
                edge: 0,
                what: "shared",
                ..
            }
        ));
        let length = Problem::new(2, vec![edge(0, 1, 1.0, bad)], one()).unwrap_err();
        assert!(matches!(
            length,
            ProblemError::EdgeCost {
                edge: 0,
                what: "length",
                ..
            }
        ));
        let good = vec![edge(0, 1, 1.0, 1.0)];
        let rate = Problem::new(2, good, vec![group(&[0, 1], bad)]).unwrap_err();
        assert!(matches!(rate, ProblemError::Rate { group: 0, .. }));
    }
    let huge = Problem::new(2, vec![edge(0, 1, 0.0, 1e300)], vec![group(&[0], 1e300)]);
    assert!(matches!(
        huge,
        Err(ProblemError::EdgeCost {
            what: "rate * length",
            ..
        })
    ));
}

#[test]
fn ids_out_of_range_are_refused() {
    let end = Problem::new(2, vec![edge(0, 2, 1.0, 1.0)], Vec::new()).unwrap_err();
    assert_eq!(
        end,
        ProblemError::EdgeEnd {
            edge: 0,
            node: 2,
            nodes: 2
        }
    );
    let terminal = Problem::new(2, Vec::new(), vec![group(&[0, 5], 1.0)]).unwrap_err();
    assert_eq!(
        terminal,
        ProblemError::Terminal {
            group: 0,
            node: 5,
            nodes: 2
        }
    );
    let empty = Problem::new(2, Vec::new(), vec![group(&[], 1.0)]).unwrap_err();
    assert_eq!(empty, ProblemError::EmptyGroup { group: 0 });
}

#[test]
fn the_checker_finds_each_fault() {
    let edges = vec![
        edge(0, 1, 1.0, 0.0),
        edge(1, 2, 1.0, 0.0),
        edge(0, 2, 1.0, 0.0),
        edge(3, 4, 1.0, 0.0),
    ];
    let mut problem = Problem::new(5, edges, vec![group(&[0, 2], 0.0)]).unwrap();
    assert_eq!(check(&problem, &[vec![0, 1]]), Ok(2.0));
    assert_eq!(
        check(&problem, &[]),
        Err(Fault::Count {
            trees: 0,
            groups: 1
        })
    );
    assert_eq!(
        check(&problem, &[vec![9]]),
        Err(Fault::NoSuchEdge { group: 0, edge: 9 })
    );
    assert_eq!(
        check(&problem, &[vec![0, 1, 2]]),
        Err(Fault::Cycle { group: 0, edge: 2 })
    );
    assert_eq!(
        check(&problem, &[vec![2, 2]]),
        Err(Fault::Cycle { group: 0, edge: 2 })
    );
    assert_eq!(
        check(&problem, &[vec![0]]),
        Err(Fault::Apart {
            group: 0,
            terminal: 2
        })
    );
    assert_eq!(
        check(&problem, &[vec![2, 3]]),
        Err(Fault::Loose { group: 0, edge: 3 })
    );
    problem.forbid(0, 2);
    assert_eq!(
        check(&problem, &[vec![2]]),
        Err(Fault::Forbidden { group: 0, edge: 2 })
    );
}

#[test]
fn no_groups_and_lone_terminals_cost_nothing() {
    let none = Problem::new(2, vec![edge(0, 1, 1.0, 1.0)], Vec::new()).unwrap();
    assert_eq!(run(&none, 1).cost, 0.0);
    let lone = Problem::new(2, vec![edge(1, 1, 1.0, 1.0)], vec![group(&[1, 1], 1.0)]).unwrap();
    let solution = run(&lone, 1);
    assert_eq!(
        (solution.cost, solution.optimal, solution.gap()),
        (0.0, true, 0.0)
    );
}
