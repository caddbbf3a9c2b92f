//! Stones, marks, heights, and where a machine gets to.

use anyhow::{Context, Result, bail};
use geo::{Area as _, BooleanOps, Coord, Intersects, MultiPolygon, Point, unary_union};
use ground::{Relief, angle_between, eroded};
use job::{Practice, ServiceClass};
use quantity::{Area, Length};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("stones in the soil", stones),
    ("marking colour", marking_colour),
    ("elevation", elevation),
    ("slope of the ground", slope),
    ("ground reached", reached),
    ("angle between lines", angle),
];

/// The step by which the practice slows digging in soil with stones.
fn stones(inputs: &Inputs) -> Result<Value> {
    let (_, origin) = Practice::embedded().stone_factor(inputs.get("coarse")?);
    let step = ["extremely", "very", "gravelly"]
        .into_iter()
        .find(|step| origin.contains(&format!("stones.slow_{step}")));
    Ok(Value::word(step.unwrap_or("none")))
}

fn marking_colour(inputs: &Inputs) -> Result<Value> {
    use ServiceClass::{Communication, Electric, Gas, PotableWater, ReclaimedWater, Sewer};
    let name = inputs.text("service")?;
    let class = [
        Electric,
        Gas,
        Communication,
        PotableWater,
        ReclaimedWater,
        Sewer,
    ]
    .into_iter()
    .find(|class| class.label() == name)
    .with_context(|| format!("there is no service \"{name}\""))?;
    Ok(Value::word(class.colour()))
}

/// Spots in metres, `x y z, x y z`.
fn relief(inputs: &Inputs) -> Result<Relief> {
    let text = inputs.text("spots")?;
    let spots = text
        .split(',')
        .map(|spot| {
            let numbers: Vec<f64> = spot.split_whitespace().flat_map(str::parse).collect();
            match numbers.as_slice() {
                [x, y, z] => Ok((Coord { x: *x, y: *y }, *z)),
                _ => bail!("\"{}\" is not a spot, which is written x y z", spot.trim()),
            }
        })
        .collect::<Result<Vec<_>>>()?;
    Ok(Relief::new(&spots))
}

fn elevation(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(Length::m(
        relief(inputs)?.height(inputs.place("at")?),
    )))
}

fn slope(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(relief(inputs)?.slope(inputs.place("at")?)))
}

/// The area in which the middle of a machine can be that has come in at a place.
fn reached(inputs: &Inputs) -> Result<Value> {
    let half = (inputs.get::<Length>("width")? * 0.5).to_m();
    let boundary = MultiPolygon::new(inputs.polygons("boundary")?);
    let free = boundary.difference(&unary_union(&inputs.polygons("obstacles")?));
    let entrance = Point::from(inputs.place("entrance")?);
    let places = eroded(&free, half);
    let parts = places.iter().filter(|part| part.intersects(&entrance));
    Ok(Value::of(Area::m2(
        parts.map(|part| part.unsigned_area()).sum(),
    )))
}

fn angle(inputs: &Inputs) -> Result<Value> {
    let line = |key: &str| match inputs.places(key)?.as_slice() {
        [start, end] => Ok(geo::Line::new(*start, *end)),
        _ => bail!("{key} is not a line of two places"),
    };
    Ok(Value::of(angle_between(line("a")?, line("b")?)))
}
