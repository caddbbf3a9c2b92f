//! What the ground is like: where a machine gets to, how high a place is, what a line costs.

use anyhow::{Context, Result, bail};
use geo::{Area, BooleanOps, Intersects, MultiPolygon, Point, unary_union};
use ground::{Ground, Relief, Standing, eroded};
use job::{Job, MethodId, ReadOptions};
use quantity::Length;
use serde_json::{Value, json};

use crate::json::{list, number, point, polygon, polygons};

pub fn erode(question: &Value) -> Result<Value> {
    let half_width = number(&question["half_width"])?;
    let obstacles = polygons(&question["obstacles"])?;
    let area = MultiPolygon::new(vec![polygon(&question["boundary"])?]);
    let free = area.difference(&unary_union(&obstacles));
    let entrance = Point::from(point(&question["entrance"])?);
    let places = eroded(&free, half_width);
    let reached = places.iter().filter(|part| part.intersects(&entrance));
    Ok(json!({"area": reached.map(Area::unsigned_area).sum::<f64>()}))
}

pub fn elevation(question: &Value) -> Result<Value> {
    let spot = |spot: &Value| Ok((point(spot)?, number(&spot[2])?));
    let spots = list(&question["spots"])?
        .iter()
        .map(spot)
        .collect::<Result<Vec<_>>>()?;
    let at = list(&question["at"])?
        .iter()
        .map(point)
        .collect::<Result<Vec<_>>>()?;
    let relief = Relief::new(&spots);
    let heights: Vec<f64> = at.into_iter().map(|place| relief.height(place)).collect();
    Ok(json!({"z": heights}))
}

/// Which places a machine that turns on the spot gets to on a site with fences and gates.
pub fn reach(question: &Value) -> Result<Value> {
    let width = Length::m(number(&question["half_width"])? * 2.0);
    let mut job = job_with(site_features(question)?)?;
    let machine = MethodId("walk_trencher".to_owned());
    job.prices.method.retain(|id, _| *id == machine);
    let method = job.prices.method.get_mut(&machine);
    let method = method.context("the price book has no walk-behind trencher")?;
    method.body_width.value = width;
    method.turning_room = None;
    let ground = Ground::new(&job);
    let places = list(&question["places"])?.iter().map(point);
    let reached = places
        .map(|place| Ok(ground.standing(&machine, place?) == Some(Standing::Reached)))
        .collect::<Result<Vec<bool>>>()?;
    Ok(json!({"reached": reached}))
}

fn site_features(question: &Value) -> Result<Vec<Value>> {
    let mut features = Vec::new();
    for (index, obstacle) in list(&question["obstacles"])?.iter().enumerate() {
        let kind = json!({"kind": "obstacle", "obstacle": "other"});
        features.push(feature(&format!("O{index}"), ring(obstacle)?, kind));
    }
    let line = |ends: &Value| json!({"type": "LineString", "coordinates": ends});
    for (index, fence) in list(&question["fences"])?.iter().enumerate() {
        let kind = json!({"kind": "obstacle", "obstacle": "fence"});
        features.push(feature(&format!("F{index}"), line(fence), kind));
    }
    for (index, gate) in list(&question["gates"])?.iter().enumerate() {
        let clear = number(&gate["clear"])?;
        let kind = json!({"kind": "gate", "clear_width": format!("{clear} m")});
        features.push(feature(&format!("G{index}"), line(&gate["ends"]), kind));
    }
    Ok(features)
}

/// A line over a job whose surfaces are those of the question, each known again by its id.
pub fn cost(question: &Value) -> Result<Value> {
    let surfaces = list(&question["surfaces"])?;
    let (from, to) = (point(&question["from"])?, point(&question["to"])?);
    let base = number(&question["base_cost"])?;
    let ground = Ground::new(&job_with(surface_features(surfaces)?)?);
    let length = (to - from).x.hypot((to - from).y);
    let mut cost = 0.0;
    for span in ground.spans(from, to) {
        let on = ground.describe(&span.class, from).surface_id;
        let unit = match on.strip_prefix('S') {
            Some(index) => number(&surfaces[index.parse::<usize>()?]["cost"])?,
            None => base,
        };
        cost += unit * length * (span.to - span.from);
    }
    Ok(json!({"cost": cost}))
}

fn surface_features(surfaces: &[Value]) -> Result<Vec<Value>> {
    let kind = json!({"kind": "surface", "surface": "bed"});
    let surfaces = surfaces.iter().enumerate();
    surfaces
        .map(|(i, s)| {
            Ok(feature(
                &format!("S{i}"),
                ring(&s["polygon"])?,
                kind.clone(),
            ))
        })
        .collect()
}

/// An invented job around other features; its own stand outside of where they may lie.
pub fn job_with(others: Vec<Value>) -> Result<Job> {
    let at = |x: f64, y: f64| json!({"type": "Point", "coordinates": [x, y]});
    let mut features = vec![
        feature(
            "P1",
            ring(&json!([[-20, -20], [70, -20], [70, 60], [-20, 60]]))?,
            json!({"kind": "boundary"}),
        ),
        feature(
            "BASE",
            Value::Null,
            json!({"kind": "surface", "surface": "bare_soil"}),
        ),
        feature(
            "EARTH",
            Value::Null,
            json!({"kind": "soil", "texture": "loam", "coarse": "5 %", "moisture": "moist"}),
        ),
        feature("A1", at(-19.0, -19.0), json!({"kind": "access"})),
        feature(
            "W1",
            at(-15.0, -15.0),
            json!({
                "kind": "source", "static_pressure": "60 psi", "test_flow": "15 gpm",
                "residual_pressure": "50 psi", "service_size": "1 in", "main_pipe": "pvc_sch40",
            }),
        ),
        feature("BF", at(-14.0, -15.0), json!({"kind": "backflow"})),
        feature(
            "C1",
            Value::Null,
            json!({"kind": "circuit", "name": "one", "pipe": "pe_sidr15"}),
        ),
        feature(
            "V1",
            at(-12.0, -15.0),
            json!({"kind": "valve", "circuit": "C1"}),
        ),
        feature(
            "H1",
            at(-10.0, -15.0),
            json!({"kind": "head", "circuit": "C1", "flow": "2 gpm", "pressure": "30 psi"}),
        ),
    ];
    features.extend(others);
    let text = json!({
        "type": "FeatureCollection",
        "spadework": {
            "format": job::FORMAT, "name": "Cross-check (invented)", "invented": true,
            "length_unit": "m", "display": "si",
        },
        "features": features,
    })
    .to_string();
    match job::read(&text, &ReadOptions::default()) {
        Ok(reading) => Ok(reading.job),
        Err(findings) => bail!("the job is refused: {findings:?}"),
    }
}

/// A polygon of the protocol as GeoJSON has it: its first corner repeated at the end.
pub fn ring(polygon: &Value) -> Result<Value> {
    let mut corners = list(polygon)?.clone();
    corners.push(corners.first().context("a polygon has no corners")?.clone());
    Ok(json!({"type": "Polygon", "coordinates": [corners]}))
}

pub fn feature(id: &str, geometry: Value, properties: Value) -> Value {
    json!({"type": "Feature", "id": id, "geometry": geometry, "properties": properties})
}
