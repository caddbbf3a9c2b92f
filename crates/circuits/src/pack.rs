//! How many circuits some heads need at least.

use crate::scheme::Scheme;
use std::collections::BTreeMap;

/// Number of circuits that heads need at least: heads of one class are packed by their shares of a
/// circuit (bound L2), or counted where no two of them match in rate, whichever is more; classes never
/// mix, so their numbers are added.
pub(crate) fn least_circuits(scheme: &Scheme, heads: &[usize]) -> usize {
    let mut classes: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for head in heads {
        classes
            .entry(scheme.heads[*head].class)
            .or_default()
            .push(*head);
    }
    let of_class = |heads: &Vec<usize>| {
        let shares = heads.iter().map(|h| scheme.heads[*h].share()).collect();
        l2(shares, 1.0).max(unlike(scheme, heads))
    };
    classes.values().map(of_class).sum()
}

/// The bound L2 on the number of bins of a size for items.
///
/// For a threshold t up to half the bin: items above size − t stand alone, no two above half of it
/// share a bin, and what those leave free is all that the items from t to half of it can use besides
/// bins of their own.
///
/// Source: S. Martello and P. Toth, Knapsack Problems (1990), chapter 8; from memory.
pub(crate) fn l2(mut items: Vec<f64>, bin: f64) -> usize {
    // Items that only rounding makes larger than a part of the bin count as that part.
    let slack = bin * 1e-9;
    items.sort_by(f64::total_cmp);
    let above = |t: f64| items.len() - items.partition_point(|w| *w <= t + slack);
    let sums: Vec<f64> = std::iter::once(0.0)
        .chain(items.iter().scan(0.0, |sum, w| {
            *sum += w;
            Some(*sum)
        }))
        .collect();
    let half = items.len() - above(bin / 2.0);
    let thresholds = std::iter::once(0.0).chain(items[..half].iter().copied());
    let bound = |t: f64| {
        let alone = above(bin - t).min(items.len() - half);
        let large = items.len() - half - alone;
        let first = items.partition_point(|w| *w < t);
        let small = sums[half] - sums[first.min(half)];
        let in_large = sums[half + large] - sums[half];
        let room = large as f64 * bin - in_large;
        let over = ((small - room) / bin - 1e-9).ceil().max(0.0);
        alone + large + over as usize
    };
    thresholds.map(bound).max().unwrap_or(0)
}

/// Heads of which no two match in rate: taken from the least rate up, each the first that differs too
/// much from the one before.
fn unlike(scheme: &Scheme, heads: &[usize]) -> usize {
    let rates = heads.iter().filter_map(|h| scheme.heads[*h].rate);
    let mut rates: Vec<f64> = rates.collect();
    rates.sort_by(f64::total_cmp);
    let mut count = usize::from(!heads.is_empty());
    let mut low = rates.first().copied().unwrap_or(0.0);
    for rate in rates {
        if rate - low > rate * scheme.tolerance * (1.0 + 1e-9) {
            count += 1;
            low = rate;
        }
    }
    count
}

#[cfg(test)]
mod tests {
    use super::l2;

    #[test]
    fn l2_sees_what_the_sum_does_not() {
        assert_eq!(l2(vec![], 10.0), 0);
        assert_eq!(l2(vec![6.0, 6.0, 6.0], 10.0), 3);
        // The sum is 30, but each 4 needs a 6 and there are only two.
        assert_eq!(l2(vec![6.0, 6.0, 4.0, 4.0, 4.0, 4.0], 10.0), 3);
        assert_eq!(l2(vec![7.0, 7.0, 4.0, 4.0], 10.0), 3);
        assert_eq!(l2(vec![2.5; 8], 10.0), 2);
    }
}
