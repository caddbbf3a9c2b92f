//! Every rule bites: a small job that stands, one change to it, the rule that has to speak.

use crate::{Finding, ReadOptions, Severity, read};
use serde_json::{Value, json};

/// The example of `docs/job-format.md`.
pub(crate) fn yard() -> Value {
    let page = include_str!("../../../../docs/job-format.md");
    let example = page.split("```json job\n").nth(1).unwrap();
    serde_json::from_str(example.split("```").next().unwrap()).unwrap()
}

fn findings(text: &str) -> Vec<Finding> {
    match read(text, &ReadOptions::default()) {
        Ok(reading) => reading.findings,
        Err(findings) => findings,
    }
}

#[test]
fn the_example_stands() {
    let found = findings(&yard().to_string());
    assert_eq!(found, []);
}
