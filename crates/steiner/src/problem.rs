//! What is asked: the graph, its costs, and the groups to be joined.

use crate::bits::Bits;
use std::fmt;

/// An undirected edge between nodes `a` and `b`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// One end, a node number below the problem's node count.
    pub a: u32,
    /// The other end. An edge from a node to itself is accepted and never used.
    pub b: u32,
    /// Paid once if any group uses the edge. Finite, at least 0.
    pub shared: f64,
    /// Multiplied by the rate of each group that uses the edge. Finite, at least 0.
    pub length: f64,
}

/// Terminals to be joined by one tree.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Nodes to be joined; the first is the root. Never empty; repeats count once.
    pub terminals: Vec<u32>,
    /// Cost per unit of length for this group. Finite, at least 0.
    pub rate: f64,
}

/// A checked problem: every number is in range.
#[derive(Clone, Debug)]
pub struct Problem {
    pub(crate) edges: Vec<Edge>,
    pub(crate) groups: Vec<Group>,
    pub(crate) links: Links,
    pub(crate) banned: Vec<Bits>,
}

/// Why a problem was refused.
#[derive(Clone, Debug, PartialEq)]
pub enum ProblemError {
    /// An edge names a node that does not exist.
    EdgeEnd {
        /// Position of the edge in the list.
        edge: usize,
        /// The node it names.
        node: u32,
        /// How many nodes there are.
        nodes: usize,
    },
    /// A cost of an edge is negative, infinite or not a number.
    EdgeCost {
        /// Position of the edge in the list.
        edge: usize,
        /// Which cost: `shared`, `length`, or `rate * length` if only the product is too large.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// A group has no terminals.
    EmptyGroup {
        /// Position of the group in the list.
        group: usize,
    },
    /// A group names a node that does not exist.
    Terminal {
        /// Position of the group in the list.
        group: usize,
        /// The node it names.
        node: u32,
        /// How many nodes there are.
        nodes: usize,
    },
    /// The rate of a group is negative, infinite or not a number.
    Rate {
        /// Position of the group in the list.
        group: usize,
        /// Its value.
        value: f64,
    },
    /// More nodes or edges than 32-bit numbers can name.
    TooLarge,
}

impl fmt::Display for ProblemError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ProblemError::EdgeEnd { edge, node, nodes } => write!(
                f,
                "edge {edge} ends at node {node}, but there are only {nodes} nodes \
                 (numbered from 0): give a node below {nodes}"
            ),
            ProblemError::EdgeCost { edge, what, value } => write!(
                f,
                "edge {edge} has {what} = {value}: give a finite number that is not negative"
            ),
            ProblemError::EmptyGroup { group } => {
                write!(f, "group {group} has no terminals: give at least its root")
            }
            ProblemError::Terminal { group, node, nodes } => write!(
                f,
                "group {group} has terminal {node}, but there are only {nodes} nodes \
                 (numbered from 0): give a node below {nodes}"
            ),
            ProblemError::Rate { group, value } => write!(
                f,
                "group {group} has rate {value}: give a finite number that is not negative"
            ),
            ProblemError::TooLarge => {
                write!(f, "more than 2^30 nodes or edges: split the problem")
            }
        }
    }
}

impl std::error::Error for ProblemError {}

/// Above this many nodes or edges, arc numbers would leave 32 bits.
const MOST: usize = 1 << 30;

impl Problem {
    /// Checks the parts and joins them.
    ///
    /// # Errors
    ///
    /// The first fault found: a node out of range, a cost or rate that is negative or not finite,
    /// or a group without terminals.
    pub fn new(
        nodes: usize,
        edges: Vec<Edge>,
        groups: Vec<Group>,
    ) -> Result<Problem, ProblemError> {
        if nodes > MOST || edges.len() > MOST {
            return Err(ProblemError::TooLarge);
        }
        for (at, edge) in edges.iter().enumerate() {
            check_edge(at, edge, nodes)?;
        }
        for (at, group) in groups.iter().enumerate() {
            check_group(at, group, nodes)?;
        }
        check_products(&edges, &groups)?;
        let links = Links::new(nodes, &edges);
        let banned = vec![Bits::new(edges.len()); groups.len()];
        Ok(Problem {
            edges,
            groups,
            links,
            banned,
        })
    }

    /// Bans one edge for one group; other groups may still use it.
    ///
    /// # Panics
    ///
    /// If the group or the edge does not exist.
    pub fn forbid(&mut self, group: usize, edge: u32) {
        assert!(
            (edge as usize) < self.edges.len(),
            "edge {edge} does not exist"
        );
        self.banned[group].set(edge);
    }

    /// Whether a group is banned from an edge.
    pub fn is_forbidden(&self, group: usize, edge: u32) -> bool {
        self.banned[group].get(edge)
    }

    /// How many nodes there are.
    pub fn nodes(&self) -> usize {
        self.links.nodes()
    }

    /// The edges, in the order in which they were given; positions are the edge ids.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// The groups, in the order in which they were given.
    pub fn groups(&self) -> &[Group] {
        &self.groups
    }
}

fn is_cost(value: f64) -> bool {
    value.is_finite() && value >= 0.0
}

fn check_edge(at: usize, edge: &Edge, nodes: usize) -> Result<(), ProblemError> {
    for node in [edge.a, edge.b] {
        if node as usize >= nodes {
            return Err(ProblemError::EdgeEnd {
                edge: at,
                node,
                nodes,
            });
        }
    }
    for (what, value) in [("shared", edge.shared), ("length", edge.length)] {
        if !is_cost(value) {
            return Err(ProblemError::EdgeCost {
                edge: at,
                what,
                value,
            });
        }
    }
    Ok(())
}

fn check_group(at: usize, group: &Group, nodes: usize) -> Result<(), ProblemError> {
    if group.terminals.is_empty() {
        return Err(ProblemError::EmptyGroup { group: at });
    }
    if !is_cost(group.rate) {
        return Err(ProblemError::Rate {
            group: at,
            value: group.rate,
        });
    }
    match group.terminals.iter().find(|node| **node as usize >= nodes) {
        Some(node) => Err(ProblemError::Terminal {
            group: at,
            node: *node,
            nodes,
        }),
        None => Ok(()),
    }
}

/// Sums of all costs must stay finite, or comparisons would lose their meaning.
fn check_products(edges: &[Edge], groups: &[Group]) -> Result<(), ProblemError> {
    let rates: f64 = groups.iter().map(|group| group.rate).sum();
    let mut total = 0.0;
    for (at, edge) in edges.iter().enumerate() {
        let value = edge.shared + rates * edge.length;
        total += value;
        if !(total * 1e3).is_finite() {
            return Err(ProblemError::EdgeCost {
                edge: at,
                what: "rate * length",
                value,
            });
        }
    }
    Ok(())
}

/// One step from a node: the node reached, and the arc taken.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Link {
    pub to: u32,
    /// `2 * edge` from `a` to `b`, `2 * edge + 1` from `b` to `a`.
    pub arc: u32,
}

impl Link {
    pub fn edge(self) -> u32 {
        self.arc / 2
    }
}

/// The neighbours of every node, in order of edge id.
#[derive(Clone, Debug)]
pub(crate) struct Links {
    first: Vec<u32>,
    list: Vec<Link>,
}

impl Links {
    fn new(nodes: usize, edges: &[Edge]) -> Links {
        let mut first = vec![0u32; nodes + 1];
        for edge in edges.iter().filter(|edge| edge.a != edge.b) {
            first[edge.a as usize + 1] += 1;
            first[edge.b as usize + 1] += 1;
        }
        for at in 0..nodes {
            first[at + 1] += first[at];
        }
        let mut next = first.clone();
        let mut list = vec![Link { to: 0, arc: 0 }; first[nodes] as usize];
        for (id, edge) in edges
            .iter()
            .enumerate()
            .filter(|(_, edge)| edge.a != edge.b)
        {
            for (from, to, side) in [(edge.a, edge.b, 0), (edge.b, edge.a, 1)] {
                list[next[from as usize] as usize] = Link {
                    to,
                    arc: 2 * id as u32 + side,
                };
                next[from as usize] += 1;
            }
        }
        Links { first, list }
    }

    pub fn nodes(&self) -> usize {
        self.first.len() - 1
    }

    pub fn of(&self, node: u32) -> &[Link] {
        let at = node as usize;
        &self.list[self.first[at] as usize..self.first[at + 1] as usize]
    }
}
