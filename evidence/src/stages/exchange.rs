//! The projection by which plans are put on the Earth.

use anyhow::{Context, Result};
use exchange::plane::{Plane, TransverseMercator};
use job::Anchor;
use quantity::Length;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("east of the origin", |inputs| Ok(projected(inputs)?.0)),
    ("north of the origin", |inputs| Ok(projected(inputs)?.1)),
    ("x in the plane", |inputs| Ok(in_plane(inputs)?.0)),
    ("y in the plane", |inputs| Ok(in_plane(inputs)?.1)),
];

fn metres((x, y): (f64, f64)) -> (Value, Value) {
    (Value::of(Length::m(x)), Value::of(Length::m(y)))
}

/// On any ellipsoid, as published examples have theirs.
fn projected(inputs: &Inputs) -> Result<(Value, Value)> {
    let projection = TransverseMercator::new(
        inputs.get::<Length>("axis")?.to_m(),
        inputs.number("inverse flattening")?,
        inputs.number("origin latitude")?,
        inputs.number("origin longitude")?,
        inputs.number("scale")?,
    );
    let projection = projection.context("there is no such projection")?;
    let place = projection.forward(inputs.number("longitude")?, inputs.number("latitude")?);
    place.map(metres).context("there is no such place")
}

/// In the plane of a job with an anchor.
fn in_plane(inputs: &Inputs) -> Result<(Value, Value)> {
    let anchor = Anchor {
        longitude: inputs.number("anchor longitude")?,
        latitude: inputs.number("anchor latitude")?,
        rotation: inputs.number("rotation")?,
        height: inputs.get("height")?,
    };
    let plane = Plane::of(&anchor).map_err(|findings| anyhow::anyhow!("{findings:?}"))?;
    let place = plane.from_geographic(inputs.number("longitude")?, inputs.number("latitude")?);
    place.map(metres).context("there is no such place")
}
