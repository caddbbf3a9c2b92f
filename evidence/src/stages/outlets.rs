//! The factor by which friction falls in a lateral with equal outlets.

use anyhow::{Result, bail};
use hydraulics::outlets;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[("multiple-outlet factor", factor)];

fn factor(inputs: &Inputs) -> Result<Value> {
    let (outlets, exponent) = (inputs.number("outlets")?, inputs.number("exponent")?);
    let factor = match inputs.text("form")? {
        "sum" => outlets::exact(outlets, exponent),
        "approximation" => outlets::christiansen(outlets, exponent),
        "half spacing" => outlets::exact_half_spacing(outlets, exponent),
        other => bail!("there is no form \"{other}\"; one of sum, approximation, half spacing"),
    };
    Ok(Value::number(factor))
}
