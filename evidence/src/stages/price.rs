//! Overhead, margin, price, and the price book.

use anyhow::{Context, Result};
use job::{MethodId, PriceBook};
use price::{Sums, sums};
use quantity::{Length, Money};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("price", price),
    ("margin", margin),
    ("narrowest cut", narrowest_cut),
];

fn of(inputs: &Inputs) -> Result<Sums> {
    let cost = Money::from_units(inputs.number("cost")?);
    Ok(sums(cost, inputs.get("overhead")?, inputs.get("margin")?))
}

/// In units of the currency.
fn price(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(of(inputs)?.total.to_units()))
}

/// In units of the currency.
fn margin(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(of(inputs)?.margin.to_units()))
}

/// Of the widths that a method of the default price book cuts.
fn narrowest_cut(inputs: &Inputs) -> Result<Value> {
    let name = inputs.text("method")?;
    let book = PriceBook::embedded();
    let method = book
        .method
        .get(&MethodId(name.to_owned()))
        .with_context(|| format!("the price book has no method \"{name}\""))?;
    let widths = method.cut_width.value.0.iter().copied();
    Ok(Value::of(
        widths.fold(Length::m(f64::INFINITY), Length::min),
    ))
}
