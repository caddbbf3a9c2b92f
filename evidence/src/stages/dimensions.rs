//! Pipe: diameters, walls, ratings of the default practice.

use anyhow::{Context, Result};
use job::Practice;
use job::practice::PipeSize;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("pipe outside diameter", outside),
    ("pipe inside diameter", inside),
    ("pipe wall", wall),
    ("pipe rating", rating),
];

fn size(inputs: &Inputs) -> Result<PipeSize> {
    let (family, name) = (inputs.text("family")?, inputs.text("size")?);
    let practice = Practice::embedded();
    let family = practice
        .pipe
        .get(family)
        .with_context(|| format!("the practice has no pipe \"{family}\""))?;
    let size = family.sizes.iter().find(|size| size.name == name);
    Ok(size
        .with_context(|| format!("the pipe has no size \"{name}\""))?
        .clone())
}

fn outside(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(size(inputs)?.outside))
}

fn inside(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(size(inputs)?.inside))
}

fn wall(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(size(inputs)?.wall()))
}

fn rating(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(size(inputs)?.rating))
}
