//! Cutting pieces from sticks or coils of one length, by best-fit decreasing.
//!
//! Lengths are whole numbers of any one unit, so that balances hold exactly. A stick holds pieces with
//! Σ (length + kerf) ≤ stick + kerf: the last cut may fall on the end of the stick.

use std::collections::BTreeSet;

/// What a cut list comes to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cuts {
    /// The pieces from each stick, the sticks in the order in which they are taken.
    pub sticks: Vec<Vec<u64>>,
    /// Couplings in pieces longer than a stick.
    pub joints: usize,
    /// Lost to the saw.
    pub kerf: u64,
    /// Left over.
    pub waste: u64,
}

/// Cuts `pieces` from sticks of length `stick`, with `kerf` lost at each cut.
///
/// A piece longer than a stick is made of whole sticks and a remainder, joined by couplings. Pieces of
/// no length are left out; a stick of no length counts as long as the longest piece.
///
/// Best-fit decreasing takes at most 11/9 of the fewest sticks that would do, and one more (Johnson,
/// Demers, Ullman, Garey and Graham 1974, from memory).
pub fn cut(pieces: &[u64], stick: u64, kerf: u64) -> Cuts {
    let stick = match stick {
        0 => pieces.iter().copied().max().unwrap_or(0),
        some => some,
    };
    let mut cuts = Cuts::default();
    let mut rest = split_long(pieces, stick, &mut cuts);
    rest.sort_unstable_by(|a, b| b.cmp(a));
    cuts.sticks.extend(best_fit(&rest, stick, kerf));
    for pieces in &cuts.sticks {
        let (lost, left) = remainder(pieces, stick, kerf);
        cuts.kerf += lost;
        cuts.waste += left;
    }
    cuts
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
        }
    }
}
