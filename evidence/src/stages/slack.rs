//! The growing and shrinking of pipe, and the bows that take it up.

use anyhow::{Context, Result, bail};
use digging::slack;
use job::Practice;
use job::practice::PipeMaterial;
use quantity::{Expansion, Ratio};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("length change of pipe", length_change),
    ("offset of a bow", offset),
    ("bow in a trench", bow),
    ("radius of a bow", radius),
];

/// Kelvins in a degree Fahrenheit.
const PER_FAHRENHEIT: f64 = 5.0 / 9.0;

fn length_change(inputs: &Inputs) -> Result<Value> {
    let expansion = expansion(inputs)?;
    Ok(Value::of(slack::length_change(
        expansion,
        inputs.get("length")?,
        kelvins(inputs)?,
    )))
}

fn offset(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(slack::offset(inputs.get("bow")?, share(inputs)?)))
}

fn bow(inputs: &Inputs) -> Result<Value> {
    let bow = slack::bow_in(inputs.get("room")?, share(inputs)?);
    Ok(Value::of(bow.context("nothing is to be taken up")?))
}

fn radius(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(slack::radius(
        inputs.get("bow")?,
        inputs.get("offset")?,
    )))
}

fn share(inputs: &Inputs) -> Result<Ratio> {
    Ok(Ratio::one(expansion(inputs)?.to_per_c() * kelvins(inputs)?))
}

/// A given one, or that of a material in the practice.
fn expansion(inputs: &Inputs) -> Result<Expansion> {
    let material = match inputs.optional("material") {
        None => return inputs.get("expansion"),
        Some("pvc") => PipeMaterial::Pvc,
        Some("pe") => PipeMaterial::Pe,
        Some("copper") => PipeMaterial::Copper,
        Some("steel") => PipeMaterial::Steel,
        Some(other) => bail!("there is no material \"{other}\"; one of pvc, pe"),
    };
    Ok(Practice::embedded().expansion.of(material).value)
}

fn kelvins(inputs: &Inputs) -> Result<f64> {
    match inputs.optional("fahrenheit") {
        Some(_) => Ok(inputs.number::<f64>("fahrenheit")? * PER_FAHRENHEIT),
        None => inputs.number("kelvins"),
    }
}
