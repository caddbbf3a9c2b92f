//! What stones may do to pipe that is pulled past them.
//!
//! Not a model: nothing published leads from the stones in a soil to the depth of a scratch. The
//! limits are a table of custom (`practice pull.stones`), against which the published limit of the
//! scratch itself stands (`practice pull.scratch`).

use crate::contents::Layout;
use job::Job;
use job::practice::PullStones;
use quantity::{Amount, Length, Ratio, Style};
use routes::StretchGround;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How much of a risk stones are, from the least on.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Scoring {
    /// Hardly a stone.
    Clean,
    /// Stones are few but there.
    Few,
    /// Too many or too large.
    Many,
}

impl Scoring {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Clean => "hardly a stone beside the pipe",
            Self::Few => "few stones, but they may score the pipe",
            Self::Many => "too many or too large stones to pull pipe past them",
        }
    }
}

/// The grade of a soil for pipe of a wall: by the content of coarse fragments, and by the largest
/// stone where its size is known. A single large stone in clean soil counts as few.
pub fn grade(
    rules: &PullStones,
    coarse: Ratio,
    largest: Option<Length>,
    wall: Option<Length>,
) -> Scoring {
    let by_content = step(coarse, rules.clean_to.value, rules.few_to.value);
    let size = match (largest, wall) {
        (Some(stone), Some(wall)) if coarse > Ratio::ZERO => Ratio::one(stone / wall),
        _ => return by_content,
    };
    let by_size = step(
        size,
        rules.small_over_wall.value,
        rules.large_over_wall.value,
    );
    match by_content {
        Scoring::Clean => by_size.min(Scoring::Few),
        _ => by_size.max(by_content),
    }
}

fn step(value: Ratio, clean_to: Ratio, few_to: Ratio) -> Scoring {
    if value <= clean_to {
        Scoring::Clean
    } else if value <= few_to {
        Scoring::Few
    } else {
        Scoring::Many
    }
}

/// The thinnest wall of the pipes in a stretch, if walls are known.
pub(crate) fn thinnest(layout: &Layout) -> Option<Length> {
    layout
        .placed
        .iter()
        .filter_map(|(t, _)| Some(t.tube?.wall(t.outside)))
        .min_by(Length::total_cmp)
}

/// The grade of a stretch. No survey gives the size of stones yet.
pub(crate) fn of_stretch(job: &Job, ground: &StretchGround, layout: &Layout) -> Scoring {
    let rules = &job.practice.pull.stones;
    grade(rules, ground.soil.coarse, None, thinnest(layout))
}

/// Why pipe is not pulled past these stones, if so.
pub(crate) fn objection(job: &Job, ground: &StretchGround, layout: &Layout) -> Option<String> {
    let few_to = job.practice.pull.stones.few_to.value;
    (of_stretch(job, ground, layout) == Scoring::Many).then(|| {
        format!(
            "pipe is pulled past {} stones by volume at most, here {}: they would score it",
            percent(job, few_to),
            percent(job, ground.soil.coarse)
        )
    })
}

pub(crate) fn percent(job: &Job, ratio: Ratio) -> String {
    Amount::new(ratio.to_one(), Style::Percent).show(job.units)
}
