//! The JSON Schema of the job file, made from the declarations of the stored form.

use schemars::SchemaGenerator;
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

use crate::field::Stored;
use crate::file::{FORMAT, Header};
use crate::kind::{KINDS, KindRow};
use crate::shape::MOST_PLACES;

/// Neither blank nor ASCII punctuation but `-` and `_`; spelled without classes of Unicode, which not
/// every reader of schemas knows.
const ID: &str = r"^[^\s!-,./:-@\[-^`{-~]{1,64}$";

/// The JSON Schema (draft 2020-12) of a job file.
///
/// It tells the shape of the file and the spelling of each value. What a schema cannot say (a ring that
/// crosses itself, a head outside the boundary, a circuit without a valve) only [`crate::read`] finds.
pub fn schema() -> Value {
    let mut generator = SchemaSettings::draft2020_12()
        .with(|settings| settings.inline_subschemas = true)
        .into_generator();
    let names: Vec<Value> = KINDS
        .iter()
        .map(|row| json!({ "$ref": format!("#/$defs/{}", row.name) }))
        .collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Spadework job file",
        "description": "A property and the watering system to be buried in it: a GeoJSON \
            FeatureCollection (RFC 7946) in local plane coordinates, x to the right and y up.",
        "type": "object",
        "properties": {
            "type": { "const": "FeatureCollection" },
            "spadework": header(&mut generator),
            "features": {
                "description": "The survey and the system, one feature each.",
                "type": "array",
                "minItems": 1,
                "items": { "oneOf": names },
            },
            "bbox": bbox(),
        },
        "required": ["type", "spadework", "features"],
        "additionalProperties": false,
        "$defs": definitions(&mut generator),
    })
}

fn header(generator: &mut SchemaGenerator) -> Value {
    let mut header = Header::schema(generator).to_value();
    header["properties"]["format"] = json!({
        "description": "Version of the format.",
        "const": FORMAT,
    });
    header
}

fn definitions(generator: &mut SchemaGenerator) -> Map<String, Value> {
    let mut all: Map<String, Value> = KINDS
        .iter()
        .map(|row| (row.name.to_owned(), feature(row, generator)))
        .collect();
    for geometry in ["Point", "MultiPoint", "LineString", "Polygon"] {
        all.insert(geometry.to_owned(), geometry_schema(geometry));
    }
    all.insert("place".to_owned(), place());
    all
}

fn feature(row: &KindRow, generator: &mut SchemaGenerator) -> Value {
    let mut properties = (row.schema)(generator).to_value();
    let about = properties["description"].take();
    properties["description"] = json!("What it is, and what is known of it.");
    properties["properties"]["kind"] = json!({ "const": row.name });
    properties["properties"]["note"] = json!({
        "description": "For people; nothing reads it.",
        "type": "string",
    });
    if let Some(required) = properties["required"].as_array_mut() {
        required.insert(0, json!("kind"));
    }
    json!({
        "description": about,
        "type": "object",
        "properties": {
            "type": { "const": "Feature" },
            "id": {
                "description": "Name of the feature, its own in the whole file.",
                "type": "string",
                "pattern": ID,
            },
            "geometry": geometry(row),
            "properties": properties,
            "bbox": bbox(),
        },
        "required": ["type", "id", "geometry", "properties"],
        "additionalProperties": false,
    })
}

fn geometry(row: &KindRow) -> Value {
    let mut choices: Vec<Value> = row
        .geometry
        .iter()
        .map(|name| match *name {
            "null" => json!({ "type": "null" }),
            name => json!({ "$ref": format!("#/$defs/{name}") }),
        })
        .collect();
    match choices.len() {
        1 => choices.remove(0),
        _ => json!({ "oneOf": choices }),
    }
}

fn geometry_schema(name: &str) -> Value {
    let place = json!({ "$ref": "#/$defs/place" });
    let list = |least: usize| json!({ "type": "array", "items": place, "minItems": least, "maxItems": MOST_PLACES });
    let coordinates = match name {
        "Point" => place.clone(),
        "Polygon" => json!({
            "description": "The outer ring, then its holes; each ends where it begins.",
            "type": "array",
            "items": list(4),
            "minItems": 1,
        }),
        _ => list(2),
    };
    json!({
        "type": "object",
        "properties": {
            "type": { "const": name },
            "coordinates": coordinates,
            "bbox": bbox(),
        },
        "required": ["type", "coordinates"],
    })
}

fn place() -> Value {
    json!({
        "description": "x and y in the job's length unit.",
        "type": "array",
        "items": { "type": "number" },
        "minItems": 2,
        "maxItems": 2,
    })
}

fn bbox() -> Value {
    json!({ "description": "Allowed by GeoJSON; nothing reads it.", "type": "array" })
}
