//! Bad input: the exit code is 2, the message names the thing and the mend, nothing is written.

#![allow(clippy::unwrap_used)] // helpers of tests fail where a test would

mod support;

use serde_json::{Value, json};
use std::io::Write;
use support::{Yard, feature_mut, remove, small_job};

/// Checks and plans a file that is wrong; both have to name every one of the words.
fn refused(yard: &Yard, file: &str, words: &[&str]) {
    for args in [
        vec!["check", file],
        vec!["plan", file, "--out", "results"],
        vec!["why", file, "price.total"],
    ] {
        let said = yard.run(&args);
        let all = said.all();
        assert_eq!(said.code, 2, "{args:?}: {all}");
        for word in words {
            assert!(all.contains(word), "{args:?} does not name {word}: {all}");
        }
        assert!(all.contains("mend: "), "{args:?} says no mend: {all}");
        assert!(!all.contains("panicked"), "{all}");
        assert!(!yard.path("results").exists(), "{args:?} wrote something");
    }
}

/// A job spoilt by `spoil` is refused with the words.
fn spoilt(spoil: impl Fn(&mut Value), words: &[&str]) {
    let yard = Yard::new();
    let mut job = small_job();
    spoil(&mut job);
    yard.write("job.json", job.to_string());
    refused(&yard, "job.json", words);
}

#[test]
fn the_job_that_the_others_spoil_is_itself_in_order() {
    let yard = Yard::new();
    yard.write("job.json", small_job().to_string());
    let out = yard.ok(&["check", "job.json"]);
    assert!(out.contains("0 errors"), "{out}");
}

#[test]
fn text_that_is_not_json() {
    let yard = Yard::new();
    yard.write("job.json", "{ \"type\": FeatureCollection }");
    refused(&yard, "job.json", &["JSON", "line 1"]);
}

#[test]
fn a_version_of_the_format_that_is_not_known() {
    spoilt(
        |job| job["spadework"]["format"] = json!(99),
        &["format", "99"],
    );
}

#[test]
fn numbers_that_are_not_numbers() {
    let yard = Yard::new();
    let text = small_job().to_string().replace("[20.0,10.0]", "[NaN,10.0]");
    assert!(text.contains("NaN"));
    yard.write("job.json", text);
    refused(&yard, "job.json", &["JSON"]);
    let with_unit =
        |job: &mut Value| feature_mut(job, "H2")["properties"]["flow"] = json!("NaN gpm");
    spoilt(with_unit, &["H2", "flow", "NaN gpm"]);
}

#[test]
fn a_polygon_that_crosses_itself() {
    let ring = json!([[[20, 25], [40, 36], [40, 25], [20, 36], [20, 25]]]);
    spoilt(
        |job| feature_mut(job, "B1")["geometry"]["coordinates"] = ring.clone(),
        &["B1", "cross"],
    );
}

#[test]
fn a_head_outside_the_boundary() {
    let spoil = |job: &mut Value| {
        feature_mut(job, "H3")["geometry"]["coordinates"] = json!([90, 10]);
    };
    spoilt(spoil, &["H3", "outside"]);
}

#[test]
fn a_head_inside_a_building() {
    let spoil = |job: &mut Value| {
        feature_mut(job, "H3")["geometry"]["coordinates"] = json!([30, 30]);
    };
    spoilt(spoil, &["H3", "B1"]);
}

#[test]
fn a_circuit_that_is_not_there() {
    let spoil = |job: &mut Value| feature_mut(job, "H3")["properties"]["circuit"] = json!("C9");
    spoilt(spoil, &["H3", "C9"]);
}

#[test]
fn an_id_that_is_there_twice() {
    spoilt(|job| feature_mut(job, "H3")["id"] = json!("H2"), &["H2"]);
}

#[test]
fn a_valve_that_no_trench_can_reach() {
    let walls = json!({"type": "Feature", "id": "W1",
        "geometry": {"type": "LineString", "coordinates":
            [[46, 20], [58, 20], [58, 32], [46, 32], [46, 20]]},
        "properties": {"kind": "obstacle", "obstacle": "wall"}});
    let spoil = |job: &mut Value| {
        job["features"].as_array_mut().unwrap().push(walls.clone());
        feature_mut(job, "V1")["geometry"]["coordinates"] = json!([52, 26]);
    };
    spoilt(spoil, &["V1"]);
}

#[test]
fn no_source() {
    spoilt(|job| remove(job, "SRC"), &["source"]);
}

#[test]
fn a_head_without_flow() {
    let spoil = |job: &mut Value| feature_mut(job, "H1")["properties"]["flow"] = json!("0 gpm");
    spoilt(spoil, &["H1", "flow"]);
}

#[test]
fn an_empty_file() {
    let yard = Yard::new();
    yard.write("job.json", "");
    refused(&yard, "job.json", &["empty"]);
}

#[test]
fn two_hundred_megabytes_of_noise() {
    let yard = Yard::new();
    let mut file = std::fs::File::create(yard.path("noise.json")).unwrap();
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut block = vec![0_u8; 1 << 20];
    for _ in 0..200 {
        for byte in &mut block {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            *byte = (state >> 56) as u8;
        }
        file.write_all(&block).unwrap();
    }
    drop(file);
    refused(&yard, "noise.json", &["noise.json", "too large"]);
}

#[test]
fn a_missing_file_and_a_folder() {
    let yard = Yard::new();
    refused(&yard, "nowhere.json", &["nowhere.json"]);
    std::fs::create_dir(yard.path("sites")).unwrap();
    refused(&yard, "sites", &["sites", "folder"]);
}

#[test]
fn bytes_that_are_not_utf_8() {
    let yard = Yard::new();
    let mut bytes = br#"{"type": "caf"#.to_vec();
    bytes.extend([0xe9, b'"', b'}']);
    yard.write("job.json", bytes);
    refused(&yard, "job.json", &["job.json", "UTF-8", "byte 13"]);
}

#[test]
fn a_practice_file_that_is_wrong_or_missing() {
    let yard = Yard::new();
    yard.write("job.json", small_job().to_string());
    yard.write("local.toml", "[cover]\nlaterall = \"10 in\"\n");
    let said = yard.run(&["check", "job.json", "--practice", "local.toml"]);
    assert_eq!(said.code, 2, "{}", said.all());
    assert!(said.all().contains("laterall"), "{}", said.all());
    let said = yard.run(&["check", "job.json", "--prices", "nowhere.toml"]);
    assert_eq!(said.code, 2);
    assert!(
        said.all().contains("price file nowhere.toml"),
        "{}",
        said.all()
    );
}

#[test]
fn several_problems_are_all_named_at_once() {
    let spoil = |job: &mut Value| {
        feature_mut(job, "H1")["properties"]["flow"] = json!("0 gpm");
        feature_mut(job, "H2")["properties"]["circuit"] = json!("C9");
        feature_mut(job, "H3")["geometry"]["coordinates"] = json!([90, 10]);
    };
    spoilt(spoil, &["H1", "H2", "H3"]);
}
