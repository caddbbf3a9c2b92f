//! Two variants side by side.

#![allow(clippy::unwrap_used, missing_docs)]

use job::{ReadOptions, Reading};
use plan::Plan;
use plan::compare::{Comparison, Stated, Variant, compare};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::ops::ControlFlow;

struct Planned {
    reading: Reading,
    plan: Plan,
}

fn planned(text: &str) -> Planned {
    let reading = job::read(text, &ReadOptions::default()).unwrap();
    let plan = plan::plan(&reading.job, &|_| ControlFlow::Continue(())).unwrap();
    Planned { reading, plan }
}

impl Planned {
    fn variant(&self) -> Variant<'_> {
        Variant {
            job: &self.reading.job,
            settings: &self.reading.settings,
            plan: &self.plan,
        }
    }
}

fn edited(text: &str, edit: impl FnOnce(&mut Value)) -> String {
    let mut value: Value = serde_json::from_str(text).unwrap();
    edit(&mut value);
    value.to_string()
}

fn feature<'a>(job: &'a mut Value, id: &str) -> &'a mut Value {
    let features = job["features"].as_array_mut().unwrap();
    features.iter_mut().find(|f| f["id"] == id).unwrap()
}

fn holds(a: &Planned, b: &Planned) -> Comparison {
    let there = compare(a.variant(), b.variant());
    let back = compare(b.variant(), a.variant());
    assert_eq!(there.mirrored(), back);
    assert_eq!(back.mirrored(), there);
    for same in [a, b] {
        let with_itself = compare(same.variant(), same.variant());
        assert!(with_itself.is_empty(), "{with_itself:#?}");
        assert_eq!(with_itself.mirrored(), with_itself);
    }
    let [groups, lines] = [&there.groups, &there.lines].map(|lines| {
        let change = lines.iter().map(|line| line.change());
        change.sum::<quantity::Money>()
    });
    assert_eq!(groups, lines);
    assert_eq!(lines, b.plan.price.cost - a.plan.price.cost);
    there
}

#[test]
fn another_pipe_and_another_source_are_named_with_what_came_of_them() {
    let a = planned(job::DEMO_COURTYARD);
    let text = edited(job::DEMO_COURTYARD, |job| {
        let source = feature(job, &a.reading.job.system.source.id);
        source["properties"]["static_pressure"] = json!("620 kPa");
        job["spadework"]["prices"]["labour"] = json!({"wage": 30});
    });
    let b = planned(&text);
    let compared = holds(&a, &b);
    assert!(!compared.is_empty());
    let told: Vec<(&str, &str)> = compared
        .inputs
        .iter()
        .map(|change| (change.subject.as_str(), change.field.as_str()))
        .collect();
    let source = a.reading.job.system.source.id.as_str();
    assert_eq!(
        told,
        [(source, "static_pressure"), ("prices labour.wage", "")]
    );
    assert_eq!(
        compared.inputs[1].before,
        Some(Stated::Word("36.0".to_owned()))
    );
    assert_eq!(
        compared.inputs[1].after,
        Some(Stated::Word("30".to_owned()))
    );
    let total = compared
        .sums
        .iter()
        .find(|pair| pair.what == "price before tax")
        .unwrap();
    assert!(
        total.change().unwrap().value < 0.0,
        "cheaper labour, a lower price"
    );
}

#[test]
fn a_head_that_is_gone_takes_its_trench_with_it() {
    let a = planned(job::DEMO_COURTYARD);
    let gone = a.reading.job.system.outlets[0].id.clone();
    let text = edited(job::DEMO_COURTYARD, |job| {
        let features = job["features"].as_array_mut().unwrap();
        features.retain(|f| f["id"] != gone.as_str());
    });
    let b = planned(&text);
    let compared = holds(&a, &b);
    let change = compared
        .inputs
        .iter()
        .find(|change| change.subject == gone)
        .unwrap();
    assert_eq!(change.after, None);
    assert!(change.before.is_some() && change.field.is_empty());
}

#[test]
fn the_same_job_in_other_units_asks_for_the_same() {
    let a = planned(job::DEMO_COURTYARD);
    let text = edited(job::DEMO_COURTYARD, |job| {
        let kpa = a.reading.job.system.source.static_pressure.to_kpa();
        let source = feature(job, &a.reading.job.system.source.id);
        source["properties"]["static_pressure"] = json!(format!("{} bar", kpa / 100.0));
    });
    assert!(
        compare(a.variant(), planned(&text).variant())
            .inputs
            .is_empty()
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3))]

    #[test]
    fn any_two_jobs_compare_both_ways(heads in 1u32..20, seed in 0u64..1000, other in 0u64..1000) {
        holds(&planned(&job::sample(heads, seed)), &planned(&job::sample(heads, other)));
    }
}
