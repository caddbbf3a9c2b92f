//! The working of each tie.

use crate::tie::sigma;
use crate::{Distance, StakePoint, Staking, Tie};
use job::Job;
use quantity::{Amount, Length, Style};
use working::{Ledger, Working};

const FORMULA: &str = "error = √(σ₁² + σ₂²) / sin γ, σ = √((a + b·L)² / 3 + holding²), L in metres begun; the pair \
     of fixed points with the least";
const SOURCE: &str = "propagation of errors to the intersection of two arcs; limits of error over √3 after GUM, \
     JCGM 100:2008, 4.3.7 (from memory)";

pub fn put(job: &Job, staking: &Staking, ledger: &mut Ledger) {
    for point in &staking.points {
        if let Some(tie) = &point.tie {
            ledger.put(
                format!("stake.{}.tie", point.id),
                working(job, staking, point, tie),
            );
        }
    }
}

fn working(job: &Job, staking: &Staking, point: &StakePoint, tie: &Tie) -> Working {
    let practice = &job.practice.staking;
    let tape = practice.tape_error();
    let sigma = |distance: &Distance| {
        Amount::new(sigma(&job.practice, distance.length.si()), Style::Thickness)
    };
    let from = |distance: &Distance| {
        let fixed = &staking.fixed[distance.fixed];
        format!("{}, job feature {}", fixed.name, fixed.feature)
    };
    let mut working = Working::new(
        format!("expected error of the two tapes to {}", point.id),
        Amount::new(tie.error.si(), Style::Thickness),
        FORMULA,
        SOURCE,
    )
    .with("first", exact(tie.first.length), from(&tie.first))
    .with("second", exact(tie.second.length), from(&tie.second))
    .with("a", tape.fixed.value.small(), tape.fixed.origin())
    .with("b", tape.by_length.value.amount(), tape.by_length.origin())
    .with(
        "holding",
        practice.holding.value.small(),
        practice.holding.origin(),
    )
    .with("σ₁", sigma(&tie.first), "the formula, with the first")
    .with("σ₂", sigma(&tie.second), "the formula, with the second")
    .with("γ", tie.angle.amount(), "geometry")
    .with(
        "side",
        tie.side.label(),
        "seen from the first to the second",
    );
    if let Some(line) = &staking.baseline {
        working = working
            .with(
                "station",
                exact(point.station),
                format!("along {}", line.which),
            )
            .with(
                "offset",
                exact(point.offset),
                point.side.map_or("on the line", |s| s.label()),
            );
    }
    working.approximately(
        "small errors, as many to one side as to the other; fixed points are taken as exact",
    )
}

fn exact(length: Length) -> Amount {
    Amount::new(length.si(), Style::Head)
}
