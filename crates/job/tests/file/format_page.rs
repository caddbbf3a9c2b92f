//! What the page on the format says holds.

use std::collections::BTreeSet;

use job::{Basis, ReadOptions, Severity, read};
use serde_json::Value;

use crate::{PAGE, block, edited, findings, yard};

#[test]
fn the_example_is_read_without_a_finding() {
    let reading = read(block("json job"), &ReadOptions::default()).unwrap();
    assert_eq!(reading.findings, []);
    let job = reading.job;
    assert_eq!(job.system.outlets.len(), 3);
    assert!((job.system.outlets[0].at.x - 15.0 * 0.3048).abs() < 1e-12);
    assert!((job.system.source.static_pressure.to_psi() - 62.0).abs() < 1e-9);
    assert_eq!(job.valve_of("C1").map(|v| v.id.as_str()), Some("V1"));
}

#[test]
fn the_example_of_overrides_is_read_and_says_who_gave_the_values() {
    let overrides: Value = serde_json::from_str(block("json override")).unwrap();
    let edits: Vec<Value> = ["practice", "prices"]
        .iter()
        .map(|name| serde_json::json!([format!("/spadework/{name}"), overrides[name]]))
        .collect();
    let job = read(&edited(yard(), &edits).to_string(), &ReadOptions::default())
        .unwrap()
        .job;
    let lateral = &job.practice.cover.lateral;
    assert!((lateral.value.to_in() - 10.0).abs() < 1e-9);
    assert_eq!(
        (lateral.source.as_str(), lateral.basis),
        ("this job", Basis::Given)
    );
    assert_eq!(lateral.path, "practice cover.lateral");
    let limit = &job.practice.water.velocity.main;
    assert_eq!(limit.basis, Basis::Confirmed);
    assert_eq!(job.prices.labour.hour(), quantity::Money::cents(51_87));
    assert_eq!(job.prices.profit.by.value, job::ProfitBy::Markup);
    assert_eq!(job.prices.pipe["pe_sidr15"]["1 in"].value.to_cents(), 210);
}

#[test]
fn the_example_of_refusals_is_what_is_answered() {
    let slips = block("json job")
        .replacen("\"flow\": \"1.8 gpm\"", "\"flow\": \"0 gpm\"", 1)
        .replacen(
            "\"C1\", \"flow\": \"1.8 gpm\"",
            "\"C2\", \"flow\": \"1.8 gpm\"",
            1,
        )
        .replacen("[45, 5]", "[45, 35]", 1);
    let answer: String = findings(&slips)
        .iter()
        .map(|f| {
            let severity = match f.severity {
                Severity::Error => "error",
                Severity::Warning => "warning",
                Severity::Caution => "caution",
            };
            format!(
                "{severity} {} {}: {}\n  mend: {}\n",
                f.rule, f.subject, f.what, f.mend
            )
        })
        .collect();
    assert_eq!(answer, block("text findings"));
}

#[test]
fn every_kind_and_every_property_stands_on_the_page() {
    let schema = job::schema();
    for (kind, feature) in schema["$defs"].as_object().unwrap() {
        let Some(properties) = feature["properties"].get("properties") else {
            continue;
        };
        let row = PAGE
            .lines()
            .find(|line| line.starts_with(&format!("| `{kind}` |")));
        let row = row.unwrap_or_else(|| panic!("no row for {kind}"));
        let required = properties["required"].as_array().unwrap();
        for (name, _) in properties["properties"].as_object().unwrap() {
            let written = match required.contains(&Value::from(name.as_str())) {
                true => format!("`{name}`"),
                false => format!("*`{name}`*"),
            };
            let common = name == "kind" || name == "note";
            assert!(common || row.contains(&written), "{kind}: {written}");
        }
    }
    for name in schema["properties"]["spadework"]["properties"]
        .as_object()
        .unwrap()
        .keys()
    {
        assert!(PAGE.contains(&format!("| `{name}` |")), "{name}");
    }
}

#[test]
fn every_word_of_the_schema_stands_on_the_page() {
    fn words(schema: &Value, found: &mut BTreeSet<String>) {
        match schema {
            Value::Object(object) => {
                found.extend(
                    object
                        .get("const")
                        .and_then(Value::as_str)
                        .map(str::to_owned),
                );
                let listed = object.get("enum").and_then(Value::as_array);
                found.extend(
                    listed
                        .into_iter()
                        .flatten()
                        .filter_map(Value::as_str)
                        .map(str::to_owned),
                );
                object.values().for_each(|inner| words(inner, found));
            }
            Value::Array(list) => list.iter().for_each(|inner| words(inner, found)),
            _ => {}
        }
    }
    let mut found = BTreeSet::new();
    words(&job::schema()["$defs"], &mut found);
    assert!(found.len() > 50, "{found:?}");
    for word in found {
        assert!(PAGE.contains(&word), "{word}");
    }
}

#[test]
fn the_committed_schema_is_the_one_of_today() {
    let committed = include_str!("../../../../docs/job.schema.json");
    let today = serde_json::to_string_pretty(&job::schema()).unwrap() + "\n";
    assert!(
        committed == today,
        "write docs/job.schema.json anew: cargo xtask bless"
    );
}
