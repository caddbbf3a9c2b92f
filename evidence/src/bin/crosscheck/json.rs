//! Reading the parts of a question.

use anyhow::{Context, Result};
use geo::{Coord, LineString, Polygon};
use serde_json::Value;

pub fn polygons(value: &Value) -> Result<Vec<Polygon>> {
    list(value)?.iter().map(polygon).collect()
}

pub fn polygon(value: &Value) -> Result<Polygon> {
    let corners = list(value)?
        .iter()
        .map(point)
        .collect::<Result<Vec<Coord>>>()?;
    Ok(Polygon::new(LineString::new(corners), Vec::new()))
}

pub fn point(value: &Value) -> Result<Coord> {
    Ok(Coord {
        x: number(&value[0])?,
        y: number(&value[1])?,
    })
}

pub fn number(value: &Value) -> Result<f64> {
    value
        .as_f64()
        .with_context(|| format!("{value} stands where a number should"))
}

pub fn list(value: &Value) -> Result<&Vec<Value>> {
    value
        .as_array()
        .with_context(|| format!("{value} stands where a list should"))
}
