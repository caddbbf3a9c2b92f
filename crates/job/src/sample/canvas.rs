//! What is drawn so far, and where heads may not stand.

use geo::{Distance, Euclidean, LineString, Point, Polygon};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Features of the job file, and things with the distance that heads keep from them.
#[derive(Default)]
pub(super) struct Canvas {
    pub(super) features: Vec<Value>,
    counts: BTreeMap<&'static str, u32>,
    kept_off: Vec<(Thing, f64)>,
}

enum Thing {
    Area(Polygon),
    Line(LineString),
}

impl Canvas {
    /// Adds a feature with the next id under a prefix, and gives the id.
    pub(super) fn add(
        &mut self,
        prefix: &'static str,
        geometry: Value,
        properties: Value,
    ) -> String {
        let count = self.counts.entry(prefix).or_default();
        *count += 1;
        let id = format!("{prefix}{count}");
        self.features.push(json!({
            "type": "Feature", "id": id, "geometry": geometry, "properties": properties,
        }));
        id
    }

    /// Keeps heads so many feet off an area.
    pub(super) fn keep_off_area(&mut self, ring: &[(f64, f64)], feet: f64) {
        let polygon = Polygon::new(LineString::from(ring.to_vec()), vec![]);
        self.kept_off.push((Thing::Area(polygon), feet));
    }

    /// Keeps heads so many feet off a line.
    pub(super) fn keep_off_line(&mut self, at: &[(f64, f64)], feet: f64) {
        self.kept_off
            .push((Thing::Line(LineString::from(at.to_vec())), feet));
    }

    /// How many things heads keep off so far, to go back to.
    pub(super) fn mark(&self) -> usize {
        self.kept_off.len()
    }

    /// Forgets the things that came after a mark.
    pub(super) fn back_to(&mut self, mark: usize) {
        self.kept_off.truncate(mark);
    }

    /// Whether a head may stand there.
    pub(super) fn is_free(&self, (x, y): (f64, f64)) -> bool {
        let at = Point::new(x, y);
        self.kept_off.iter().all(|(thing, feet)| {
            let away = match thing {
                Thing::Area(polygon) => Euclidean.distance(&at, polygon),
                Thing::Line(line) => Euclidean.distance(&at, line),
            };
            away >= *feet
        })
    }
}

/// To a tenth of a foot.
pub(super) fn tidy(feet: f64) -> f64 {
    // the sum turns a negative zero into zero
    (feet * 10.0).round() / 10.0 + 0.0
}

fn coordinates(at: &[(f64, f64)]) -> Vec<[f64; 2]> {
    at.iter().map(|&(x, y)| [tidy(x), tidy(y)]).collect()
}

/// The corners of an upright rectangle.
pub(super) fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<(f64, f64)> {
    vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
}

/// A polygon from its corners.
pub(super) fn area(ring: &[(f64, f64)]) -> Value {
    let mut closed = coordinates(ring);
    closed.extend(closed.first().copied());
    json!({"type": "Polygon", "coordinates": [closed]})
}

/// A line.
pub(super) fn line(at: &[(f64, f64)]) -> Value {
    json!({"type": "LineString", "coordinates": coordinates(at)})
}

/// One point or several.
pub(super) fn points(at: &[(f64, f64)]) -> Value {
    match coordinates(at).as_slice() {
        [one] => json!({"type": "Point", "coordinates": one}),
        several => json!({"type": "MultiPoint", "coordinates": several}),
    }
}
