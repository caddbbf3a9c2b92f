//! Friction, velocity, surge, fittings, water.

use anyhow::Result;
use hydraulics::{Water, cold, friction, minor, supply, surge};
use job::Practice;
use quantity::{Celsius, Flow, Length, Pressure, Ratio, Velocity};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("velocity", velocity),
    ("flow at velocity", flow_at_velocity),
    ("Hazen-Williams head", hazen_williams_head),
    ("Hazen-Williams pressure", hazen_williams_pressure),
    ("Reynolds number", reynolds),
    ("friction factor", friction_factor),
    ("Darcy-Weisbach head", darcy_weisbach_head),
    ("Darcy-Weisbach pressure", darcy_weisbach_pressure),
    ("surge", surge_pressure),
    ("wave speed", wave_speed),
    ("dimension ratio", dimension_ratio),
    ("minor loss head", minor_loss_head),
    ("source pressure", source_pressure),
    ("water density", density),
    ("water viscosity", viscosity),
    ("pressure of head", pressure_of_head),
    ("Stefan depth", stefan_depth),
];

/// The freezing index is that of the ground's surface.
fn stefan_depth(inputs: &Inputs) -> Result<Value> {
    let latent = cold::latent_heat(inputs.get("dry")?, inputs.get("water")?);
    let depth = cold::stefan(inputs.get("conductivity")?, inputs.get("index")?, latent);
    Ok(Value::of(depth))
}

fn velocity(inputs: &Inputs) -> Result<Value> {
    let (flow, inside) = (inputs.get("flow")?, inputs.get("inside")?);
    Ok(Value::of(friction::velocity(flow, inside)))
}

fn flow_at_velocity(inputs: &Inputs) -> Result<Value> {
    let (velocity, inside) = (inputs.get("velocity")?, inputs.get("inside")?);
    Ok(Value::of(friction::flow_at(velocity, inside)))
}

fn hazen_williams(inputs: &Inputs) -> Result<Length> {
    let c = Ratio::one(inputs.number("c")?);
    Ok(friction::hazen_williams(
        inputs.get("length")?,
        inputs.get("flow")?,
        inputs.get("inside")?,
        c,
    ))
}

fn hazen_williams_head(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(hazen_williams(inputs)?))
}

/// With the water of the practice.
fn hazen_williams_pressure(inputs: &Inputs) -> Result<Value> {
    let water = Water::at(Practice::embedded().water.temperature.value);
    Ok(Value::of(water.pressure_of(hazen_williams(inputs)?)))
}

fn water(inputs: &Inputs) -> Result<Water> {
    Ok(Water {
        density_kg_m3: inputs.number("kg_m3")?,
        viscosity_pa_s: inputs.number("pa_s")?,
    })
}

fn reynolds(inputs: &Inputs) -> Result<Value> {
    let (flow, inside) = (inputs.get("flow")?, inputs.get("inside")?);
    Ok(Value::number(friction::reynolds(
        flow,
        inside,
        water(inputs)?,
    )))
}

fn friction_factor(inputs: &Inputs) -> Result<Value> {
    let (roughness, inside): (Length, Length) = (inputs.get("roughness")?, inputs.get("inside")?);
    let factor = friction::friction_factor(inputs.number("reynolds")?, roughness / inside);
    Ok(Value::number(factor))
}

fn darcy_weisbach(inputs: &Inputs) -> Result<(Length, Water)> {
    let water = water(inputs)?;
    let head = friction::darcy_weisbach(
        inputs.get("length")?,
        inputs.get("flow")?,
        inputs.get("inside")?,
        inputs.get("roughness")?,
        water,
    );
    Ok((head, water))
}

fn darcy_weisbach_head(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(darcy_weisbach(inputs)?.0))
}

fn darcy_weisbach_pressure(inputs: &Inputs) -> Result<Value> {
    let (head, water) = darcy_weisbach(inputs)?;
    Ok(Value::of(water.pressure_of(head)))
}

fn wave(inputs: &Inputs) -> Result<Velocity> {
    let bulk = Practice::embedded().water.bulk_modulus.value;
    let modulus: Pressure = inputs.get("modulus")?;
    Ok(surge::wave_speed(
        bulk,
        modulus,
        Ratio::one(inputs.number("ratio")?),
    ))
}

/// With the water and the bulk modulus of the practice.
fn surge_pressure(inputs: &Inputs) -> Result<Value> {
    let water = Water::at(Practice::embedded().water.temperature.value);
    let stopped = inputs.get("stopped")?;
    Ok(Value::of(surge::joukowsky(water, wave(inputs)?, stopped)))
}

fn wave_speed(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(wave(inputs)?))
}

fn dimension_ratio(inputs: &Inputs) -> Result<Value> {
    let (outside, inside) = (inputs.get("outside")?, inputs.get("inside")?);
    Ok(Value::of(surge::dimension_ratio(outside, inside)))
}

fn minor_loss_head(inputs: &Inputs) -> Result<Value> {
    let water = Water::at(Practice::embedded().water.temperature.value);
    let loss = minor::loss(inputs.number("k")?, inputs.get("velocity")?, water);
    Ok(Value::of(water.head_of(loss)))
}

fn source_pressure(inputs: &Inputs) -> Result<Value> {
    let flow: Flow = inputs.get("flow")?;
    Ok(Value::of(supply::source_pressure(
        inputs.get("static")?,
        inputs.get("residual")?,
        inputs.get("test_flow")?,
        flow,
    )))
}

fn at(inputs: &Inputs) -> Result<Water> {
    Ok(Water::at(inputs.get::<Celsius>("temperature")?))
}

/// In kg/m³.
fn density(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(at(inputs)?.density_kg_m3))
}

/// In mPa·s.
fn viscosity(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(at(inputs)?.viscosity_pa_s * 1e3))
}

fn pressure_of_head(inputs: &Inputs) -> Result<Value> {
    let water = at(inputs)?;
    Ok(Value::of(water.pressure_of(inputs.get("head")?)))
}
