//! Recomputes connection and cost of given trees. Shares no code with the search.

use crate::problem::Problem;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// What is wrong with a set of trees.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Not one tree per group.
    Count {
        /// Trees given.
        trees: usize,
        /// Groups in the problem.
        groups: usize,
    },
    /// A tree names an edge that does not exist.
    NoSuchEdge {
        /// The group.
        group: usize,
        /// The edge id.
        edge: u32,
    },
    /// A tree uses an edge its group is banned from.
    Forbidden {
        /// The group.
        group: usize,
        /// The edge id.
        edge: u32,
    },
    /// An edge closes a cycle or is listed twice.
    Cycle {
        /// The group.
        group: usize,
        /// The edge id.
        edge: u32,
    },
    /// A terminal is not joined to the root.
    Apart {
        /// The group.
        group: usize,
        /// The terminal.
        terminal: u32,
    },
    /// An edge is not joined to the root.
    Loose {
        /// The group.
        group: usize,
        /// The edge id.
        edge: u32,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::Count { trees, groups } => write!(f, "{trees} trees for {groups} groups"),
            Fault::NoSuchEdge { group, edge } => {
                write!(f, "tree of group {group}: edge {edge} does not exist")
            }
            Fault::Forbidden { group, edge } => {
                write!(
                    f,
                    "tree of group {group}: edge {edge} is banned for this group"
                )
            }
            Fault::Cycle { group, edge } => {
                write!(f, "tree of group {group}: edge {edge} closes a cycle")
            }
            Fault::Apart { group, terminal } => {
                write!(
                    f,
                    "tree of group {group}: terminal {terminal} is not joined to the root"
                )
            }
            Fault::Loose { group, edge } => {
                write!(
                    f,
                    "tree of group {group}: edge {edge} is not joined to the root"
                )
            }
        }
    }
}

impl std::error::Error for Fault {}

/// Checks that each group's edges form one tree that contains its terminals, and returns the cost.
///
/// # Errors
///
/// The first fault found, in order of group.
pub fn check(problem: &Problem, trees: &[Vec<u32>]) -> Result<f64, Fault> {
    let groups = problem.groups();
    if trees.len() != groups.len() {
        return Err(Fault::Count {
            trees: trees.len(),
            groups: groups.len(),
        });
    }
    let mut used = BTreeSet::new();
    let mut cost = 0.0;
    for (group, tree) in trees.iter().enumerate() {
        check_tree(problem, group, tree)?;
        for edge in tree {
            used.insert(*edge);
            cost += groups[group].rate * problem.edges()[*edge as usize].length;
        }
    }
    let shared: f64 = used
        .iter()
        .map(|edge| problem.edges()[*edge as usize].shared)
        .sum();
    Ok(cost + shared)
}

fn check_tree(problem: &Problem, group: usize, tree: &[u32]) -> Result<(), Fault> {
    let mut joined = Joined::default();
    for edge in tree {
        let Some(ends) = problem.edges().get(*edge as usize) else {
            return Err(Fault::NoSuchEdge { group, edge: *edge });
        };
        if problem.is_forbidden(group, *edge) {
            return Err(Fault::Forbidden { group, edge: *edge });
        }
        if !joined.join(ends.a, ends.b) {
            return Err(Fault::Cycle { group, edge: *edge });
        }
    }
    let terminals = &problem.groups()[group].terminals;
    let root = joined.top(terminals[0]);
    if let Some(terminal) = terminals.iter().find(|node| joined.top(**node) != root) {
        return Err(Fault::Apart {
            group,
            terminal: *terminal,
        });
    }
    match tree
        .iter()
        .find(|edge| joined.top(problem.edges()[**edge as usize].a) != root)
    {
        Some(edge) => Err(Fault::Loose { group, edge: *edge }),
        None => Ok(()),
    }
}

/// Which nodes hang together; every node starts alone.
#[derive(Default)]
struct Joined(BTreeMap<u32, u32>);

impl Joined {
    fn top(&self, mut node: u32) -> u32 {
        while let Some(up) = self.0.get(&node) {
            node = *up;
        }
        node
    }

    /// False if the two hung together already.
    fn join(&mut self, a: u32, b: u32) -> bool {
        let (a, b) = (self.top(a), self.top(b));
        if a == b {
            return false;
        }
        // Always under the smaller number would allow long chains; halving keeps them short
        // enough because a top is linked at most once.
        self.0.insert(a.max(b), a.min(b));
        true
    }
}
