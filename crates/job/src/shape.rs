//! Geometries of the file in metres, each wrong ring and place named.

use geo::{Coord, LineString, Orient, Polygon, Validation, orient::Direction};
use serde_json::Value;

use crate::field::{Fault, shown};
use crate::ring::crossing;
use crate::{Place, Shape};

/// Most places in one ring or line.
pub(crate) const MOST_PLACES: usize = 5_000;

/// Greatest distance of a coordinate from the origin, metres: a nanometre is still told apart there.
const FARTHEST: f64 = 1e7;

type Read<T> = Result<T, Vec<Fault>>;

/// A polygon, its outer ring anticlockwise.
pub(crate) fn polygon(geometry: &Value, unit: f64) -> Read<Polygon> {
    let rings = list(coordinates(geometry, &["Polygon"])?)?;
    let mut faults = Vec::new();
    let mut read = Vec::new();
    for (n, ring_value) in rings.iter().enumerate() {
        let name = if n == 0 {
            "outer ring".to_owned()
        } else {
            format!("hole {n}")
        };
        match ring(ring_value, unit, &name) {
            Ok(ring) => read.push(ring),
            Err(more) => faults.extend(more),
        }
    }
    if rings.is_empty() {
        let mend = "give the outer ring: [[[x, y], …]]";
        faults.push(Fault::new(
            "ring-too-short",
            "has a polygon without a ring",
            mend,
        ));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let outer = read.remove(0);
    whole(Polygon::new(outer, read))
}

/// A polygon, or nothing for `null`.
pub(crate) fn polygon_or_elsewhere(geometry: &Value, unit: f64) -> Read<Option<Polygon>> {
    if geometry.is_null() {
        return Ok(None);
    }
    coordinates(geometry, &["Polygon", "null"])?;
    polygon(geometry, unit).map(Some)
}

/// A polygon or a line.
pub(crate) fn area_or_line(geometry: &Value, unit: f64) -> Read<Shape> {
    coordinates(geometry, &["Polygon", "LineString"])?;
    if geometry["type"] == "Polygon" {
        polygon(geometry, unit).map(Shape::Area)
    } else {
        line(geometry, unit).map(Shape::Line)
    }
}

/// A line of some length.
pub(crate) fn line(geometry: &Value, unit: f64) -> Read<LineString> {
    let mut places = places(coordinates(geometry, &["LineString"])?, unit, "line")?;
    places.dedup();
    if places.len() < 2 {
        return Err(vec![Fault::new(
            "line-without-length",
            "has a line of one place",
            "give at least two places that differ",
        )]);
    }
    Ok(LineString::new(places))
}

/// The two ends of a straight line.
pub(crate) fn two_ends(geometry: &Value, unit: f64) -> Read<(Place, Place)> {
    let places = places(coordinates(geometry, &["LineString"])?, unit, "line")?;
    let [from, to] = places[..] else {
        return Err(vec![Fault::new(
            "wrong-geometry",
            format!("has a line of {} places", places.len()),
            "give exactly two places, one end and the other",
        )]);
    };
    if from == to {
        return Err(vec![Fault::new(
            "line-without-length",
            "has both ends at the same place",
            "give two places that differ",
        )]);
    }
    Ok((from.into(), to.into()))
}

/// Two or more places, the first of which feeds the others; repeated ones are dropped.
pub(crate) fn several(geometry: &Value, unit: f64) -> Read<Vec<Place>> {
    let places = places(coordinates(geometry, &["MultiPoint"])?, unit, "list")?;
    let mut kept: Vec<Coord> = Vec::new();
    for place in places {
        if !kept.contains(&place) {
            kept.push(place);
        }
    }
    if kept.len() < 2 {
        return Err(vec![Fault::new(
            "cable-too-short",
            "joins fewer than two places",
            "give the place that feeds it first, then each place that is fed",
        )]);
    }
    Ok(kept.into_iter().map(Place::from).collect())
}

/// One place.
pub(crate) fn point(geometry: &Value, unit: f64) -> Read<Place> {
    let at = place(coordinates(geometry, &["Point"])?, unit)
        .map_err(|what| vec![bad_place(format!("has a place that {what}"))])?;
    Ok(at.into())
}

/// No place at all.
pub(crate) fn nowhere(geometry: &Value, _unit: f64) -> Read<()> {
    if geometry.is_null() {
        return Ok(());
    }
    let found = geometry.get("type").map_or_else(|| shown(geometry), shown);
    Err(vec![wrong_geometry(&found, &["null"])])
}

/// The coordinates of a geometry whose type is one of those wanted.
fn coordinates<'a>(geometry: &'a Value, wanted: &[&str]) -> Result<&'a Value, Vec<Fault>> {
    let found = geometry.get("type").and_then(Value::as_str);
    let Some(found) = found else {
        return Err(vec![wrong_geometry(&shown(geometry), wanted)]);
    };
    if !wanted.contains(&found) {
        return Err(vec![wrong_geometry(&shown(&Value::from(found)), wanted)]);
    }
    geometry.get("coordinates").ok_or_else(|| {
        let mend = "add \"coordinates\", as GeoJSON (RFC 7946) has them";
        vec![Fault::new(
            "wrong-geometry",
            "has a geometry without coordinates",
            mend,
        )]
    })
}

fn wrong_geometry(found: &str, wanted: &[&str]) -> Fault {
    Fault::new(
        "wrong-geometry",
        format!("has the geometry {found}"),
        format!("draw it as {}", wanted.join(" or ")),
    )
}

fn list(value: &Value) -> Read<&[Value]> {
    value.as_array().map(Vec::as_slice).ok_or_else(|| {
        let what = format!("has {} where an array has to be", shown(value));
        vec![Fault::new(
            "wrong-geometry",
            what,
            "write the coordinates as GeoJSON has them",
        )]
    })
}

fn places(value: &Value, unit: f64, name: &str) -> Read<Vec<Coord>> {
    let values = list(value)?;
    if values.len() > MOST_PLACES {
        return Err(vec![Fault::new(
            "too-many-places",
            format!("has {} places in its {name}", values.len()),
            format!("leave out places that change nothing; {MOST_PLACES} are the most"),
        )]);
    }
    let mut faults = Vec::new();
    let mut read = Vec::new();
    for (n, value) in values.iter().enumerate() {
        match place(value, unit) {
            Ok(at) => read.push(at),
            Err(what) => faults.push(bad_place(format!(
                "has place {} of its {name} that {what}",
                n + 1
            ))),
        }
    }
    // One slip often repeats in every place; a few say it all.
    faults.truncate(3);
    if faults.is_empty() {
        Ok(read)
    } else {
        Err(faults)
    }
}

fn bad_place(what: String) -> Fault {
    Fault::new(
        "bad-place",
        what,
        "write [x, y], two finite numbers in the job's length unit, near the origin of its plane",
    )
}

fn place(value: &Value, unit: f64) -> Result<Coord, String> {
    let numbers: Option<Vec<f64>> = value
        .as_array()
        .and_then(|a| a.iter().map(Value::as_f64).collect());
    let Some(&[x, y]) = numbers.as_deref() else {
        return Err(match numbers {
            Some(numbers) => format!("has {} numbers", numbers.len()),
            None => format!("is {}, not two numbers", shown(value)),
        });
    };
    let at = Coord {
        x: x * unit,
        y: y * unit,
    };
    if at.x.abs() <= FARTHEST && at.y.abs() <= FARTHEST {
        Ok(at)
    } else {
        Err(format!(
            "is [{x}, {y}], over {} km from the origin",
            FARTHEST / 1e3
        ))
    }
}

fn ring(value: &Value, unit: f64, name: &str) -> Read<LineString> {
    let mut places = places(value, unit, name)?;
    if places.first() != places.last() {
        return Err(vec![Fault::new(
            "ring-not-closed",
            format!("has an {name} that does not end where it begins").replace("an hole", "a hole"),
            "repeat the first place at the end",
        )]);
    }
    places.dedup();
    if places.len() < 4 {
        return Err(vec![Fault::new(
            "ring-too-short",
            format!("has fewer than three different places in its {name}"),
            "give at least three corners and the first one again",
        )]);
    }
    match crossing(&places) {
        None => Ok(LineString::new(places)),
        Some(c) => Err(vec![Fault::new(
            "ring-crosses-itself",
            format!(
                "has side {} of its {name} meet side {} at [{:.2}, {:.2}]",
                c.edges.0,
                c.edges.1,
                c.at.x / unit,
                c.at.y / unit
            ),
            "put the corners in the order in which one walks round, each once",
        )]),
    }
}

/// The polygon, if its holes lie inside it and apart from each other.
fn whole(polygon: Polygon) -> Read<Polygon> {
    // Without holes there is nothing left to find, and the search is slow for large rings.
    let errors = match polygon.interiors() {
        [] => Vec::new(),
        _ => polygon.validation_errors(),
    };
    let faults: Vec<Fault> = errors
        .iter()
        .map(|error| {
            let mend = "draw each hole inside the outer ring and apart from the other holes";
            Fault::new("bad-hole", format!("has a polygon in which {error}"), mend)
        })
        .collect();
    if faults.is_empty() {
        Ok(polygon.orient(Direction::Default))
    } else {
        Err(faults)
    }
}
