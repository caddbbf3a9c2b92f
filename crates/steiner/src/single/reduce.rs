//! Making a graph smaller without losing every cheapest tree, by looking at nodes and their
//! surroundings (C. W. Duin and A. Volgenant, "Reduction tests for the Steiner problem in graphs",
//! Networks 19, 1989).

use crate::single::graph::Graph;
use crate::single::special::Special;
use crate::single::watch::Watch;

/// Which tests to use.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tests {
    /// Nodes with one or two edges.
    pub degree: bool,
    /// Edges at a terminal that every tree may have.
    pub nearest: bool,
    /// Edges with a way around that is no longer.
    pub around: bool,
    /// Nodes where three or four edges never need to meet.
    pub star: bool,
}

impl Tests {
    pub const ALL: Tests = Tests {
        degree: true,
        nearest: true,
        around: true,
        star: true,
    };
}

/// Repeats the tests until they do little.
pub(crate) fn reduce(graph: &mut Graph, tests: Tests, watch: &mut Watch) {
    let mut special = Special::new(graph.near.len());
    loop {
        let before = graph.alive().count();
        if tests.degree {
            degrees(graph);
        }
        if tests.nearest {
            nearest(graph, &mut special, watch);
        }
        if tests.around {
            around(graph, &mut special, watch);
        }
        if tests.star {
            stars(graph, &mut special, watch);
        }
        if tests.degree {
            degrees(graph);
        }
        let after = graph.alive().count();
        if watch.out() || (before - after.min(before)) * 50 <= before || after == 0 {
            return;
        }
    }
}

/// Cuts bare ends, joins edges that meet at a node of two, and takes the only edge of a terminal
/// into the tree.
pub(crate) fn degrees(graph: &mut Graph) {
    let mut open: Vec<u32> = (0..graph.near.len() as u32).collect();
    while let Some(node) = open.pop() {
        let terminal = graph.terminal[node as usize];
        let list = &graph.near[node as usize];
        match (list.len(), terminal) {
            (1, false) => {
                let line = list[0];
                open.push(graph.other(line, node));
                graph.remove(line);
            }
            (1, true) if graph.terminals > 1 => {
                let line = list[0];
                let other = graph.other(line, node);
                graph.contract(line, node);
                open.extend(
                    graph.near[node as usize]
                        .iter()
                        .map(|line| graph.other(*line, node)),
                );
                open.extend([node, other]);
            }
            (2, false) => {
                let (one, two) = (list[0], list[1]);
                let (a, b) = (graph.other(one, node), graph.other(two, node));
                graph.remove_node(node);
                graph.join(one, two, a, b);
                open.extend([a, b]);
            }
            _ => {}
        }
        if graph.terminals <= 1 {
            break;
        }
    }
    if graph.terminals <= 1 {
        for node in 0..graph.near.len() as u32 {
            graph.remove_node(node);
        }
    }
}

/// The shortest edge of a terminal is in some cheapest tree if the way over it to another terminal
/// is no longer than the terminal's second edge.
fn nearest(graph: &mut Graph, special: &mut Special, watch: &mut Watch) {
    let mut open: Vec<u32> = (0..graph.near.len() as u32)
        .filter(|node| graph.terminal[*node as usize])
        .collect();
    while let Some(node) = open.pop() {
        if !graph.terminal[node as usize] || graph.degree(node) < 2 || watch.tick(4) {
            continue;
        }
        let (mut first, mut second) = ((f64::INFINITY, 0), f64::INFINITY);
        for line in &graph.near[node as usize] {
            let cost = graph.cost(*line);
            if cost < first.0 {
                second = first.0;
                first = (cost, *line);
            } else {
                second = second.min(cost);
            }
        }
        let next = graph.other(first.1, node);
        if graph.terminal[next as usize]
            || special.terminal_within(graph, next, node, second - first.0, watch)
        {
            graph.contract(first.1, node);
            if graph.terminals <= 1 {
                return;
            }
            open.push(node);
        }
    }
}

/// Removes edges around which there is a way, over terminals if need be, none of whose parts
/// between terminals is longer.
fn around(graph: &mut Graph, special: &mut Special, watch: &mut Watch) {
    let mut lines: Vec<u32> = graph.alive().collect();
    lines.sort_by(|a, b| graph.cost(*b).total_cmp(&graph.cost(*a)));
    for line in lines {
        if watch.out() {
            return;
        }
        let [a, b] = graph.lines[line as usize].ends;
        if special.way(graph, a, b, graph.cost(line), (line, u32::MAX), watch) {
            graph.remove(line);
        }
    }
}

/// Takes out nodes of degree three at which no cheapest tree needs to branch: their edges are
/// joined two by two.
fn stars(graph: &mut Graph, special: &mut Special, watch: &mut Watch) {
    for node in 0..graph.near.len() as u32 {
        if watch.out() {
            return;
        }
        let degree = graph.degree(node);
        if degree != 3 || graph.terminal[node as usize] {
            continue;
        }
        let lines = graph.near[node as usize].clone();
        let ends: Vec<u32> = lines.iter().map(|line| graph.other(*line, node)).collect();
        let total: f64 = lines.iter().map(|line| graph.cost(*line)).sum();
        let pairs = [(0, 1), (0, 2), (1, 2)];
        // Two of the three ways must together be no longer than the star.
        let mut ways =
            pairs.map(|(a, b)| special.length(graph, ends[a], ends[b], total, node, watch));
        ways.sort_unstable_by(f64::total_cmp);
        if ways[0] + ways[1] > total {
            continue;
        }
        graph.remove_node(node);
        for (a, b) in pairs {
            let cost = graph.cost(lines[a]) + graph.cost(lines[b]);
            if !special.way(graph, ends[a], ends[b], cost, (u32::MAX, u32::MAX), watch) {
                graph.join(lines[a], lines[b], ends[a], ends[b]);
            }
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::{Tests, reduce};
    use crate::few;
    use crate::grow::Reach;
    use crate::instance::{Dice, Instance, Work};
    use crate::problem::{Edge, Group, Problem};
    use crate::single::graph::Graph;
    use crate::single::kernel::Kernel;
    use crate::single::watch::Watch;
    use std::ops::ControlFlow;

    const NO_WORK: Work = Work {
        ask: None,
        done: 0,
        limit: u64::MAX,
    };

    /// A connected graph with loops, parallel edges, ties and free edges.
    pub(crate) fn random(dice: &mut Dice) -> Problem {
        let nodes = 3 + dice.below(9);
        let mut edges = Vec::new();
        for at in 1..nodes + dice.below(2 * nodes) {
            let (a, b) = if at < nodes {
                (dice.below(at), at)
            } else {
                (dice.below(nodes), dice.below(nodes))
            };
            let shared = match dice.below(3) {
                0 => dice.part() * 5.0,
                _ => dice.below(5) as f64,
            };
            edges.push(Edge {
                a: a as u32,
                b: b as u32,
                shared,
                length: 0.0,
            });
        }
        let terminals = (0..1 + dice.below(6))
            .map(|_| dice.below(nodes) as u32)
            .collect();
        let group = Group {
            terminals,
            rate: 0.0,
        };
        Problem::new(nodes, edges, vec![group]).expect("all in range")
    }

    /// The optimum by sets of terminals.
    fn optimum(problem: &Problem) -> f64 {
        let cost = |edge: &u32| problem.edges()[*edge as usize].shared;
        cheapest(problem).iter().map(cost).sum()
    }

    /// A cheapest tree by sets of terminals.
    pub(crate) fn cheapest(problem: &Problem) -> Vec<u32> {
        let inst = Instance::new(problem);
        let mut reach = Reach::new(inst.nodes());
        let (price, terminals) = (inst.shared.clone(), inst.terminals[0].clone());
        let mut work = NO_WORK;
        let stop = &mut |_| false;
        let tree = few::exact(&inst, &price, &terminals, &mut reach, &mut work, stop);
        tree.expect("the graph is connected")
    }

    fn keeps_the_optimum(tests: Tests) {
        let mut dice = Dice::new(7);
        for _ in 0..1500 {
            let problem = random(&mut dice);
            let before = optimum(&problem);
            let mut graph = Graph::new(&Instance::new(&problem));
            let mut watch = Watch::new(u64::MAX, &|_| ControlFlow::Continue(()));
            reduce(&mut graph, tests, &mut watch);
            let mut after = graph.offset;
            let mut tree = Vec::new();
            if graph.terminals > 1 {
                let kernel = Kernel::new(&graph);
                let sub = kernel.problem().expect("costs only add up");
                after += optimum(&sub);
                tree = cheapest(&sub);
                tree.iter_mut()
                    .for_each(|edge| *edge = kernel.line[*edge as usize]);
            }
            assert!(
                (before - after).abs() < 1e-9,
                "{before} {after} {problem:?}"
            );
            let edges = graph.unfold(&tree);
            let cost: f64 = edges
                .iter()
                .map(|edge| problem.edges()[*edge as usize].shared)
                .sum();
            assert!(
                cost <= before + 1e-9,
                "{before} unfolds to {cost}: {problem:?}"
            );
        }
    }

    const NONE: Tests = Tests {
        degree: false,
        nearest: false,
        around: false,
        star: false,
    };

    #[test]
    fn each_test_alone_and_all_together_keep_the_optimum() {
        keeps_the_optimum(NONE);
        keeps_the_optimum(Tests {
            degree: true,
            ..NONE
        });
        keeps_the_optimum(Tests {
            nearest: true,
            ..NONE
        });
        keeps_the_optimum(Tests {
            around: true,
            ..NONE
        });
        keeps_the_optimum(Tests { star: true, ..NONE });
        keeps_the_optimum(Tests::ALL);
    }
}
