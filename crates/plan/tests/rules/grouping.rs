//! Jobs whose heads name no circuit are planned like any other.

use crate::{plan_of, read};
use job::{Job, Severity};
use quantity::Pressure;

fn garden() -> Job {
    read(job::DEMO_GARDEN)
}

#[test]
fn the_circuits_proposed_are_planned_and_fed() {
    let job = garden();
    let plan = plan_of(&job).unwrap();
    let grouping = plan.grouping.as_ref().unwrap();
    let planned = plan.planned(&job);
    assert_eq!(planned.ungrouped().count(), 0);
    let names: Vec<&str> = plan
        .hydraulics
        .circuits
        .iter()
        .map(|c| c.circuit.as_str())
        .collect();
    let proposed: Vec<&str> = grouping
        .circuits
        .iter()
        .map(|c| c.circuit.as_str())
        .collect();
    assert_eq!(names, proposed);
    assert_eq!(plan.hydraulics.outlets.len(), job.system.outlets.len());
    // The allowance for pipes was enough: sizing gives every head its pressure.
    for outlet in &plan.hydraulics.outlets {
        assert!(
            outlet.pressure >= outlet.needs - Pressure::pa(1.0),
            "{outlet:?}"
        );
    }
    for (result, proposed) in plan.hydraulics.circuits.iter().zip(&grouping.circuits) {
        assert!((result.asked / proposed.flow - 1.0).abs() < 1e-9);
    }
    assert!(plan.workings.get("grouping.cost").is_some());
    assert!(plan.findings.iter().any(|f| f.rule == "circuits-proposed"));
}

#[test]
fn a_plan_with_circuits_proposed_is_read_as_it_was_written() {
    let plan = plan_of(&garden()).unwrap();
    let text = serde_json::to_string(&plan).unwrap();
    let back: plan::Plan = serde_json::from_str(&text).unwrap();
    let circuits = |plan: &plan::Plan| {
        let all = plan.grouping.clone().unwrap().circuits.into_iter();
        all.map(|c| (c.circuit, c.valve, c.manifold, c.outlets, c.why))
            .collect::<Vec<_>>()
    };
    assert_eq!(circuits(&back), circuits(&plan));
    assert_eq!(
        back.planned(&garden()).system.valves.len(),
        circuits(&plan).len()
    );
}

#[test]
fn after_a_small_change_the_circuits_stay_and_after_a_great_one_they_are_found_anew() {
    let last = plan_of(&garden()).unwrap();
    let again =
        |job: &Job| plan::replan(job, &last, &|_| std::ops::ControlFlow::Continue(())).unwrap();
    let circuits = |plan: &plan::Plan| {
        let all = plan.grouping.clone().unwrap().circuits.into_iter();
        all.map(|c| (c.circuit, c.manifold, c.outlets))
            .collect::<Vec<_>>()
    };
    let mut job = garden();
    job.system.outlets[3].at.x -= 0.3;
    let moved = again(&job);
    assert_eq!(circuits(&moved), circuits(&last));
    assert!(moved.workings.get("grouping.bound").is_none());
    job.system.outlets[3].flow = job.system.outlets[3].flow * 5.0;
    let thirsty = again(&job);
    assert_ne!(circuits(&thirsty), circuits(&last));
    assert!(thirsty.workings.get("grouping.bound").is_some());
}

#[test]
fn a_job_with_circuits_has_no_grouping() {
    assert_eq!(plan_of(&read(job::DEMO_COURTYARD)).unwrap().grouping, None);
}

#[test]
fn heads_that_cannot_run_are_named_before_anything_is_planned() {
    let mut job = garden();
    job.system.outlets[0].pressure = Pressure::kpa(470.0);
    let found = plan::check(&job);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].rule, "head-beyond-source");
    assert_eq!(found[0].severity, Severity::Error);
    let refused = plan::plan(&job, &|_| std::ops::ControlFlow::Continue(()));
    assert_eq!(refused, Err(plan::PlanError::Findings(found)));
}
