//! Which terminals can be reached at all.

use crate::problem::Problem;
use crate::tidy::Sets;
use std::fmt;

/// A terminal that no path joins to the root of its group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unreachable {
    /// Position of the group in the problem.
    pub group: usize,
    /// The terminal that cannot be reached.
    pub terminal: u32,
}

impl fmt::Display for Unreachable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Unreachable { group, terminal } = self;
        write!(
            f,
            "terminal {terminal} of group {group} cannot be reached from the group's root: \
             add an edge, lift a ban, or take the terminal out"
        )
    }
}

impl std::error::Error for Unreachable {}

/// Lists every terminal that its group's root cannot reach, as (group, terminal); the list is
/// empty if the problem can be solved. Ordered by group, then by place in the group.
pub fn unreachable_terminals(problem: &Problem) -> Vec<(usize, u32)> {
    let part = parts(problem);
    let mut missing = Vec::new();
    for (at, group) in problem.groups.iter().enumerate() {
        let root = group.terminals[0];
        let seen = problem.banned[at].any().then(|| flood(problem, at, root));
        let is_cut_off = |node: u32| match &seen {
            Some(seen) => !seen[node as usize],
            None => part[node as usize] != part[root as usize],
        };
        for node in group.terminals.iter().filter(|node| is_cut_off(**node)) {
            if !missing.contains(&(at, *node)) {
                missing.push((at, *node));
            }
        }
    }
    missing
}

/// For every node a number that it shares with the nodes it hangs together with, bans left aside.
fn parts(problem: &Problem) -> Vec<u32> {
    let mut sets = Sets::new(problem.nodes());
    for edge in &problem.edges {
        sets.join(edge.a, edge.b);
    }
    (0..problem.nodes() as u32)
        .map(|node| sets.top(node))
        .collect()
}

fn flood(problem: &Problem, group: usize, root: u32) -> Vec<bool> {
    let mut seen = vec![false; problem.nodes()];
    seen[root as usize] = true;
    let mut open = vec![root];
    while let Some(node) = open.pop() {
        for link in problem.links.of(node) {
            if !seen[link.to as usize] && !problem.banned[group].get(link.edge()) {
                seen[link.to as usize] = true;
                open.push(link.to);
            }
        }
    }
    seen
}
