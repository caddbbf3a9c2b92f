//! Points to mark on the ground.

use super::Report;
use crate::table::wrapped;
use quantity::{Amount, Style};

/// How many there are, from what they are measured, and how far off the worst of them may be.
pub fn text(report: &Report) -> String {
    let staking = &report.plan.staking;
    if staking.points.is_empty() {
        return String::new();
    }
    let mut words = super::many(staking.points.len(), "point", "points");
    words += " to mark (staking.csv)";
    if let Some(line) = &staking.baseline {
        words += &format!("; stations run along {}", line.which);
    }
    if let Some((point, tie)) = staking.worst() {
        let error = Amount::new(tie.error.si(), Style::Thickness);
        words += &format!(
            ". Each by two tapes; the worst tie is that of {}, with an expected error of {} \
             (spadework why JOB stake.{}.tie)",
            point.id,
            report.show(error),
            point.id
        );
    }
    match staking.untied() {
        0 => {}
        1 => words += ". One point has no tie: by station and offset",
        untied => words += &format!(". {untied} points have no tie: by station and offset"),
    }
    wrapped(&(words + "."), "  ", "  ")
}
