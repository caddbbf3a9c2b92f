//! A job and its plan on the Earth.

use job::{Document, Finding};
use layers::{Cell, Layer, Shape};
use serde_json::{Map, Value, json};

use super::{HEADER, LAYER, pair};
use crate::Xy;
use crate::plane::Plane;
use crate::target::unit_of;

/// Longitude and latitude are written to one of so many steps of a degree: a hundredth of a millimetre.
const STEPS: f64 = 1e10;

/// Writes a job and the layers of its plan as GeoJSON in longitude and latitude.
///
/// # Errors
/// If the job has no anchor, or a feature has places that cannot be put on the Earth.
pub fn write(document: &Document, layers: &[Layer]) -> Result<String, Vec<Finding>> {
    let (plane, metres) = place_of(document)?;
    let mut findings = Vec::new();
    let mut text = String::from("{ \"type\": \"FeatureCollection\",\n  ");
    text += &format!(
        "\"{HEADER}\": {},\n  \"features\": [",
        Value::from(document.header.clone())
    );
    let mut separator = "\n    ";
    for feature in &document.features {
        match on_earth(feature, &plane, metres) {
            Some(feature) => {
                text += separator;
                text += &feature.to_string();
                separator = ",\n    ";
            }
            None => findings.push(off_earth(feature)),
        }
    }
    for layer in layers {
        for row in &layer.rows {
            match row_feature(layer, row, &plane) {
                Some(feature) => {
                    text += separator;
                    text += &feature.to_string();
                    separator = ",\n    ";
                }
                None => findings.push(off_earth(&json!({ "id": row.id }))),
            }
        }
    }
    text += "\n  ]\n}\n";
    if findings.is_empty() {
        Ok(text)
    } else {
        Err(findings)
    }
}

/// The plane of a job, and metres in one of its units.
fn place_of(document: &Document) -> Result<(Plane, f64), Vec<Finding>> {
    let unit = unit_of(document)?;
    let anchor = document.anchor().ok_or_else(|| {
        vec![Finding::error(
            "no-anchor",
            "spadework.anchor",
            "does not say where on the Earth the plane lies",
            "give the job an anchor: longitude, latitude and rotation of its origin",
        )]
    })?;
    Ok((Plane::of(&anchor)?, unit.to_m()))
}

fn off_earth(feature: &Value) -> Finding {
    let id = feature
        .get("id")
        .and_then(Value::as_str)
        .unwrap_or("a feature without an id");
    let mend = "correct its coordinates, or the anchor";
    Finding::error(
        "bad-place",
        id,
        "has places that cannot be put on the Earth",
        mend,
    )
}

fn on_earth(feature: &Value, plane: &Plane, metres: f64) -> Option<Value> {
    let mut feature = feature.clone();
    let geometry = feature.get_mut("geometry");
    if let Some(geometry) = geometry.filter(|geometry| !geometry.is_null()) {
        let to = |at: Xy| rounded(plane.to_geographic(at.0 * metres, at.1 * metres)?);
        let polygon = geometry.get("type").and_then(Value::as_str) == Some("Polygon");
        let coordinates = geometry.get_mut("coordinates")?;
        *coordinates = converted(coordinates, &to)?;
        if polygon {
            right_handed(coordinates);
        }
    }
    Some(feature)
}

fn rounded(at: Xy) -> Option<Xy> {
    Some((
        (at.0 * STEPS).round() / STEPS,
        (at.1 * STEPS).round() / STEPS,
    ))
}

/// Nested lists of places, each put elsewhere.
pub(super) fn converted(value: &Value, to: &impl Fn(Xy) -> Option<Xy>) -> Option<Value> {
    if let Some(at) = pair(value) {
        let (x, y) = to(at)?;
        return Some(json!([job::number(x), job::number(y)]));
    }
    let list = value.as_array()?;
    list.iter()
        .map(|part| converted(part, to))
        .collect::<Option<Vec<_>>>()
        .map(Value::from)
}

/// Outer rings anticlockwise, holes clockwise (RFC 7946, 3.1.6).
fn right_handed(rings: &mut Value) {
    for (n, ring) in rings.as_array_mut().into_iter().flatten().enumerate() {
        let Some(places) = ring.as_array_mut() else {
            continue;
        };
        let at: Vec<Xy> = places.iter().filter_map(pair).collect();
        // Twice the area about the first place: far from the origin the plain sum would lose it.
        let (x, y) = at.first().copied().unwrap_or_default();
        let cross = |w: &[Xy]| (w[0].0 - x) * (w[1].1 - y) - (w[1].0 - x) * (w[0].1 - y);
        let twice: f64 = at.windows(2).map(cross).sum();
        if (twice < 0.0) == (n == 0) {
            places.reverse();
        }
    }
}

fn row_feature(layer: &Layer, row: &layers::Row, plane: &Plane) -> Option<Value> {
    let place = |at: geo::Coord| {
        let (x, y) = rounded(plane.to_geographic(at.x, at.y)?)?;
        Some(json!([job::number(x), job::number(y)]))
    };
    let all = |line: &geo::LineString| {
        line.0
            .iter()
            .map(|at| place(*at))
            .collect::<Option<Vec<_>>>()
            .map(Value::from)
    };
    let (kind, mut coordinates) = match &row.shape {
        Shape::Point(at) => ("Point", place(at.0)?),
        Shape::Line(line) => ("LineString", all(line)?),
        Shape::Area(area) => {
            let rings = std::iter::once(area.exterior()).chain(area.interiors());
            (
                "Polygon",
                Value::from(rings.map(all).collect::<Option<Vec<_>>>()?),
            )
        }
    };
    if kind == "Polygon" {
        right_handed(&mut coordinates);
    }
    let mut properties = Map::new();
    properties.insert(LAYER.to_owned(), Value::from(layer.name.as_str()));
    for (column, cell) in layer.columns.iter().zip(&row.cells) {
        properties.insert(column.name.clone(), cell_value(cell));
    }
    Some(json!({
        "type": "Feature", "id": format!("{}/{}", layer.name, row.id),
        "geometry": { "type": kind, "coordinates": coordinates }, "properties": properties,
    }))
}

fn cell_value(cell: &Cell) -> Value {
    match cell {
        Cell::Empty => Value::Null,
        Cell::Text(text) => Value::from(text.as_str()),
        Cell::Whole(number) => Value::from(*number),
        Cell::Real(number) => job::number(*number),
        Cell::Flag(flag) => Value::from(*flag),
    }
}
