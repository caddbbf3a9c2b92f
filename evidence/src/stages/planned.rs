//! What a whole plan says of a yard that is simple enough to be worked out otherwise: one circuit
//! whose heads stand in a straight row, evenly spaced, the first one spacing from the valve.

use std::ops::ControlFlow;

use anyhow::{Result, anyhow, bail};
use job::ReadOptions;
use plan::Plan;
use quantity::{Flow, Length, Pressure};
use routes::LineKind;
use serde_json::{Value as Json, json};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("friction in a planned row of heads", friction),
    ("trench of a planned row of heads", trench),
];

fn friction(inputs: &Inputs) -> Result<Value> {
    let plan = planned(inputs)?;
    let laterals = plan.network.lines.iter().map(|line| &line.kind);
    let is_lateral: Vec<bool> = laterals
        .map(|kind| matches!(kind, LineKind::Lateral(_)))
        .collect();
    let pipes: Vec<_> = plan
        .hydraulics
        .pipes
        .iter()
        .filter(|pipe| is_lateral[pipe.line])
        .collect();
    let wanted: Length = inputs.get("inside")?;
    if pipes
        .iter()
        .any(|p| (p.inside - wanted).to_m().abs() > 1e-9)
    {
        bail!("the plan takes pipe of another inside diameter");
    }
    Ok(Value::of(
        pipes.iter().map(|p| p.friction).sum::<Pressure>(),
    ))
}

fn trench(inputs: &Inputs) -> Result<Value> {
    let stretches = &planned(inputs)?.network.stretches;
    Ok(Value::of(
        stretches.iter().map(|s| s.length).sum::<Length>(),
    ))
}

fn planned(inputs: &Inputs) -> Result<Plan> {
    let text = yard(
        inputs.number("heads")?,
        inputs.get::<Length>("spacing")?.to_m(),
        inputs.get("flow")?,
    );
    let reading = match job::read(&text, &ReadOptions::default()) {
        Ok(reading) => reading,
        Err(findings) => bail!("the yard is refused: {findings:?}"),
    };
    plan::plan(&reading.job, &|_| ControlFlow::Continue(()))
        .map_err(|error| anyhow!("the yard is not planned: {error:?}"))
}

/// The job: source, assembly and valve stand in line with the heads, 3 m from one another.
fn yard(heads: u32, spacing: f64, flow: Flow) -> String {
    let length = f64::from(heads) * spacing;
    let at = |x: f64| json!({"type": "Point", "coordinates": [x, 0.0]});
    let (east, west) = (length + 5.0, -11.0);
    let boundary = json!([
        [west, -5.0],
        [east, -5.0],
        [east, 5.0],
        [west, 5.0],
        [west, -5.0]
    ]);
    let source = json!({
        "kind": "source", "static_pressure": "90 psi", "test_flow": "30 gpm",
        "residual_pressure": "85 psi", "service_size": "1 in", "main_pipe": "pvc_sch40",
    });
    let soil = json!({"kind": "soil", "texture": "loam", "coarse": "0 %", "moisture": "moist"});
    let circuit = json!({"kind": "circuit", "name": "row", "pipe": "pe_sidr15"});
    let mut features = vec![
        feature(
            "P1",
            json!({"type": "Polygon", "coordinates": [boundary]}),
            json!({"kind": "boundary"}),
        ),
        feature(
            "BARE",
            Json::Null,
            json!({"kind": "surface", "surface": "bare_soil"}),
        ),
        feature("EARTH", Json::Null, soil),
        feature("A1", at(west), json!({"kind": "access"})),
        feature("W1", at(-6.0), source),
        feature("BF", at(-3.0), json!({"kind": "backflow"})),
        feature("C1", Json::Null, circuit),
        feature("V1", at(0.0), json!({"kind": "valve", "circuit": "C1"})),
    ];
    for head in 1..=heads {
        let needs = json!({
            "kind": "head", "circuit": "C1", "compensating": true, "flow": format!("{} m3/s", flow.to_m3s()),
            "pressure": "30 psi",
        });
        let place = at(f64::from(head) * spacing);
        features.push(feature(&format!("H{head}"), place, needs));
    }
    json!({
        "type": "FeatureCollection",
        "spadework": {
            "format": job::FORMAT, "name": "A row of heads (invented)", "invented": true,
            "length_unit": "m", "display": "si",
        },
        "features": features,
    })
    .to_string()
}

fn feature(id: &str, geometry: Json, properties: Json) -> Json {
    json!({"type": "Feature", "id": id, "geometry": geometry, "properties": properties})
}
