//! Pressures at flows, as a maker's sheet or a test states them.

use quantity::{Flow, Pressure, ReadError};
use schemars::{Schema, SchemaGenerator, json_schema};
use serde_json::Value;

use crate::field::{Fault, Property, shown};

/// Pressures at rising flows; a single pressure, if it holds at any flow.
///
/// In the file a text: `"6 psi"`, or `"2 psi at 5 gpm, 5 psi at 10 gpm"`.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    points: Vec<(Flow, Pressure)>,
}

impl Curve {
    /// The same pressure at any flow.
    pub fn constant(pressure: Pressure) -> Self {
        Self {
            points: vec![(Flow::ZERO, pressure)],
        }
    }

    /// Through points of rising flow; `None` if there are none, or the flows do not rise from 0 on.
    pub fn through(points: Vec<(Flow, Pressure)>) -> Option<Self> {
        let rising = points.windows(2).all(|p| p[0].0 < p[1].0);
        let first = points.first()?;
        (rising && first.0 >= Flow::ZERO).then_some(Self { points })
    }

    /// The points, at least one, by rising flow.
    pub fn points(&self) -> &[(Flow, Pressure)] {
        &self.points
    }

    /// Whether it says one pressure for any flow.
    pub fn is_constant(&self) -> bool {
        self.points.len() == 1
    }

    fn parse(text: &str) -> Result<Self, String> {
        let told = |e: ReadError| e.to_string();
        if !text.contains(" at ") && !text.contains(',') {
            return Ok(Self::constant(text.parse().map_err(told)?));
        }
        let mut points: Vec<(Flow, Pressure)> = Vec::new();
        for part in text.split(',') {
            let Some((pressure, flow)) = part.split_once(" at ") else {
                return Err(format!("`{}` names no flow", part.trim()));
            };
            points.push((
                flow.trim().parse().map_err(told)?,
                pressure.trim().parse().map_err(told)?,
            ));
        }
        Self::through(points)
            .ok_or_else(|| "the flows do not rise from one point to the next".into())
    }
}

/// Not a loss that falls while the flow rises.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LossCurve(pub Curve);

/// Not a pump whose pressure rises with the flow.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PumpCurve(pub Curve);

fn read(value: &Value, example: &str) -> Result<Curve, Fault> {
    let mend = || format!("write pressures with the flows at which they hold, such as {example}");
    let Value::String(text) = value else {
        let what = format!("is {}, not a text of pressures and flows", shown(value));
        return Err(Fault::new("wrong-type", what, mend()));
    };
    let curve = Curve::parse(text).map_err(|error| {
        let what = format!("is {}: {error}", shown(value));
        Fault::new("curve-unread", what, mend())
    })?;
    if curve.points.iter().any(|(_, p)| *p < Pressure::ZERO) {
        let what = format!("is {}, which has a pressure below 0", shown(value));
        return Err(Fault::new("out-of-range", what, mend()));
    }
    Ok(curve)
}

fn schema(example: &str) -> Schema {
    json_schema!({
        "type": "string",
        "description": "One pressure, or pressures with the flows at which they hold, by rising flow.",
        "examples": [example],
    })
}

const LOSS: &str = "2 psi at 5 gpm, 5 psi at 10 gpm";
const PUMP: &str = "60 psi at 0 gpm, 48 psi at 12 gpm, 30 psi at 20 gpm";

impl Property for LossCurve {
    fn read(value: &Value) -> Result<Self, Fault> {
        let curve = read(value, &Self::example())?;
        if curve.points.windows(2).any(|p| p[1].1 < p[0].1) {
            let what = format!(
                "is {}: a loss does not fall while the flow rises",
                shown(value)
            );
            let mend = "read the figures again, smallest flow first";
            return Err(Fault::new("curve-falls", what, mend));
        }
        Ok(Self(curve))
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        schema(LOSS)
    }
    fn example() -> String {
        format!("\"{LOSS}\"")
    }
}

impl Property for PumpCurve {
    fn read(value: &Value) -> Result<Self, Fault> {
        let curve = read(value, &Self::example())?;
        if curve.points.len() < 2 || curve.points.windows(2).any(|p| p[1].1 > p[0].1) {
            let what = format!(
                "is {}: a pump is known from two points at least, and gives less pressure at more flow",
                shown(value)
            );
            let mend = "read the figures again, smallest flow first";
            return Err(Fault::new("curve-rises", what, mend));
        }
        Ok(Self(curve))
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        schema(PUMP)
    }
    fn example() -> String {
        format!("\"{PUMP}\"")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_are_read_and_wrong_ones_named() {
        let loss = |text: &str| LossCurve::read(&Value::from(text)).map(|c| c.0);
        assert_eq!(loss("6 psi"), Ok(Curve::constant(Pressure::psi(6.0))));
        let two = loss(LOSS).unwrap();
        assert_eq!(two.points().len(), 2);
        assert_eq!(two.points()[1], (Flow::gpm(10.0), Pressure::psi(5.0)));
        for (text, rule) in [
            ("6", "curve-unread"),
            ("5 psi at 10 gpm, 2 psi at 5 gpm", "curve-unread"),
            ("5 psi, 2 psi at 5 gpm", "curve-unread"),
            ("5 psi at 5 gpm, 2 psi at 10 gpm", "curve-falls"),
            ("-1 psi", "out-of-range"),
        ] {
            assert_eq!(loss(text).map_err(|f| f.rule), Err(rule), "{text}");
        }
        let pump = |text: &str| PumpCurve::read(&Value::from(text)).map_err(|f| f.rule);
        assert!(pump(PUMP).is_ok());
        assert_eq!(pump("60 psi").map(|_| ()), Err("curve-rises"));
        assert_eq!(
            pump("6 psi at 0 gpm, 7 psi at 1 gpm").map(|_| ()),
            Err("curve-rises")
        );
    }
}
