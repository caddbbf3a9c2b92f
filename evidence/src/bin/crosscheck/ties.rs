//! How places are tied to fixed points by two tapes.

use anyhow::Result;
use job::{Job, Place};
use serde_json::{Value, json};
use staking::{Distance, FixedPoint, Tie, ties};

use crate::ground_questions::{feature, job_with, ring};
use crate::json::{list, point, polygon};

pub fn stake(question: &Value) -> Result<Value> {
    let mut buildings = Vec::new();
    for (index, outline) in list(&question["obstacles"])?.iter().enumerate() {
        let kind = json!({"kind": "obstacle", "obstacle": "building"});
        buildings.push(feature(&format!("B{index}"), ring(outline)?, kind));
    }
    let mut job = job_with(buildings)?;
    job.survey.boundary.polygon = polygon(&question["boundary"])?;
    let places = list(&question["places"])?
        .iter()
        .map(|place| Ok(point(place)?.into()))
        .collect::<Result<Vec<Place>>>()?;
    let (fixed, tied) = ties(&job, &places);
    let tied: Vec<Value> = tied
        .iter()
        .map(|tie| tie.as_ref().map_or(Value::Null, |tie| said(&fixed, tie)))
        .collect();
    Ok(json!({"tape": tape(&job), "ties": tied}))
}

fn said(fixed: &[FixedPoint], tie: &Tie) -> Value {
    let end = |distance: &Distance| {
        let at = fixed[distance.fixed].at;
        json!({"at": [at.x, at.y], "length_m": distance.length.si()})
    };
    json!({
        "first": end(&tie.first),
        "second": end(&tie.second),
        "side": tie.side.label(),
        "angle": tie.angle.si(),
        "error_m": tie.error.si(),
    })
}

/// What the practice says of tapes.
fn tape(job: &Job) -> Value {
    let staking = &job.practice.staking;
    let error = staking.tape_error();
    json!({
        "length_m": staking.tape_length.value.si(),
        "fixed_m": error.fixed.value.si(),
        "by_length": error.by_length.value.to_one(),
        "holding_m": staking.holding.value.si(),
        "least_turn": staking.least_turn.value.si(),
    })
}
