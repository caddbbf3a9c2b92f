//! Valve wire.

use anyhow::{Context, Result};
use hydraulics::wire;
use job::Practice;
use quantity::LinearResistance;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("gauge resistance", gauge_resistance),
    ("voltage drop", voltage_drop),
    ("longest wire", longest),
    ("pair drop", pair_drop),
    ("copper resistance", copper_resistance),
];

/// Of a gauge of the practice.
fn gauge_resistance(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(of_gauge(inputs.text("gauge")?)?))
}

fn of_gauge(name: &str) -> Result<LinearResistance> {
    let practice = Practice::embedded();
    let gauge = practice.wire.gauge.iter().find(|g| g.name == name);
    Ok(gauge
        .with_context(|| format!("the practice has no gauge \"{name}\""))?
        .resistance)
}

/// Of a gauge of the practice, or as given.
fn resistance(inputs: &Inputs) -> Result<LinearResistance> {
    match inputs.optional("gauge") {
        Some(name) => of_gauge(name),
        None => inputs.get("resistance"),
    }
}

fn voltage_drop(inputs: &Inputs) -> Result<Value> {
    let (length, current) = (inputs.get("length")?, inputs.get("current")?);
    Ok(Value::of(wire::voltage_drop(
        length,
        resistance(inputs)?,
        current,
    )))
}

fn longest(inputs: &Inputs) -> Result<Value> {
    let (drop, current) = (inputs.get("drop")?, inputs.get("current")?);
    Ok(Value::of(wire::longest(drop, resistance(inputs)?, current)))
}

/// Over an own conductor and a common of other gauge.
fn pair_drop(inputs: &Inputs) -> Result<Value> {
    let (length, current) = (inputs.get("length")?, inputs.get("current")?);
    let own = of_gauge(inputs.text("own")?)?;
    let common = of_gauge(inputs.text("common")?)?;
    Ok(Value::of(wire::pair_drop(length, (own, common), current)))
}

/// Of a gauge at a temperature.
fn copper_resistance(inputs: &Inputs) -> Result<Value> {
    let resistance = of_gauge(inputs.text("gauge")?)?;
    Ok(Value::of(wire::from_75_c(
        resistance,
        inputs.get("temperature")?,
    )))
}
