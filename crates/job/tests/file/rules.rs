//! Every rule bites: the small job with one change, and the rule that has to speak of it.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::{PAGE, edited, findings, yard};

/// `{ rule, subject, edits, severity? }`, a case a line; the edits are for the job on the page.
const CASES: &str = include_str!("rules.json");

/// Texts that are not even a feature collection, with the rule that speaks.
const TEXTS: [(&str, &str); 11] = [
    (
        "duplicate-member",
        "{ \"type\": \"FeatureCollection\", \"type\": 1 }",
    ),
    ("empty-file", ""),
    ("empty-file", " \n\t"),
    ("not-json", "boundary: here"),
    (
        "not-json",
        "{ \"type\": \"FeatureCollection\", \"features\": [ { \"id\": NaN } ] }",
    ),
    (
        "not-json",
        "{ \"type\": \"FeatureCollection\", \"features\": [ [ 1e999, 0 ] ] }",
    ),
    ("not-json", "{\"type\": \"FeatureCollection\""),
    ("not-a-feature-collection", "[1, 2]"),
    ("not-a-feature-collection", "{ \"type\": \"Feature\" }"),
    (
        "no-spadework-member",
        "{ \"type\": \"FeatureCollection\", \"features\": [] }",
    ),
    (
        "no-features",
        "{ \"type\": \"FeatureCollection\", \"features\": [] }",
    ),
];

fn cases() -> Vec<Value> {
    serde_json::from_str(CASES).unwrap()
}

/// The change makes the rule speak of the subject, with the severity, and nothing else is an error.
fn check(case: &Value) {
    let edits = case["edits"].as_array().unwrap();
    let found = findings(&edited(yard(), edits).to_string());
    let wanted = |f: &&job::Finding| f.rule == case["rule"] && f.subject == case["subject"];
    let finding = found
        .iter()
        .find(wanted)
        .unwrap_or_else(|| panic!("{case}\n{found:#?}"));
    let severity = serde_json::to_value(finding.severity).unwrap();
    let expected = case
        .get("severity")
        .cloned()
        .unwrap_or_else(|| "error".into());
    assert_eq!(severity, expected, "{case}");
    assert!(
        !finding.what.is_empty() && !finding.mend.is_empty(),
        "{finding:?}"
    );
    let says = case.get("says").and_then(Value::as_str).unwrap_or_default();
    let said = format!("{} {}", finding.what, finding.mend);
    assert!(said.contains(says), "{says:?} is not in {said:?}");
    let others = found.iter().filter(|f| f.rule != case["rule"]);
    let also = case
        .get("also")
        .and_then(Value::as_array)
        .cloned()
        .unwrap_or_default();
    let strangers: Vec<_> = others
        .filter(|f| !also.contains(&f.rule.as_str().into()))
        .collect();
    assert!(
        strangers.is_empty(),
        "{case}: one slip is reported as several: {strangers:#?}"
    );
}

#[test]
fn every_slip_is_named_by_its_rule() {
    cases().iter().for_each(check);
}

#[test]
fn every_text_that_is_no_job_is_refused_by_its_rule() {
    for (rule, text) in TEXTS {
        let found = findings(text);
        assert!(found.iter().any(|f| f.rule == rule), "{text}\n{found:#?}");
    }
}

#[test]
fn what_is_not_json_is_placed_and_nan_explained() {
    let found = findings("{\n \"type\": NaN\n}");
    assert!(found[0].what.contains("line 2"), "{found:?}");
    assert!(found[0].mend.contains("JSON has no NaN"), "{found:?}");
}

#[test]
fn several_slips_are_all_reported() {
    let edits: Vec<Value> = [
        "duplicate-id",
        "unknown-property",
        "unknown-circuit",
        "outside-boundary",
        "unknown-size",
    ]
    .iter()
    .flat_map(|rule| {
        let all = cases();
        let case = all.iter().find(|c| c["rule"] == *rule).unwrap();
        case["edits"].as_array().unwrap().clone()
    })
    .collect();
    let found = findings(&edited(yard(), &edits).to_string());
    let rules: BTreeSet<&str> = found.iter().map(|f| f.rule.as_str()).collect();
    assert!(rules.len() >= 5, "{found:#?}");
}

#[test]
fn more_places_for_manifolds_than_anybody_chooses_from_are_refused() {
    let place = |n: usize| {
        serde_json::json!(["/features/-", {
            "type": "Feature", "id": format!("MF{n}"), "properties": {"kind": "manifold"},
            "geometry": {"type": "Point", "coordinates": [5.0 + n as f64 / 10.0, 25]},
        }])
    };
    let with = |count: usize| {
        let edits: Vec<Value> = (0..count).map(place).collect();
        findings(&edited(yard(), &edits).to_string())
    };
    assert_eq!(with(60), []);
    let found = with(61);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].rule, "too-many-manifolds");
}

#[test]
fn every_rule_on_the_page_has_a_case_and_every_case_a_rule_on_the_page() {
    let listed = PAGE.split("## Rules\n").nth(1).unwrap();
    let on_page: BTreeSet<String> = listed
        .lines()
        .filter_map(|line| {
            line.strip_prefix("| `")?
                .split('`')
                .next()
                .map(str::to_owned)
        })
        .collect();
    let mut with_case: BTreeSet<String> =
        TEXTS.iter().map(|(rule, _)| (*rule).to_owned()).collect();
    with_case.extend(
        cases()
            .iter()
            .map(|c| c["rule"].as_str().unwrap().to_owned()),
    );
    // These have tests of their own: they need a large text, or the user's own file.
    with_case.extend(
        [
            "file-too-large",
            "more-findings",
            "not-toml",
            "too-many-manifolds",
            "too-many-places",
        ]
        .map(str::to_owned),
    );
    assert_eq!(on_page, with_case);
}
