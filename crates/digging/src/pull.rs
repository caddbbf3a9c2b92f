//! Pulling pipe in behind the blade of a vibratory plow: what the pipe stands, how far one pull
//! goes, what stones do to it, and the pits that it takes.
//!
//! ```text
//!   pit            tap             joint            pit
//!   ▐▌═══════════════▐▌═══════════════▐▌══════════════▐▌
//!   feed in        head or branch   coil ends or     take off
//!                                   tension is used up
//! ```
//!
//! A pull begins and ends in a pit. Heads and branches along it are pits too, but the pipe goes on
//! through them. Where what lies in the trench changes, where the route turns sharper than pipe and
//! machine bend, where a coil ends and where the tension would be too great, a pull ends.
//!
//! What always holds: a longer pull is never under less tension; more or larger stones never make a
//! pull more feasible; a larger pipe of the same dimension ratio is never bent tighter.
//!
//! What is left out: tension in wire and cable that is pulled in beside pipe. What is approximate is
//! told by each figure.

pub(crate) mod figures;
pub(crate) mod findings;
pub(crate) mod lay;
mod pits;
pub mod precautions;
pub mod scoring;
pub mod strength;
#[cfg(test)]
mod tests;
mod track;

pub use precautions::Precaution;
pub use scoring::Scoring;

use crate::Dig;
use crate::contents::Layout;
use job::prices::MethodKind;
use job::{Job, Method, Place};
use quantity::{Area, Duration, Force, Length, Money, Ratio, Volume};
use routes::{NodeId, StretchGround};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use strength::Strand;

/// How pipe is pulled in on one stretch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Pull {
    /// The pipes, from the one that is nearest to its allowable tension on; empty where only wire or
    /// cable lies.
    pub pipes: Vec<PulledPipe>,
    /// Length of the longest pull that passes here, from pit to pit.
    pub length: Length,
    /// The longest pull that tension and coils allow to what lies here; `None` without pipe.
    pub longest_pull: Option<Length>,
    /// Least radius of a bend: the larger of what the pipes and the machine allow.
    pub least_radius: Length,
    /// What stones may do to the pipe.
    pub scoring: Scoring,
    /// The same in words.
    pub scoring_words: String,
    /// What may be done about stones, with what risk is left.
    pub precautions: Vec<Precaution>,
    /// Pits of this stretch; those at its ends are shared with other pulled stretches.
    pub pits: Vec<Pit>,
    /// Time to dig and fill this stretch's share of the pits by hand.
    pub pit_hours: Duration,
    /// What its share of the pits costs.
    pub pit_cost: Money,
}

impl Pull {
    /// Area at grade of its share of the pits.
    pub fn pit_area(&self) -> Area {
        area(&self.pits)
    }
}

/// Area at grade of shares of pits.
pub(crate) fn area(pits: &[Pit]) -> Area {
    let areas = pits.iter().map(|p| p.length * p.width * p.share.to_one());
    areas.sum()
}

/// One pipe that is pulled in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PulledPipe {
    /// Index into the network's lines.
    pub line: usize,
    /// In words, such as `lateral C1 1 in`.
    pub what: String,
    /// Tension at the end of the hardest pull that passes here.
    pub tension: Force,
    /// Tension that the pipe stands.
    pub allowable: Force,
    /// The longest straight pull that tension and coil allow.
    pub longest_pull: Length,
    /// Least radius to which the pipe may be bent.
    pub bend_radius: Length,
    /// Wall thickness.
    pub wall: Length,
    /// Deepest scratch that the wall may have.
    pub scratch: Length,
}

/// A pit of pulled pipe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Pit {
    /// Where.
    pub at: Place,
    /// The node that it lies at, if it does.
    pub node: Option<NodeId>,
    /// What for.
    pub kind: PitKind,
    /// Length along the trench.
    pub length: Length,
    /// Width.
    pub width: Length,
    /// Depth from grade.
    pub depth: Length,
    /// Volume in place of the whole pit.
    pub bank: Volume,
    /// The stretch's share of it.
    pub share: Ratio,
}

/// What a pit is for, from the smallest pit on.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum PitKind {
    /// A head or branch along a pull.
    Tap,
    /// A coil ends.
    Joint,
    /// The tension would be too great beyond.
    Tension,
    /// A turn sharper than pipe and machine bend.
    Turn,
    /// A pull begins or ends, or what lies in the trench changes.
    End,
}

impl PitKind {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Tap => "head or branch",
            Self::Joint => "joint of coils",
            Self::Tension => "tension",
            Self::Turn => "sharp turn",
            Self::End => "begin or end of a pull",
        }
    }
}

/// The pits of all stretches, each once.
pub(crate) fn distinct(digs: &[Dig]) -> Vec<&Pit> {
    let mut nodes = BTreeSet::new();
    digs.iter()
        .filter_map(|d| d.pull.as_ref())
        .flat_map(|p| &p.pits)
        .filter(|pit| pit.node.is_none_or(|node| nodes.insert(node)))
        .collect()
}

/// What speaks against pulling in what lies in a stretch; empty for other methods.
pub(crate) fn objections(
    job: &Job,
    method: &Method,
    ground: &StretchGround,
    layout: &Layout,
) -> Vec<String> {
    if method.kind != MethodKind::Pull || !layout.has_pipe() {
        return Vec::new();
    }
    let mut why: Vec<String> = scoring::objection(job, ground, layout)
        .into_iter()
        .collect();
    let least = least_pull(job, method);
    for strand in strength::strands(job, ground.slope, layout) {
        why.extend(strand_objection(job, &strand, least));
    }
    why
}

fn strand_objection(job: &Job, strand: &Strand, least: Length) -> Option<String> {
    if strand.bend_radius.is_none() {
        return Some(format!(
            "no bend radius stands in the practice for the dimension ratio of {}, {}",
            strand.what,
            strand.dimension_ratio.amount().show(job.units)
        ));
    }
    let tension = strand.straight(least);
    (tension > strand.allowable).then(|| {
        format!(
            "pits would be nearer than {}: so far a pull puts {} on {}, which stands {}",
            least.amount().show(job.units),
            tension.amount().show(job.units),
            strand.what,
            strand.allowable.amount().show(job.units)
        )
    })
}

/// A pull shorter than this is no pull: pits would run into one another.
const SHORTEST_PULL: Length = Length::m(1.0);

/// The shortest pull for which a machine starts between two pits.
pub(crate) fn least_pull(job: &Job, method: &Method) -> Length {
    let pit = job.practice.pull.pit.end_length.value;
    method.shortest_run.value.max(pit).max(SHORTEST_PULL)
}
