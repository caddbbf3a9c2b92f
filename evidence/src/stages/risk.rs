//! Distributions over three points, quantiles, days that chance takes, shares of a variance.

use anyhow::{Result, bail};
use job::practice::Shape;
use risk::sample::binomial;
use risk::{Spread, statistics};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("mean of three points", mean),
    ("variance of three points", variance),
    ("quantile of three points", quantile),
    ("quantile of a sample", of_sample),
    ("binomial quantile", lost),
    ("correlation ratio squared", ratio),
    ("correlation ratio without bias", unbiased),
];

fn spread(inputs: &Inputs) -> Result<Spread> {
    let shape = match inputs.text("shape")? {
        "triangular" => Shape::Triangular,
        "pert" => Shape::Pert,
        other => bail!("there is no shape \"{other}\""),
    };
    Ok(Spread::new(
        inputs.number("low")?,
        inputs.number("likely")?,
        inputs.number("high")?,
        shape,
    ))
}

fn mean(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(spread(inputs)?.mean()))
}

fn variance(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(spread(inputs)?.variance()))
}

fn quantile(inputs: &Inputs) -> Result<Value> {
    let value = spread(inputs)?.quantile(inputs.number("chance")?);
    Ok(Value::number(value))
}

fn of_sample(inputs: &Inputs) -> Result<Value> {
    let mut values = inputs.numbers("values")?;
    values.sort_by(f64::total_cmp);
    let found = statistics::quantile(&values, inputs.number("chance")?);
    Ok(Value::number(found))
}

fn lost(inputs: &Inputs) -> Result<Value> {
    let found = binomial(
        inputs.number("tries")?,
        inputs.number("success")?,
        inputs.number("chance")?,
    );
    Ok(Value::number(f64::from(found)))
}

/// Values of each cell, the cells separated by `|`; the cell of each value, and all values.
fn cells(inputs: &Inputs) -> Result<(Vec<usize>, Vec<f64>)> {
    let (mut cells, mut values) = (Vec::new(), Vec::new());
    for (cell, part) in inputs.text("cells")?.split('|').enumerate() {
        for word in part.split_whitespace() {
            cells.push(cell);
            values.push(word.parse()?);
        }
    }
    Ok((cells, values))
}

fn ratio(inputs: &Inputs) -> Result<Value> {
    let (cells, values) = cells(inputs)?;
    Ok(Value::number(
        statistics::correlation_ratio(&cells, &values).0,
    ))
}

/// As a share is told: the cells' numbers stand for the layers of one quantity.
fn unbiased(inputs: &Inputs) -> Result<Value> {
    let (cells, values) = cells(inputs)?;
    let most = cells.iter().max().map_or(1, |last| last + 1) as f64;
    let standings: Vec<f64> = cells
        .iter()
        .map(|cell| (*cell as f64 + 0.5) / most)
        .collect();
    Ok(Value::number(statistics::explained(&[&standings], &values)))
}
