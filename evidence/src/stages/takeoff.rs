//! Sticks, couplings, elbows.

use anyhow::{Context, Result, bail};
use hydraulics::minor;
use job::Practice;
use takeoff::cutting::{Cuts, cut};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("sticks", sticks),
    ("couplings in a piece", couplings),
    ("elbow for a turn", elbow),
];

/// Pieces in the unit of the stick, `length x count, length x count`.
fn cuts(inputs: &Inputs) -> Result<Cuts> {
    let mut pieces = Vec::new();
    for part in inputs.text("pieces")?.split(',') {
        let wrong = || format!("\"{}\" is not written length x count", part.trim());
        let (length, count) = part.split_once('x').with_context(wrong)?;
        let length: u64 = length.trim().parse().with_context(wrong)?;
        let count: usize = count.trim().parse().with_context(wrong)?;
        pieces.extend(std::iter::repeat_n(length, count));
    }
    Ok(cut(
        &pieces,
        inputs.number("stick")?,
        inputs.number("kerf")?,
    ))
}

/// How many sticks the list takes.
fn sticks(inputs: &Inputs) -> Result<Value> {
    let cuts = cuts(inputs)?;
    if cuts.sticks.iter().any(Vec::is_empty) {
        bail!("a stick is taken and nothing cut from it");
    }
    Ok(Value::number(cuts.sticks.len() as f64))
}

fn couplings(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(cuts(inputs)?.joints as f64))
}

fn elbow(inputs: &Inputs) -> Result<Value> {
    let fitting = minor::elbow(inputs.get("turn")?, &Practice::embedded().takeoff);
    Ok(Value::word(fitting.map_or("none", minor::Fitting::label)))
}
