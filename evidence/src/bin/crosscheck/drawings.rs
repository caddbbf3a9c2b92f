//! Drawings and places on the Earth, as the importers and exporters make them.

use anyhow::{Context, Result, anyhow};
use exchange::plane::Plane;
use exchange::{Mapping, Options, Target, Unit};
use job::{Anchor, Document, LengthUnit};
use layers::{Cell, Column, Holds, Layer, Row, Shape, Sort};
use quantity::Length;
use serde_json::{Value, json};

use crate::json::number;

pub fn to_plane(question: &Value) -> Result<Value> {
    let anchor = &question["anchor"];
    let anchor = Anchor {
        longitude: number(&anchor["longitude"])?,
        latitude: number(&anchor["latitude"])?,
        rotation: number(&anchor["rotation"])?,
        height: Length::m(number(&anchor["height_m"])?),
    };
    let plane = Plane::of(&anchor).map_err(|findings| anyhow!("{findings:?}"))?;
    let places = question["places"]
        .as_array()
        .context("the question has no `places`")?;
    let mut answer = Vec::new();
    for place in places {
        let (longitude, latitude) = (number(&place[0])?, number(&place[1])?);
        let (x, y) = plane
            .from_geographic(longitude, latitude)
            .context("there is no such place")?;
        let (back_longitude, back_latitude) =
            plane.to_geographic(x, y).context("there is no way back")?;
        answer.push(json!([x, y, back_longitude, back_latitude]));
    }
    Ok(json!({"places": answer}))
}

/// A plan of one row of each sort.
fn plan() -> Vec<Layer> {
    let layer = |name: &str, sort, shape| Layer {
        name: name.to_owned(),
        title: name.to_owned(),
        sort,
        columns: vec![Column {
            name: "method".to_owned(),
            holds: Holds::Text,
        }],
        rows: vec![Row {
            id: "S\u{e4}1".to_owned(),
            shape,
            cells: vec![Cell::Text("hand / \u{fc}".to_owned())],
        }],
    };
    let places = vec![(0.0, 0.0), (3.0, 0.0), (3.0, 2.0)];
    vec![
        layer(
            "stakes",
            Sort::Point,
            Shape::Point(geo::Point::new(1.0, 2.0)),
        ),
        layer("stretches", Sort::Line, Shape::Line(places.clone().into())),
        layer(
            "areas",
            Sort::Area,
            Shape::Area(geo::Polygon::new(places.into(), vec![])),
        ),
    ]
}

/// A demo job as a drawing, with a plan of one row of each sort.
pub fn write_dxf(question: &Value) -> Result<Value> {
    let text = match question["job"].as_str() {
        Some("house") => job::DEMO,
        Some("courtyard") => job::DEMO_COURTYARD,
        _ => job::DEMO_PARK,
    };
    let document = Document::of(text).map_err(|findings| anyhow!("{findings:?}"))?;
    let written =
        exchange::dxf::write(&document, &plan()).map_err(|findings| anyhow!("{findings:?}"))?;
    let drawn = document
        .features
        .iter()
        .filter(|feature| !feature["geometry"].is_null());
    Ok(json!({"dxf": written.text, "features": drawn.collect::<Vec<_>>()}))
}

pub fn read_dxf(question: &Value) -> Result<Value> {
    let text = question["dxf"]
        .as_str()
        .context("the question has no `dxf`")?;
    let pairs = question["map"].as_array().map_or(&[][..], Vec::as_slice);
    let mapping = Mapping::from_pairs(pairs.iter().filter_map(Value::as_str));
    let mapping = mapping.map_err(|findings| anyhow!("{findings:?}"))?;
    let target = Target::new(LengthUnit::M);
    let unit = question["unit"]
        .as_str()
        .map(str::parse::<Unit>)
        .transpose();
    let options = Options {
        unit: unit.map_err(|finding| anyhow!("{finding:?}"))?,
        ..Options::default()
    };
    let read = exchange::dxf::read(text.as_bytes(), &target, &mapping, &options);
    let read = read.map_err(|findings| anyhow!("{findings:?}"))?;
    Ok(json!({"features": read.features, "report": read.report.text()}))
}
