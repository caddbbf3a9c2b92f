//! A job that we put on the Earth, taken back into a plane.

use job::{Anchor, Finding, LengthUnit};
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

use super::write::converted;
use super::{HEADER, LAYER, SUBJECT};
use crate::limits::{MOST_FEATURES, MOST_FINDINGS, too_many};
use crate::plane::Plane;
use crate::shape::COARSE;
use crate::{Imported, Options, Target, Xy};

pub(super) fn read(
    mut value: Value,
    target: &Target,
    _options: &Options,
) -> Result<Imported, Vec<Finding>> {
    let header = value.get_mut(HEADER).map(Value::take);
    let Some(Value::Object(mut header)) = header else {
        return Err(broken("its header is no object"));
    };
    let features = value.get_mut("features").map(Value::take);
    let Some(Value::Array(features)) = features else {
        return Err(broken("it has no list of features"));
    };
    if features.len() > MOST_FEATURES {
        return Err(too_many(SUBJECT, "features", MOST_FEATURES));
    }
    let (anchor, unit) = place(&header, target)?;
    let plane = Plane::of(&anchor)?;
    let metres = unit.to_m();
    let mut imported = Imported {
        anchor: Some(anchor),
        ..Imported::default()
    };
    let to = |at: Xy| {
        let (x, y) = plane.from_geographic(at.0, at.1)?;
        let step = |value: f64| (value / metres * COARSE).round() / COARSE + 0.0;
        Some((step(x), step(y)))
    };
    let mut findings = Vec::new();
    for mut feature in features {
        if feature.pointer(&format!("/properties/{LAYER}")).is_some() {
            let why = "it is a row of a plan, which is made anew from the job";
            imported.report.leave("the plan", "feature", 1, why);
            continue;
        }
        if !back(&mut feature, &to) {
            findings.push(bad_place(&feature));
            continue;
        }
        let kind = feature.pointer("/properties/kind").and_then(Value::as_str);
        let kind = crate::report::shown(kind.unwrap_or("feature without a kind"));
        imported.report.take("the job", "feature", &kind);
        imported.features.push(feature);
    }
    if !findings.is_empty() {
        findings.truncate(MOST_FINDINGS);
        return Err(findings);
    }
    rename(&mut imported, &target.taken);
    let unit = serde_json::to_value(unit).unwrap_or(Value::Null);
    header.insert("length_unit".to_owned(), unit);
    let anchor = serde_json::to_value(anchor).unwrap_or(Value::Null);
    if header.get("anchor") != Some(&anchor) && target.anchor.is_some() {
        header.insert("anchor".to_owned(), anchor);
    }
    imported.header = Some(header);
    Ok(imported)
}

fn broken(what: &str) -> Vec<Finding> {
    let mend = "export it again";
    vec![Finding::error(
        "broken-export",
        SUBJECT,
        format!("is of ours, but {what}"),
        mend,
    )]
}

fn bad_place(feature: &Value) -> Finding {
    let id = feature
        .get("id")
        .and_then(Value::as_str)
        .unwrap_or("a feature without an id");
    Finding::error(
        "not-geographic",
        crate::report::shown(id),
        "has places that are not longitude and latitude",
        "export the job again, or correct them",
    )
}

/// The anchor and unit of the plane into which the features go.
fn place(
    header: &Map<String, Value>,
    target: &Target,
) -> Result<(Anchor, LengthUnit), Vec<Finding>> {
    let member = |name: &str| header.get(name).cloned().unwrap_or(Value::Null);
    let own: Option<Anchor> = serde_json::from_value(member("anchor")).ok();
    let unit: Option<LengthUnit> = serde_json::from_value(member("length_unit")).ok();
    let fresh = target.anchor.is_none() && target.taken.is_empty();
    let anchor = target
        .anchor
        .or(own)
        .ok_or_else(|| broken("its header has no anchor"))?;
    let unit = if fresh {
        unit.unwrap_or(target.length_unit)
    } else {
        target.length_unit
    };
    Ok((anchor, unit))
}

fn back(feature: &mut Value, to: &impl Fn(Xy) -> Option<Xy>) -> bool {
    let Some(geometry) = feature.get_mut("geometry") else {
        return true;
    };
    let Some(coordinates) = geometry.get_mut("coordinates") else {
        return geometry.is_null();
    };
    let inside = |at: Xy| {
        let on_earth = at.0.abs() <= 180.0 && at.1.abs() <= 90.0;
        on_earth.then(|| to(at)).flatten()
    };
    match converted(coordinates, &inside) {
        Some(moved) => {
            *coordinates = moved;
            true
        }
        None => false,
    }
}

/// Gives features whose ids are taken others, and lets those that name them know.
fn rename(imported: &mut Imported, taken: &BTreeSet<String>) {
    let id_of = |feature: &Value| feature.get("id").and_then(Value::as_str).map(str::to_owned);
    let mut used = taken.clone();
    used.extend(imported.features.iter().filter_map(id_of));
    let mut changed: BTreeMap<String, String> = BTreeMap::new();
    for feature in &mut imported.features {
        let Some(id) = id_of(feature).filter(|id| taken.contains(id)) else {
            continue;
        };
        let stem: String = id.chars().take(50).collect();
        let fresh = (2..)
            .map(|n: usize| format!("{stem}-{n}"))
            .find(|name| !used.contains(name));
        let Some(fresh) = fresh else { continue };
        used.insert(fresh.clone());
        imported
            .report
            .note(format!("{id} is {fresh} here: there is another {id}"));
        feature["id"] = Value::from(fresh.as_str());
        changed.insert(id, fresh);
    }
    if !changed.is_empty() {
        imported
            .features
            .iter_mut()
            .for_each(|feature| refer(feature, &changed));
    }
}

/// Properties that name other features.
const REFERENCES: [&str; 3] = ["circuit", "runs_with", "carries"];

fn refer(feature: &mut Value, changed: &BTreeMap<String, String>) {
    for name in REFERENCES {
        let Some(value) = feature.pointer_mut(&format!("/properties/{name}")) else {
            continue;
        };
        let Some(text) = value.as_str() else { continue };
        let parts = text.split(',').map(str::trim);
        let parts: Vec<&str> = parts
            .map(|id| changed.get(id).map_or(id, String::as_str))
            .collect();
        *value = Value::from(parts.join(", "));
    }
}
