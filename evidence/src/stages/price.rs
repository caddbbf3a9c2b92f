//! Overhead, margin and markup, the loaded hour, and the price book.

use anyhow::{Context, Result};
use job::{MethodId, PriceBook, ProfitBy};
use price::{Added, add, allocate, margin_of, markup_of};
use quantity::{Length, Money, Ratio};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("price", price),
    ("margin", margin),
    ("price by markup", price_by_markup),
    ("profit by markup", profit_by_markup),
    ("markup of a margin", markup),
    ("margin of a markup", margin_share),
    ("loaded hour", loaded_hour),
    ("share by largest remainder", share),
    ("narrowest cut", narrowest_cut),
];

fn of(inputs: &Inputs, by: ProfitBy, share: &str) -> Result<Added> {
    let cost = Money::from_units(inputs.number("cost")?);
    Ok(add(cost, inputs.get("overhead")?, by, inputs.get(share)?))
}

/// In units of the currency.
fn price(inputs: &Inputs) -> Result<Value> {
    let added = of(inputs, ProfitBy::Margin, "margin")?;
    Ok(Value::number(added.total.to_units()))
}

/// In units of the currency.
fn margin(inputs: &Inputs) -> Result<Value> {
    let added = of(inputs, ProfitBy::Margin, "margin")?;
    Ok(Value::number(added.profit.to_units()))
}

/// In units of the currency.
fn price_by_markup(inputs: &Inputs) -> Result<Value> {
    let added = of(inputs, ProfitBy::Markup, "markup")?;
    Ok(Value::number(added.total.to_units()))
}

/// In units of the currency.
fn profit_by_markup(inputs: &Inputs) -> Result<Value> {
    let added = of(inputs, ProfitBy::Markup, "markup")?;
    Ok(Value::number(added.profit.to_units()))
}

fn markup(inputs: &Inputs) -> Result<Value> {
    let markup = markup_of(inputs.get("margin")?);
    Ok(Value::of(
        markup.context("a margin of 100 % has no markup")?,
    ))
}

fn margin_share(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(margin_of(inputs.get::<Ratio>("markup")?)))
}

/// In units of the currency.
fn loaded_hour(inputs: &Inputs) -> Result<Value> {
    let mut labour = PriceBook::embedded().labour;
    labour.wage.value = Money::from_units(inputs.number("wage")?);
    labour.burden.value = inputs.get("burden")?;
    Ok(Value::number(labour.hour().to_units()))
}

/// What one of several weights gets of a whole number of things.
fn share(inputs: &Inputs) -> Result<Value> {
    let weights: Vec<Money> = inputs
        .text("weights")?
        .split_whitespace()
        .map(|weight| weight.parse().map(Money::cents))
        .collect::<Result<_, _>>()?;
    let things = inputs.number("whole")?;
    let of = inputs.number("of")? as usize;
    let parts = allocate(Money::cents(things as i64), &weights);
    let part = of.checked_sub(1).and_then(|place| parts.get(place));
    let part = part.context("there is no such weight")?;
    Ok(Value::number(part.to_cents() as f64))
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
