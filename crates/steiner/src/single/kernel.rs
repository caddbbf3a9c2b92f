//! What is left of a graph after reducing it, laid out for speed.

use crate::flow::Net;
use crate::problem::{Edge, Group, Link, Problem, ProblemError};
use crate::single::graph::Graph;

/// A graph whose nodes, edges and arcs are numbered from 0 without holes. Arc `2 e` runs from the
/// first end of edge `e` to the second, arc `2 e + 1` back.
#[derive(Clone, Debug)]
pub(crate) struct Kernel {
    first: Vec<u32>,
    list: Vec<Link>,
    tails: Vec<u32>,
    /// Per edge.
    pub cost: Vec<f64>,
    /// Per edge, its number in the graph.
    pub line: Vec<u32>,
    pub terminals: Vec<u32>,
    /// Per node, its number in the graph.
    pub place: Vec<u32>,
}

impl Kernel {
    pub fn new(graph: &Graph) -> Kernel {
        let mut number = vec![u32::MAX; graph.near.len()];
        let mut place = Vec::new();
        for node in 0..graph.near.len() as u32 {
            if graph.degree(node) > 0 || graph.terminal[node as usize] {
                number[node as usize] = place.len() as u32;
                place.push(node);
            }
        }
        let line: Vec<u32> = graph.alive().collect();
        let mut tails = Vec::with_capacity(2 * line.len());
        for line in &line {
            tails.extend(
                graph.lines[*line as usize]
                    .ends
                    .map(|node| number[node as usize]),
            );
        }
        let terminals = place.iter().filter(|node| graph.terminal[**node as usize]);
        let terminals = terminals.map(|node| number[*node as usize]).collect();
        let (first, list) = links(place.len(), &tails);
        Kernel {
            first,
            list,
            cost: line.iter().map(|line| graph.cost(*line)).collect(),
            line,
            terminals,
            place,
            tails,
        }
    }

    pub fn nodes(&self) -> usize {
        self.first.len() - 1
    }

    pub fn edges(&self) -> usize {
        self.cost.len()
    }

    pub fn arcs(&self) -> usize {
        self.tails.len()
    }

    /// The links out of a node; the arc into it along the same edge is `arc ^ 1`.
    pub fn of(&self, node: u32) -> &[Link] {
        let at = node as usize;
        &self.list[self.first[at] as usize..self.first[at + 1] as usize]
    }

    pub fn tail(&self, arc: u32) -> u32 {
        self.tails[arc as usize]
    }

    pub fn head(&self, arc: u32) -> u32 {
        self.tails[arc as usize ^ 1]
    }

    /// The kernel as a problem of its own, with the same numbers.
    pub fn problem(&self) -> Result<Problem, ProblemError> {
        let edges = (0..self.edges())
            .map(|edge| Edge {
                a: self.tails[2 * edge],
                b: self.tails[2 * edge + 1],
                shared: self.cost[edge],
                length: 0.0,
            })
            .collect();
        let group = Group {
            terminals: self.terminals.clone(),
            rate: 0.0,
        };
        Problem::new(self.nodes(), edges, vec![group])
    }
}

impl Net for Kernel {
    fn nodes(&self) -> usize {
        Kernel::nodes(self)
    }

    fn arcs(&self) -> usize {
        Kernel::arcs(self)
    }

    fn of(&self, node: u32) -> &[Link] {
        Kernel::of(self, node)
    }

    fn tail(&self, arc: u32) -> u32 {
        Kernel::tail(self, arc)
    }
}

fn links(nodes: usize, tails: &[u32]) -> (Vec<u32>, Vec<Link>) {
    let mut first = vec![0u32; nodes + 1];
    for tail in tails {
        first[*tail as usize + 1] += 1;
    }
    for at in 0..nodes {
        first[at + 1] += first[at];
    }
    let mut next = first.clone();
    let mut list = vec![Link { to: 0, arc: 0 }; tails.len()];
    for (arc, tail) in tails.iter().enumerate() {
        list[next[*tail as usize] as usize] = Link {
            to: tails[arc ^ 1],
            arc: arc as u32,
        };
        next[*tail as usize] += 1;
    }
    (first, list)
}
