//! Groups that hang together through common terminals.
//!
//! The trees of such groups together connect all their terminals, so the shared costs they pay are
//! no less than those of one Steiner tree over all these terminals. A union is that tree: a further
//! group with rate 0 that no solution has to list, because the other trees contain it. It lifts the
//! bound where each group alone could make do with half of an edge here and half of one there: for
//! pairs of terminals, directed cuts bound no better than undirected ones, and only the union sees
//! them together (M. X. Goemans and Y.-S. Myung, "A catalog of Steiner tree formulations",
//! Networks 23, 1993, compare the relaxations).

use crate::tidy::Sets;

/// Lists of groups, two or more in each, that hang together through common terminals; ordered by
/// their first group.
pub(crate) fn unions(nodes: usize, terminals: &[Vec<u32>]) -> Vec<Vec<usize>> {
    if terminals.len() < 2 {
        return Vec::new();
    }
    let mut sets = Sets::new(nodes);
    for list in terminals {
        for node in &list[1..] {
            sets.join(list[0], *node);
        }
    }
    let mut tops: Vec<(u32, usize)> = (terminals.iter().enumerate())
        .filter(|(_, list)| list.len() > 1)
        .map(|(group, list)| (sets.top(list[0]), group))
        .collect();
    tops.sort_unstable();
    let mut lists: Vec<Vec<usize>> = (tops.chunk_by(|a, b| a.0 == b.0))
        .filter(|same| same.len() > 1)
        .map(|same| same.iter().map(|(_, group)| *group).collect())
        .collect();
    lists.sort_unstable();
    lists
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_hang_together_through_terminals() {
        let lists = vec![vec![0, 1], vec![2, 3], vec![3, 1], vec![4, 5], vec![5]];
        assert_eq!(unions(6, &lists), vec![vec![0, 1, 2]]);
        assert!(unions(6, &lists[..2]).is_empty());
    }
}
