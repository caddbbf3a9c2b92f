//! Sticks, couplings, elbows, bends.

use anyhow::{Context, Result, bail};
use hydraulics::minor;
use job::Practice;
use quantity::{Angle, Length};
use takeoff::cutting::{Cuts, cut};
use takeoff::{Rule, least_bend};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("sticks", sticks),
    ("couplings in a piece", couplings),
    ("elbow for a turn", elbow),
    ("least bend radius", least_radius),
    ("straight pipe that a bend takes", tangent),
    ("how far a bend leaves its corner", off_corner),
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

fn least_radius(inputs: &Inputs) -> Result<Value> {
    let practice = Practice::embedded();
    let radius = least_bend(&practice, inputs.get("outside")?, inputs.get("dr")?);
    Ok(Value::of(radius.context("beyond the table")?))
}

/// A bend of a radius that may go any distance from its corner.
fn bend(inputs: &Inputs) -> Result<(Rule, f64)> {
    let radius: Length = inputs.get("radius")?;
    let turn: Angle = inputs.get("turn")?;
    let rule = Rule {
        radius: radius.to_m(),
        corner: f64::INFINITY,
    };
    Ok((rule, turn.to_rad()))
}

fn tangent(inputs: &Inputs) -> Result<Value> {
    let (rule, turn) = bend(inputs)?;
    let tangent = rule.tangent(turn).context("no bend turns back")?;
    Ok(Value::of(Length::m(tangent)))
}

fn off_corner(inputs: &Inputs) -> Result<Value> {
    let (rule, turn) = bend(inputs)?;
    Ok(Value::of(Length::m(rule.off_corner(turn))))
}
