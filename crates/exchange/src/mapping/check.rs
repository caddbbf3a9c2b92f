//! Whether a kind has the properties that a rule gives it: asked of the job's own rules.

use job::{Document, Finding, KindParts, ReadOptions};
use serde_json::{Map, Value, json};

/// Rules of the job that speak of a property alone, whatever else the feature lacks.
const OF_PROPERTIES: [&str; 12] = [
    "unknown-kind",
    "unknown-property",
    "wrong-type",
    "curve-unread",
    "curve-falls",
    "curve-rises",
    "unknown-word",
    "empty-text",
    "unprintable-text",
    "quantity-without-unit",
    "quantity-not-a-number",
    "out-of-range",
];

/// What stands against the properties of a kind; the findings have `subject`.
pub(crate) fn rule(
    kind: KindParts,
    properties: &Map<String, Value>,
    subject: &str,
) -> Vec<Finding> {
    feature(kind.name, dummy(kind.geometry), properties, subject)
}

/// What stands against a kind that there is not: the job knows the nearest.
pub(crate) fn unknown(name: &str, subject: &str) -> Vec<Finding> {
    feature(name, Value::Null, &Map::new(), subject)
}

fn feature(
    kind: &str,
    geometry: Value,
    properties: &Map<String, Value>,
    subject: &str,
) -> Vec<Finding> {
    const ID: &str = "mapped";
    let mut members = Map::new();
    members.insert("kind".to_owned(), Value::from(kind));
    members.extend(properties.clone());
    let feature =
        json!({ "type": "Feature", "id": ID, "geometry": geometry, "properties": members });
    let mut document = Document::default();
    let header =
        json!({ "format": job::FORMAT, "name": "mapping", "length_unit": "m", "display": "si" });
    document.header = header.as_object().cloned().unwrap_or_default();
    document.features.push(feature);
    let findings = document
        .read(&ReadOptions::default())
        .err()
        .unwrap_or_default();
    let about = |f: &Finding| f.subject == ID && OF_PROPERTIES.contains(&f.rule.as_str());
    let about = findings.into_iter().filter(about);
    about
        .map(|mut finding| {
            subject.clone_into(&mut finding.subject);
            finding
        })
        .collect()
}

/// Any geometry of a type that will do.
fn dummy(types: &[&str]) -> Value {
    match types.first().copied() {
        Some("Polygon") => {
            json!({ "type": "Polygon", "coordinates": [[[0, 0], [9, 0], [9, 9], [0, 0]]] })
        }
        Some("LineString") => json!({ "type": "LineString", "coordinates": [[0, 0], [9, 0]] }),
        Some("MultiPoint") => json!({ "type": "MultiPoint", "coordinates": [[0, 0], [9, 0]] }),
        Some("Point") => json!({ "type": "Point", "coordinates": [0, 0] }),
        _ => Value::Null,
    }
}
