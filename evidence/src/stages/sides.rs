//! The sides of deep trenches, ways out of them, widths that are cut, heaps beside them.

use anyhow::{Context, Result};
use digging::section::{self, Cut};
use job::practice::{Sides, SidesList};
use job::{MethodId, Practice, PriceBook, Texture};
use quantity::{Length, Ratio};

use super::Quantities;
use super::digging::{soil, with_pipe};
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("width at grade", width_at_grade),
    ("bank of a trench", bank),
    ("benches", benches),
    ("ways out", ways_out),
    ("farthest from a way out", farthest),
    ("width cut", width_cut),
    ("height of a heap", heap_height),
    ("width of a heap", heap_width),
];

fn width_at_grade(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(cut(inputs)?.top_width))
}

fn bank(inputs: &Inputs) -> Result<Value> {
    let cut = cut(inputs)?;
    let length: Length = inputs.get("length")?;
    Ok(Value::of(cut.area_below(cut.depth) * length))
}

fn benches(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(f64::from(cut(inputs)?.benches)))
}

/// A trench with one pipe in soil of a type, its sides kept in one way by the rules of the practice.
fn cut(inputs: &Inputs) -> Result<Cut> {
    let mut practice = Practice::embedded();
    let sides = inputs.text("sides")?;
    let known = [Sides::Sloped, Sides::Benched, Sides::Shored];
    let sides = known.into_iter().find(|s| s.label() == sides);
    let sides = sides.context("sides are sloped, benched or shored")?;
    practice.excavation.sides.value = SidesList(vec![sides]);
    let kind = inputs.text("type")?;
    for class in practice.soil_class.values_mut() {
        kind.clone_into(&mut class.excavation_type.value);
    }
    let (depth, bottom): (Length, Length) = (inputs.get("depth")?, inputs.get("bottom")?);
    let soil = soil(Texture::Loam, Ratio::ZERO);
    Ok(with_pipe(&practice, depth, Length::inch(1.0), |layout| {
        let width = |least: Length| bottom.max(least);
        section::trenches(&practice, &soil, layout, width).0
    }))
}

fn ways_out(inputs: &Inputs) -> Result<Value> {
    let travel = Practice::embedded().excavation.egress_travel.value;
    let ways = section::ways_out(inputs.get("length")?, travel);
    Ok(Value::number(ways.len() as f64))
}

/// By the ways out of the practice, whichever place of the trench one stands at.
fn farthest(inputs: &Inputs) -> Result<Value> {
    let length = inputs.get("length")?;
    let travel = Practice::embedded().excavation.egress_travel.value;
    let ways = section::ways_out(length, travel);
    let (first, last) = (ways.first(), ways.last());
    let (first, last) = first.zip(last).context("there is no way out")?;
    let between = ways.windows(2).map(|pair| (pair[1] - pair[0]) * 0.5);
    let ends = first.max(length - *last);
    Ok(Value::of(between.fold(ends, Length::max)))
}

/// The narrowest width that a method of the price book cuts for what lies in the trench.
fn width_cut(inputs: &Inputs) -> Result<Value> {
    let id = MethodId(inputs.text("method")?.to_owned());
    let book = PriceBook::embedded();
    let method = book.method.get(&id);
    let method = method.with_context(|| format!("the price book has no method \"{}\"", id.0))?;
    let width = section::cut_width(&method.cut_width.value, inputs.get("needed")?);
    Ok(Value::of(width.context("it cuts no such width")?))
}

fn heap_height(inputs: &Inputs) -> Result<Value> {
    let (height, _) = section::windrow(inputs.get("area")?, inputs.get("repose")?);
    Ok(Value::of(height))
}

fn heap_width(inputs: &Inputs) -> Result<Value> {
    let (_, width) = section::windrow(inputs.get("area")?, inputs.get("repose")?);
    Ok(Value::of(width))
}
