//! `spadework compare`: two variants side by side, and what is said if one is wrong.

#![allow(clippy::unwrap_used)] // helpers of tests fail where a test would

mod support;

use serde_json::json;
use std::fs;
use support::{Yard, feature_mut, names, small_job};

fn two() -> Yard {
    let yard = Yard::new();
    yard.write("a.json", small_job().to_string());
    let mut other = small_job();
    feature_mut(&mut other, "C1")["properties"]["pipe"] = json!("pe_sidr15");
    feature_mut(&mut other, "SRC")["properties"]["static_pressure"] = json!("80 psi");
    other["spadework"]["prices"] = json!({"profit": {"by": "markup", "share": "25 %"}});
    yard.write("b.json", other.to_string());
    yard
}

#[test]
fn what_is_asked_and_what_comes_of_it_stand_side_by_side() {
    let yard = two();
    let out = yard.ok(&["compare", "a.json", "b.json"]);
    for words in [
        "What is asked differently",
        "pe_sidr15",
        "80.0 psi",
        "prices profit.by",
        "markup",
        "Cost by group",
        "labour",
        "working days on site",
        "pressure to spare at the head with least",
        "Pipe",
        "polyethylene",
    ] {
        assert!(out.contains(words), "{words} is missing in\n{out}");
    }
    let widest = out.lines().map(|line| line.chars().count()).max().unwrap();
    assert!(widest <= 130, "a line of {widest} characters:\n{out}");
    let si = yard.ok(&["compare", "a.json", "b.json", "--units", "si"]);
    assert!(si.contains("kPa") && !si.contains("80.0 psi"), "{si}");
    assert_eq!(
        out,
        yard.ok(&["compare", "a.json", "b.json"]),
        "the same bytes"
    );
}

#[test]
fn a_job_does_not_differ_from_itself() {
    let yard = two();
    let out = yard.ok(&["compare", "a.json", "a.json"]);
    assert!(out.contains("Nothing differs"), "{out}");
    assert!(!out.contains("What is asked differently"), "{out}");
}

#[test]
fn the_comparison_is_written_as_text_and_table() {
    let yard = two();
    let out = yard.ok(&["compare", "a.json", "b.json", "--out", "results"]);
    assert_eq!(names(&yard.path("results")), ["compare.csv", "compare.txt"]);
    let text = fs::read_to_string(yard.path("results/compare.txt")).unwrap();
    assert_eq!(text, out);
    let mut rows = csv::Reader::from_path(yard.path("results/compare.csv")).unwrap();
    let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    for part in [
        "file", "input", "price", "group", "line", "figure", "method", "pipe",
    ] {
        assert!(rows.iter().any(|row| &row[0] == part), "{part} in {rows:?}");
    }
    // A second run replaces its own, and nothing else is ever touched.
    yard.ok(&["compare", "b.json", "a.json", "--out", "results"]);
    yard.write("results/mine.txt", "mine");
    assert_eq!(
        yard.run(&["compare", "a.json", "b.json", "--out", "results"])
            .code,
        2
    );
}

#[test]
fn everything_wrong_with_both_files_is_named_with_its_file() {
    let yard = two();
    let mut first = small_job();
    feature_mut(&mut first, "H2")["properties"]["flow"] = json!("2 gallons");
    yard.write("a.json", first.to_string());
    let mut second = small_job();
    second["spadework"]["prices"] = json!({"profit": {"share": "100 %"}, "labour": {"hour": 48}});
    yard.write("b.json", second.to_string());
    let said = yard.run(&["compare", "a.json", "b.json", "--out", "results"]);
    assert_eq!(said.code, 2, "{}", said.all());
    for words in ["a.json", "H2", "gallons", "b.json", "labour.hour", "mend: "] {
        assert!(said.err.contains(words), "{words}: {}", said.err);
    }
    assert!(!yard.path("results").exists());
    let said = yard.run(&["compare", "nowhere.json", "b.json"]);
    assert_eq!(said.code, 2);
    assert!(
        said.err.contains("nowhere.json") && said.err.contains("b.json"),
        "{}",
        said.err
    );
}
