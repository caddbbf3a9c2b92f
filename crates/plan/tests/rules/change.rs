//! After a change the plan begins with the last one: it is whole, and costs no more than a plan from
//! nothing, but for what the search leaves to chance.

use crate::support::checker;
use crate::{plan_of, read};
use job::Job;
use plan::Plan;
use serde_json::{Value, json};
use std::ops::ControlFlow;

/// How much dearer the job may be than by a plan from nothing: a day of hire more or less is 2 % of it.
const DEARER: f64 = 0.03;

fn demo() -> Value {
    serde_json::from_str(job::DEMO).unwrap()
}

fn again(job: &Job, last: &Plan) -> Plan {
    plan::replan(job, last, &|_| ControlFlow::Continue(())).unwrap()
}

fn last() -> Plan {
    plan_of(&read(job::DEMO)).unwrap()
}

/// The plan after a change of the demo.
fn changed(change: impl FnOnce(&mut Value, &Plan)) -> Plan {
    let last = last();
    let mut text = demo();
    change(&mut text, &last);
    let job = read(&text.to_string());
    let again = again(&job, &last);
    assert_eq!(checker::faults(&job, &again.network), Vec::<String>::new());
    let fresh = plan_of(&job).unwrap();
    let [again_cents, fresh_cents] = [&again, &fresh].map(|plan| plan.price.total.to_cents());
    let most = fresh_cents as f64 * (1.0 + DEARER);
    assert!(
        again_cents as f64 <= most,
        "{again_cents} cents against {fresh_cents}"
    );
    again
}

#[test]
fn a_head_moves() {
    changed(|job, _| {
        let head = job["features"]
            .as_array_mut()
            .unwrap()
            .iter_mut()
            .find(|f| f["properties"]["kind"] == "head")
            .unwrap();
        let x = head["geometry"]["coordinates"][0].as_f64().unwrap();
        head["geometry"]["coordinates"][0] = json!(x + 1.5);
    });
}

#[test]
fn a_place_on_a_trench_is_kept_out() {
    let plan = changed(|job, last| {
        // The middle of the longest straight part, in the job's feet.
        let parts = last
            .network
            .stretches
            .iter()
            .flat_map(|s| s.path.windows(2));
        let longest = parts
            .max_by(|a, b| a[0].distance(a[1]).total_cmp(&b[0].distance(b[1])))
            .unwrap();
        let (x, y) = (
            (longest[0].x + longest[1].x) / 2.0 / 0.3048,
            (longest[0].y + longest[1].y) / 2.0 / 0.3048,
        );
        let ring = json!([[
            [x - 1.0, y - 1.0],
            [x + 1.0, y - 1.0],
            [x + 1.0, y + 1.0],
            [x - 1.0, y + 1.0],
            [x - 1.0, y - 1.0]
        ]]);
        job["features"].as_array_mut().unwrap().push(json!({
            "type": "Feature", "id": "ROCK",
            "geometry": {"type": "Polygon", "coordinates": ring},
            "properties": {"kind": "keep_out", "reason": "ledge"}
        }));
    });
    assert!(plan.network.cost > 0.0);
}

#[test]
fn nothing_changes() {
    let last = last();
    let again = again(&read(job::DEMO), &last);
    let [again_cents, last_cents] = [&again, &last].map(|plan| plan.price.total.to_cents());
    assert!(again_cents as f64 <= last_cents as f64 * (1.0 + DEARER));
    assert!(again.network.bound <= 0.0, "nothing was proven");
}

#[test]
fn a_plan_of_another_job_only_costs_time() {
    let job = read(job::DEMO_COURTYARD);
    let again = again(&job, &last());
    assert_eq!(checker::faults(&job, &again.network), Vec::<String>::new());
}
