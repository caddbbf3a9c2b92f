//! No job file makes the program fall over: it is refused with findings, or planned.

use crate::support::cases;
use proptest::prelude::*;
use serde_json::Value;
use std::ops::ControlFlow;

/// One slip in a job file.
#[derive(Debug, Clone)]
enum Slip {
    /// A number of the file, by its order, times or plus something.
    Number(usize, f64, f64),
    /// The number in a text such as `"18 in"`, times something.
    Text(usize, f64),
    Drop(usize),
    Double(usize),
    /// A feature takes the place of another in the order.
    Swap(usize, usize),
    /// A feature takes another's geometry.
    Geometry(usize, usize),
}

fn slip() -> impl Strategy<Value = Slip> {
    let any = 0usize..10_000;
    let factor = prop::sample::select(vec![-1.0, 0.0, 0.5, 1.01, 2.0, 10.0, 1e6, 1e-6]);
    prop_oneof![
        4 => (any.clone(), factor.clone(), -2.0..2.0).prop_map(|(n, k, d)| Slip::Number(n, k, d)),
        2 => (any.clone(), 0.8..1.2, -5.0..5.0).prop_map(|(n, k, d)| Slip::Number(n, k, d)),
        4 => (any.clone(), factor).prop_map(|(n, k)| Slip::Text(n, k)),
        2 => any.clone().prop_map(Slip::Drop),
        1 => any.clone().prop_map(Slip::Double),
        1 => (any.clone(), any.clone()).prop_map(|(a, b)| Slip::Swap(a, b)),
        1 => (any.clone(), any).prop_map(|(a, b)| Slip::Geometry(a, b)),
    ]
}

fn features(job: &mut Value) -> &mut Vec<Value> {
    job["features"].as_array_mut().unwrap()
}

fn apply(job: &mut Value, slip: &Slip) {
    let count = features(job).len().max(1);
    match *slip {
        Slip::Number(n, times, plus) => {
            let mut numbers = Vec::new();
            leaves(&mut job["features"], &|v| v.is_number(), &mut numbers);
            let index = n % numbers.len().max(1);
            if let Some(number) = numbers.into_iter().nth(index) {
                *number = serde_json::json!(number.as_f64().unwrap() * times + plus);
            }
        }
        Slip::Text(n, times) => {
            let is_amount = |v: &Value| v.as_str().is_some_and(|t| split(t).is_some());
            let mut texts = Vec::new();
            leaves(&mut job["features"], &is_amount, &mut texts);
            let index = n % texts.len().max(1);
            if let Some(text) = texts.into_iter().nth(index) {
                let (number, unit) = split(text.as_str().unwrap()).unwrap();
                *text = Value::from(format!("{} {unit}", number * times));
            }
        }
        Slip::Drop(n) => drop(features(job).remove(n % count)),
        Slip::Double(n) => {
            let mut twin = features(job)[n % count].clone();
            twin["id"] = Value::from("TWIN");
            features(job).push(twin);
        }
        Slip::Swap(a, b) => features(job).swap(a % count, b % count),
        Slip::Geometry(a, b) => {
            let from = features(job)[a % count]["geometry"].clone();
            features(job)[b % count]["geometry"] = from;
        }
    }
}

fn split(text: &str) -> Option<(f64, &str)> {
    let (number, unit) = text.split_once(' ')?;
    Some((number.parse().ok()?, unit))
}

fn leaves<'v>(value: &'v mut Value, wanted: &dyn Fn(&Value) -> bool, out: &mut Vec<&'v mut Value>) {
    if wanted(value) {
        out.push(value);
        return;
    }
    match value {
        Value::Array(list) => list.iter_mut().for_each(|v| leaves(v, wanted, out)),
        Value::Object(map) => map.values_mut().for_each(|v| leaves(v, wanted, out)),
        _ => {}
    }
}

fn survives(text: &str, slips: &[Slip]) {
    let mut value: Value = serde_json::from_str(text).unwrap();
    slips.iter().for_each(|slip| apply(&mut value, slip));
    match job::read(&value.to_string(), &job::ReadOptions::default()) {
        Err(findings) => assert!(!findings.is_empty()),
        Ok(reading) => match plan::plan(&reading.job, &|_| ControlFlow::Continue(())) {
            Ok(plan) => {
                assert!(plan.network.cost.is_finite());
                assert!(plan.price.total >= plan.price.cost);
            }
            Err(plan::PlanError::Findings(findings)) => assert!(!findings.is_empty()),
            Err(plan::PlanError::Stopped) => panic!("nobody stopped it"),
        },
    }
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn the_metric_demo_with_slips(slips in prop::collection::vec(slip(), 1..=3)) {
        survives(job::DEMO_COURTYARD, &slips);
    }

    #[test]
    fn a_sample_with_slips(slips in prop::collection::vec(slip(), 1..=3), seed in 0u64..50) {
        survives(&job::sample(6, seed), &slips);
    }
}
