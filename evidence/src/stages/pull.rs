//! Pulled pipe and meetings with services: tension, bends, scratches, separations.

use anyhow::{Context, Result, bail};
use digging::pull::scoring::grade;
use digging::pull::strength;
use digging::{Content, crossings};
use job::Practice;
use job::practice::{Pull, PullMaterial};
use quantity::Length;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("allowable pull", allowable_pull),
    ("tension of a pull", tension),
    ("bend radius over outside", bend_ratio),
    ("bend radius", bend_radius),
    ("scratch limit", scratch_limit),
    ("scoring by stones", scoring),
    ("separation from a service", separation),
];

/// With the factors of the practice.
fn allowable_pull(inputs: &Inputs) -> Result<Value> {
    let rules = Practice::embedded().pull;
    Ok(Value::of(strength::allowable_tension(
        inputs.get("yield")?,
        rules.yield_factor.value,
        rules.time_factor.value,
        inputs.get("outside")?,
        inputs.get("dr")?,
    )))
}

fn tension(inputs: &Inputs) -> Result<Value> {
    let legs: Vec<Length> = inputs.numbers("legs")?.into_iter().map(Length::m).collect();
    let turns = inputs.numbers("turns")?;
    let turns: Vec<quantity::Angle> = turns.into_iter().map(quantity::Angle::deg).collect();
    Ok(Value::of(strength::tension(
        inputs.get("per_metre")?,
        &legs,
        &turns,
        inputs.get("friction")?,
    )))
}

fn bend_ratio(inputs: &Inputs) -> Result<Value> {
    let rules = Practice::embedded().pull;
    let material = material(&rules, inputs)?;
    let ratio = strength::bend_ratio(&material, inputs.get("dr")?);
    Ok(Value::of(
        ratio.context("beyond the table of the practice")?,
    ))
}

fn bend_radius(inputs: &Inputs) -> Result<Value> {
    let rules = Practice::embedded().pull;
    let material = material(&rules, inputs)?;
    let (outside, dr) = (inputs.get("outside")?, inputs.get("dr")?);
    let radius = strength::bend_radius(&rules, &material, outside, dr);
    Ok(Value::of(
        radius.context("beyond the table of the practice")?,
    ))
}

/// The material of the practice; with `joints=1`, one whose joints are pulled in.
fn material(rules: &Pull, inputs: &Inputs) -> Result<PullMaterial> {
    let mut material = match inputs.text("material")? {
        "pe" => rules.pe.clone(),
        "pvc" => rules.pvc.clone(),
        other => bail!("there is no material \"{other}\"; one of pe, pvc"),
    };
    if inputs.optional("joints").is_some() {
        material.joints.value = inputs.number("joints")?;
    }
    Ok(material)
}

fn scratch_limit(inputs: &Inputs) -> Result<Value> {
    let rules = Practice::embedded().pull;
    Ok(Value::of(strength::scratch_limit(
        &rules,
        inputs.get("wall")?,
    )))
}

fn scoring(inputs: &Inputs) -> Result<Value> {
    let rules = Practice::embedded().pull.stones;
    let grade = grade(&rules, inputs.get("coarse")?, None, None);
    Ok(Value::word(format!("{grade:?}").to_lowercase()))
}

/// Of a pipe at a cover from a service at a depth, between outside faces.
fn separation(inputs: &Inputs) -> Result<Value> {
    let pipe = Content {
        line: 0,
        what: "pipe".to_owned(),
        outside: inputs.get("outside")?,
        count: 1,
        middle: Length::ZERO,
        cover: inputs.get("cover")?,
    };
    let (depth, width) = (inputs.get("depth")?, inputs.get("width")?);
    let found = crossings::separation(&[pipe], Some(depth), Some(width));
    Ok(Value::of(found.context("nothing lies there")?.clear))
}
