//! Cutting pieces from sticks or coils of one length: from the fewest, with the proof how few can do.
//!
//! Lengths are whole numbers of any one unit, so that balances hold exactly. A stick holds pieces with
//! Σ (length + kerf) ≤ stick + kerf: the last cut may fall on the end of the stick.

use ::cutting::{Limits, Piece, Problem, Solution, Stock, solve};
use std::collections::BTreeSet;
use std::ops::ControlFlow;

/// What a cut list comes to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cuts {
    /// The pieces from each stick, the sticks in the order in which they are taken.
    pub sticks: Vec<Vec<u64>>,
    /// No cutting of these pieces takes fewer sticks.
    pub bound: usize,
    /// Couplings in pieces longer than a stick.
    pub joints: usize,
    /// Lost to the saw.
    pub kerf: u64,
    /// Left over.
    pub waste: u64,
}

/// How long the fewest sticks are looked for; a few hundredths of a second for each cut list.
const LIMITS: Limits = Limits {
    work: 15_000_000,
    seed: 1,
};

/// Cuts `pieces` from sticks of length `stick`, with `kerf` lost at each cut.
///
/// A piece longer than a stick is made of whole sticks and a remainder, joined by couplings. Pieces of
/// no length are left out; a stick of no length counts as long as the longest piece.
///
/// The sticks are the fewest if they are as many as the bound. More than that is rare: then the search
/// has come to the end of its work.
pub fn cut(pieces: &[u64], stick: u64, kerf: u64) -> Cuts {
    let stick = match stick {
        0 => pieces.iter().copied().max().unwrap_or(0),
        some => some,
    };
    let mut cuts = Cuts::default();
    let mut rest = split_long(pieces, stick, &mut cuts);
    rest.sort_unstable_by(|a, b| b.cmp(a));
    let whole = cuts.sticks.len();
    let (sticks, bound) = fewest(&rest, stick, kerf);
    cuts.bound = whole + bound;
    cuts.sticks.extend(sticks);
    for pieces in &cuts.sticks {
        let (lost, left) = remainder(pieces, stick, kerf);
        cuts.kerf += lost;
        cuts.waste += left;
    }
    cuts
}

/// The sticks, and a bound on how many there must be. `pieces` fall and fit into a stick.
fn fewest(pieces: &[u64], stick: u64, kerf: u64) -> (Vec<Vec<u64>>, usize) {
    let mut simple = best_fit(pieces, stick, kerf);
    let Some(found) = search(pieces, stick, kerf) else {
        // Longer or more than can be searched: the length alone is the bound.
        let needed: u128 = pieces.iter().map(|p| u128::from(p + kerf)).sum();
        let bound = needed.div_ceil(u128::from((stick + kerf).max(1)));
        return (simple, bound as usize);
    };
    let bound = found.bound as usize;
    // Where best fit does as well its sticks are kept: they leave the larger offcuts.
    if found
        .cuts
        .iter()
        .map(|cut| cut.times as usize)
        .sum::<usize>()
        < simple.len()
    {
        simple = Vec::new();
        for cut in &found.cuts {
            let list = cut.pieces.iter();
            let mut one: Vec<u64> = list
                .flat_map(|(piece, count)| std::iter::repeat_n(pieces[*piece], *count as usize))
                .collect();
            one.sort_unstable_by(|a, b| b.cmp(a));
            simple.extend(std::iter::repeat_n(one, cut.times as usize));
        }
        simple.sort_unstable_by(|a, b| b.cmp(a));
    }
    (simple, bound)
}

fn search(pieces: &[u64], stick: u64, kerf: u64) -> Option<Solution> {
    let pieces = pieces.iter().map(|length| Piece {
        length: *length,
        count: 1,
    });
    let problem = Problem::new(pieces.collect(), vec![Stock::new(stick, 1)], kerf).ok()?;
    solve(&problem, LIMITS, &|_| ControlFlow::Continue(())).ok()
}

fn split_long(pieces: &[u64], stick: u64, cuts: &mut Cuts) -> Vec<u64> {
    let mut rest = Vec::with_capacity(pieces.len());
    for &piece in pieces.iter().filter(|p| **p > 0) {
        let whole = (piece - 1) / stick;
        cuts.joints += whole as usize;
        cuts.sticks.extend((0..whole).map(|_| vec![stick]));
        rest.push(piece - whole * stick);
    }
    rest
}

/// Puts each piece into the stick with the least room that still takes it; of equals, the first.
fn best_fit(pieces: &[u64], stick: u64, kerf: u64) -> Vec<Vec<u64>> {
    let mut sticks: Vec<Vec<u64>> = Vec::new();
    let mut room: BTreeSet<(u64, usize)> = BTreeSet::new();
    for &piece in pieces {
        let takes = piece + kerf;
        let (had, index) = match room.range((takes, 0)..).next().copied() {
            Some(place) => {
                room.remove(&place);
                place
            }
            None => {
                sticks.push(Vec::new());
                (stick + kerf, sticks.len() - 1)
            }
        };
        sticks[index].push(piece);
        room.insert((had - takes, index));
    }
    sticks
}

/// Kerf and offcut of one stick.
fn remainder(pieces: &[u64], stick: u64, kerf: u64) -> (u64, u64) {
    let used: u64 = pieces.iter().sum();
    let between = kerf * (pieces.len() as u64 - 1);
    let after = stick - used - between;
    let last = after.min(kerf);
    (between + last, after - last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_piece_of_two_and_a_half_sticks_takes_two_couplings() {
        let cuts = cut(&[2500], 1000, 3);
        assert_eq!(cuts.sticks, [vec![1000], vec![1000], vec![500]]);
        assert_eq!((cuts.joints, cuts.kerf, cuts.waste), (2, 3, 497));
        assert_eq!(cuts.bound, 3);
    }

    #[test]
    fn the_last_cut_may_fall_on_the_end_of_the_stick() {
        assert_eq!(cut(&[498, 499], 1000, 3).sticks.len(), 1);
        assert_eq!(cut(&[499, 499], 1000, 3).sticks.len(), 2);
        let cuts = cut(&[498, 497], 1000, 3);
        assert_eq!((cuts.kerf, cuts.waste), (5, 0));
    }

    #[test]
    fn no_pieces_and_no_stick_are_no_trouble() {
        assert_eq!(cut(&[], 0, 3), Cuts::default());
        assert_eq!(cut(&[5, 3], 0, 0).sticks, [vec![5], vec![3]]);
    }

    proptest! {
        #[test]
        fn lengths_in_are_lengths_out(
            pieces in prop::collection::vec(1u64..30_000, 0..60),
            stick in 1_000u64..10_000,
            kerf in 0u64..10,
        ) {
            let cuts = cut(&pieces, stick, kerf);
            let needed: u64 = pieces.iter().sum();
            let cut_out: u64 = cuts.sticks.iter().flatten().sum();
            prop_assert_eq!(needed, cut_out);
            prop_assert_eq!(stick * cuts.sticks.len() as u64, needed + cuts.kerf + cuts.waste);
            for one in &cuts.sticks {
                let with_kerf: u64 = one.iter().map(|p| p + kerf).sum();
                prop_assert!(with_kerf <= stick + kerf && !one.is_empty());
            }
            prop_assert_eq!(cuts.sticks.iter().flatten().count(), pieces.len() + cuts.joints);
            prop_assert!(cuts.bound <= cuts.sticks.len());
            let whole: usize = pieces.iter().map(|p| ((p - 1) / stick) as usize).sum();
            let mut rest = split_long(&pieces, stick, &mut Cuts::default());
            rest.sort_unstable_by(|a, b| b.cmp(a));
            prop_assert!(cuts.sticks.len() <= whole + best_fit(&rest, stick, kerf).len());
        }
    }
}
