//! What closing valves do to pipe.

use anyhow::{Result, bail};
use hydraulics::{Water, derating, recurring, surge};
use job::Practice;
use job::practice::PipeMaterial;
use quantity::{Celsius, Pressure};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("share of rating kept", share),
    ("rating by stress", rating),
    ("cycles to failure", cycles),
    ("slow closing", slow_closing),
];

/// Of the default practice.
fn share(inputs: &Inputs) -> Result<Value> {
    let word = inputs.text("material")?;
    let Some(material) = PipeMaterial::ALL.into_iter().find(|m| m.key() == word) else {
        bail!("there is no material \"{word}\"");
    };
    let rules = Practice::embedded().surge;
    let rows = derating::rows(&rules, material);
    Ok(Value::of(derating::share(rows, inputs.get("temperature")?)))
}

/// The pressure that makes a stress around the wall.
fn rating(inputs: &Inputs) -> Result<Value> {
    let stress: Pressure = inputs.get("stress")?;
    let one = recurring::hoop_stress(Pressure::pa(1.0), inputs.get("ratio")?);
    Ok(Value::of(Pressure::pa(stress / one)))
}

fn cycles(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(recurring::cycles_to_failure(
        inputs.get("stress")?,
    )))
}

/// After Michaud, as a head of water at 15 °C.
fn slow_closing(inputs: &Inputs) -> Result<Value> {
    let water = Water::at(Celsius::c(15.0));
    let pipe = [(inputs.get("length")?, inputs.get("velocity")?)];
    let rise = surge::michaud(water, pipe, inputs.get("closure")?);
    Ok(Value::of(water.head_of(rise)))
}
