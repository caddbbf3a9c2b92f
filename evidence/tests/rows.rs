//! The rows of the repository, and what the program makes of rows that are wrong.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use evidence::{STAGES, Status, Value, read_folder, run, shortcomings, value_of};

fn own() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("rows")
}

#[test]
fn every_row_holds_and_every_stage_has_evidence() {
    let rows = read_folder(&own()).unwrap();
    let verdicts = run(&rows);
    assert_eq!(shortcomings(&verdicts), Vec::<String>::new());
    let counting = verdicts.iter().filter(|v| v.counts()).count();
    assert!(counting >= 60, "{counting} rows count");
    let published = |v: &&evidence::Verdict| {
        v.held() && v.row.stage == "digging" && v.row.status == Status::Confirmed
    };
    let digging = verdicts.iter().filter(published).count();
    assert!(
        digging >= 40,
        "{digging} rows of digging are published figures"
    );
}

#[test]
fn no_row_stands_twice() {
    let rows = read_folder(&own()).unwrap();
    let mut seen = BTreeSet::new();
    for row in &rows {
        let key = (&row.stage, &row.quantity, &row.inputs, &row.source);
        assert!(seen.insert(key), "{}: {key:?} stands twice", row.place);
    }
}

/// A remembered or self-made value is no evidence, whatever the practice says of it.
#[test]
fn what_the_practice_calls_confirmed_has_a_row_that_is() {
    let practice: toml::Table = job::DEFAULT_PRACTICE.parse().unwrap();
    let mut wanted = Vec::new();
    confirmed("", &practice, &mut wanted);
    assert!(wanted.len() > 30);
    let rows = read_folder(&own()).unwrap();
    let shown: BTreeSet<&str> = rows
        .iter()
        .filter(|row| row.status == Status::Confirmed && row.quantity == "practice value")
        .filter_map(|row| row.inputs.strip_prefix("name="))
        .collect();
    let without: Vec<&String> = wanted
        .iter()
        .filter(|name| !shown.contains(name.as_str()))
        .collect();
    assert!(
        without.is_empty(),
        "confirmed, and no row shows it: {without:?}"
    );
}

/// A row may not say more for a number than the file that holds it, nor less.
#[test]
fn rows_and_practice_agree_on_what_a_value_rests_on() {
    let mut held = 0;
    for row in read_folder(&own()).unwrap() {
        if row.quantity == "practice value" {
            let Ok(Value::Word(basis)) = value_of("practice basis", &row.inputs) else {
                panic!("{}: no basis", row.place)
            };
            assert_eq!(
                basis,
                row.status.to_string(),
                "{}: {}",
                row.place,
                row.inputs
            );
            held += 1;
        }
    }
    assert!(held > 30);
}

/// The names of all values with `basis = "confirmed"`.
fn confirmed(path: &str, table: &toml::Table, found: &mut Vec<String>) {
    if table.get("basis").and_then(toml::Value::as_str) == Some("confirmed") {
        found.push(path.to_owned());
    }
    for (key, value) in table {
        if let Some(inner) = value.as_table() {
            let name = if path.is_empty() {
                key.clone()
            } else {
                format!("{path}.{key}")
            };
            confirmed(&name, inner, found);
        }
    }
}

fn evidence(folder: &Path) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_evidence"));
    let ran = program.arg(folder).output();
    ran.expect("the program was built with this test")
}

const HEADER: &str = "stage,quantity,inputs,expected,unit,tolerance,source,status,note\n";

#[test]
fn a_wrong_row_is_named_and_fails_the_run() {
    let folder = tempfile::tempdir().unwrap();
    let row = "wire,gauge resistance,gauge=14 AWG,3.2,ohm/kft,exact,made up,confirmed,\n";
    std::fs::write(folder.path().join("wire.csv"), format!("{HEADER}{row}")).unwrap();
    let output = evidence(folder.path());
    assert_eq!(output.status.code(), Some(1));
    let text = String::from_utf8(output.stdout).unwrap();
    let says = "wire.csv line 2: gauge resistance (gauge=14 AWG): expected 3.2 ohm/kft, \
                computed 3.07, tolerance exact";
    assert!(text.contains(says), "{text}");
}

#[test]
fn an_empty_set_fails_the_run() {
    let folder = tempfile::tempdir().unwrap();
    for file in ["", HEADER] {
        if !file.is_empty() {
            for stage in STAGES {
                std::fs::write(folder.path().join(format!("{stage}.csv")), file).unwrap();
            }
        }
        let output = evidence(folder.path());
        assert_eq!(output.status.code(), Some(1));
        let text = String::from_utf8(output.stdout).unwrap();
        assert!(text.contains("no row was held against anything"), "{text}");
    }
}

#[test]
fn a_stray_file_and_a_row_that_does_not_read_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let stray = folder.path().join("wires.csv");
    std::fs::write(&stray, HEADER).unwrap();
    let error = String::from_utf8(evidence(folder.path()).stderr).unwrap();
    assert!(error.contains("wires.csv is of no stage"), "{error}");
    std::fs::remove_file(stray).unwrap();
    let row = "wire,gauge resistance,gauge=14 AWG,3.07,ohm/kft,exact,made up,sure,\n";
    std::fs::write(folder.path().join("wire.csv"), format!("{HEADER}{row}")).unwrap();
    let output = evidence(folder.path());
    assert_eq!(output.status.code(), Some(1));
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(error.contains("wire.csv line 2"), "{error}");
}
