//! Slack for the growing and shrinking of pipe.
//!
//! Pipe laid warm shrinks when the ground cools. It is laid from side to side of the trench in flat
//! bows, so that it can draw straight instead of pulling at its joints:
//!
//! ```text
//!    ┌──────────────── trench side ────────────────┐
//!      ╭──────╮               ╭──────╮       offset
//!    ──╯      ╰───────┬───────╯      ╰──────
//!    │←────── bow ───→│
//! ```

use crate::contents::Layout;
use crate::section::Cut;
use job::Practice;
use quantity::{Expansion, Length, Ratio};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How one pipe is laid for its growing and shrinking.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Slack {
    /// Index into the network's lines.
    pub line: usize,
    /// The pipe, in words.
    pub what: String,
    /// Length that the pipe of the stretch loses as it cools, and that is laid in more.
    pub added: Length,
    /// Length of one bow.
    pub bow: Length,
    /// How far the middle of a bow is from the straight line between its ends.
    pub offset: Length,
    /// How far the trench lets it go from side to side.
    pub room: Length,
    /// Whether a bow has room without being bent sharper than the pipe bears.
    pub fits: bool,
}

/// Change of a pipe's length: α L ΔT.
pub fn length_change(expansion: Expansion, length: Length, kelvins: f64) -> Length {
    length * (expansion.to_per_c() * kelvins)
}

/// Offset of a flat bow that is longer by a share than the straight line: L √(3/8 · share), from the
/// length of a flat parabola, ΔL/L = (8/3)(h/L)².
pub fn offset(bow: Length, share: Ratio) -> Length {
    bow * steepness(share)
}

/// Length of the bow whose offset is `room`; `None` where nothing is to be taken up.
pub fn bow_in(room: Length, share: Ratio) -> Option<Length> {
    let steepness = steepness(share);
    (steepness > 0.0).then(|| room.max(Length::ZERO) * (1.0 / steepness))
}

/// Radius in the middle of a flat parabola: L²/(8 h); endless for a straight one.
pub fn radius(bow: Length, offset: Length) -> Length {
    bow * (bow / (offset * 8.0))
}

fn steepness(share: Ratio) -> f64 {
    (share.to_one().max(0.0) * 3.0 / 8.0).sqrt()
}

/// How far what lies on the floor of a cut may go from side to side: the width less what the things
/// take up with the gaps between them.
pub fn room(practice: &Practice, layout: &Layout, cut: &Cut) -> Length {
    let taken = layout.width - practice.cut.gap_at_side.value * 2.0;
    (cut.width - taken).max(Length::ZERO)
}

/// The slack of every pipe in a stretch of a length; none where no trench is opened, since pipe that
/// is pulled in cannot be laid in bows.
///
/// A bow is as long as the practice has it, or shorter where the trench is too narrow for that; the
/// pipes of a trench go from side to side together.
pub fn slacks(practice: &Practice, layout: &Layout, cut: &Cut, length: Length) -> Vec<Slack> {
    if !cut.is_open() {
        return Vec::new();
    }
    let room = room(practice, layout, cut);
    let rules = &practice.expansion;
    let pipes = layout
        .placed
        .iter()
        .filter_map(|(t, _)| Some((t, t.material?)));
    pipes
        .map(|(thing, material)| {
            let expansion = rules.of(material).value;
            let share = Ratio::one(expansion.to_per_c() * rules.cooling());
            let longest = bow_in(room, share).unwrap_or(rules.bow.value);
            let bow = rules.bow.value.min(longest);
            let offset = offset(bow, share);
            let least = thing.outside * rules.bend(material).value.to_one();
            let straight = offset <= Length::ZERO && share.to_one() <= 0.0;
            Slack {
                line: thing.line,
                what: thing.what.clone(),
                added: length_change(expansion, length, rules.cooling()),
                bow,
                offset,
                room,
                fits: straight || radius(bow, offset) >= least,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Length of the parabola over a bow, in straight pieces.
    fn laid(bow: f64, offset: f64) -> f64 {
        const PIECES: u32 = 2_000;
        let height = |i: u32| {
            let share = f64::from(i) / f64::from(PIECES);
            4.0 * offset * share * (1.0 - share)
        };
        let run = bow / f64::from(PIECES);
        (0..PIECES)
            .map(|i| run.hypot(height(i + 1) - height(i)))
            .sum()
    }

    proptest! {
        #[test]
        fn a_bow_takes_up_what_the_pipe_loses(bow in 0.5..20.0, share in 1e-5..5e-3) {
            let offset = offset(Length::m(bow), Ratio::one(share)).to_m();
            let more = laid(bow, offset) / bow - 1.0;
            prop_assert!((more / share - 1.0).abs() < 0.01, "{more} {share}");
        }

        #[test]
        fn a_bow_in_a_room_fills_it(room in 0.01..0.5, share in 1e-5..5e-3) {
            let share = Ratio::one(share);
            let bow = bow_in(Length::m(room), share).unwrap();
            prop_assert!((offset(bow, share).to_m() - room).abs() < 1e-9);
        }

        #[test]
        fn more_cooling_wants_more_slack(length in 1.0..100.0, kelvins in 0.0..40.0, more in 0.0..40.0) {
            let practice = crate::fixture::practice();
            let expansion = practice.expansion.of(job::practice::PipeMaterial::Pe).value;
            let length = Length::m(length);
            let less = length_change(expansion, length, kelvins);
            prop_assert!(length_change(expansion, length, kelvins + more) >= less);
        }
    }
}
