//! Drawings that are read, refused, and taken back.

use super::*;
use crate::{Imported, Mapping, Options, Target};
use job::{Document, Finding, LengthUnit};
use serde_json::Value;

/// A drawing of entities, each a list of codes and values between blanks.
fn drawing(unit: u8, blocks: &str, entities: &str) -> Vec<u8> {
    let lines = |text: &str| {
        text.split_whitespace()
            .map(|word| format!("{word}\n"))
            .collect::<String>()
    };
    let text = format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n{unit}\n0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n\
         {}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n",
        lines(blocks),
        lines(entities)
    );
    text.into_bytes()
}

fn read_with(bytes: &[u8], pairs: &[&str]) -> Result<Imported, Vec<Finding>> {
    let mapping = Mapping::from_pairs(pairs).unwrap();
    read(
        bytes,
        &Target::new(LengthUnit::M),
        &mapping,
        &Options::default(),
    )
}

fn rule(bytes: &[u8]) -> String {
    read_with(bytes, &["*=boundary"]).unwrap_err()[0]
        .rule
        .clone()
}

#[test]
fn lines_that_nearly_close_become_areas_in_the_unit_of_the_header() {
    let square = "0 LWPOLYLINE 8 PROP 70 0 10 0 20 0 10 100 20 0 10 100 20 100 10 0 20 1";
    let read = read_with(&drawing(1, "", square), &["prop=boundary"]).unwrap();
    let ring = &read.features[0]["geometry"]["coordinates"][0];
    assert_eq!(
        *ring,
        serde_json::json!([[0, 0], [2.54, 0], [2.54, 2.54], [0, 0]])
    );
    assert!(
        read.report.text().contains("closed"),
        "{}",
        read.report.text()
    );
}

#[test]
fn a_layer_without_a_rule_is_left_and_the_report_says_how_to_map_it() {
    let read = read_with(&drawing(6, "", "0 LINE 8 X-TEXT 10 0 20 0 11 5 21 5"), &[]).unwrap();
    assert!(read.features.is_empty());
    assert!(
        read.report.text().contains("X-TEXT=KIND"),
        "{}",
        read.report.text()
    );
}

#[test]
fn blocks_become_heads_with_their_attributes_and_arrays_are_laid_out() {
    let entities = "0 INSERT 8 0 2 HEAD-A 10 5 20 5 70 2 71 2 44 3 45 4 66 1 \
                    0 ATTRIB 8 0 2 ID 1 H7 0 ATTRIB 8 0 2 CIRCUIT 1 C1 0 SEQEND 8 0";
    let read = read_with(&drawing(6, "", entities), &["HEAD*=head,flow=1.8 gpm"]).unwrap();
    assert_eq!(read.features.len(), 4);
    assert_eq!(read.features[0]["id"], "H7");
    assert_eq!(
        read.features[3]["geometry"]["coordinates"],
        serde_json::json!([8, 9])
    );
    assert_eq!(read.features[3]["properties"]["circuit"], "C1");
}

#[test]
fn nested_blocks_are_turned_and_scaled() {
    let blocks = "0 BLOCK 2 IN 10 1 20 0 0 LINE 8 0 10 1 20 0 11 2 21 0 0 ENDBLK \
                  0 BLOCK 2 OUT 10 0 20 0 0 INSERT 8 0 2 IN 10 10 20 0 50 90 0 ENDBLK";
    let entities = "0 INSERT 8 WALL 2 OUT 10 100 20 0 41 2 42 2";
    let read = read_with(
        &drawing(6, blocks, entities),
        &["wall=obstacle,obstacle=wall"],
    )
    .unwrap();
    let line = &read.features[0]["geometry"]["coordinates"];
    assert_eq!(*line, serde_json::json!([[120, 0], [120, 2]]));
}

#[test]
fn blocks_that_hold_themselves_are_named() {
    let blocks = "0 BLOCK 2 A 0 INSERT 8 0 2 B 10 0 20 0 0 ENDBLK 0 BLOCK 2 B 0 INSERT 8 0 2 A 10 0 20 0 0 ENDBLK";
    let entities = "0 INSERT 8 0 2 A 10 0 20 0";
    let findings = read_with(&drawing(6, blocks, entities), &[]).unwrap_err();
    assert_eq!(findings[0].rule, "dxf-cyclic-block");
    assert!(findings[0].what.contains("a in b in a"), "{findings:?}");
}

#[test]
fn blocks_that_multiply_end_with_a_finding() {
    let mut blocks = "0 BLOCK 2 B0 0 POINT 8 0 10 0 20 0 0 ENDBLK ".to_owned();
    for n in 1..10 {
        let insert = format!("0 INSERT 8 0 2 B{} 10 0 20 0 ", n - 1).repeat(10);
        blocks += &format!("0 BLOCK 2 B{n} {insert} 0 ENDBLK ");
    }
    let bytes = drawing(6, &blocks, "0 INSERT 8 0 2 B9 10 0 20 0");
    let findings = read_with(&bytes, &["0=boundary"]).unwrap_err();
    assert_eq!(findings[0].rule, "dxf-blocks-too-deep");
}

#[test]
fn bad_files_are_named_with_their_line() {
    assert_eq!(rule(b""), "empty-file");
    assert_eq!(rule(b"hello\nworld\n"), "dxf-no-group-code");
    assert_eq!(rule(b"0\nLINE\n"), "not-dxf");
    assert_eq!(rule(b"AC1027\0\0\0"), "dxf-not-text");
    assert_eq!(rule(b"PK\x03\x04zipzip"), "dxf-not-text");
    assert_eq!(rule(&drawing(3, "", "0 POINT 8 0 10 0 20 0")), "dxf-unit");
    let whole = drawing(6, "", "0 LINE 8 0 10 0 20 0 11 5 21 5");
    assert_eq!(rule(&whole[..whole.len() - 24]), "dxf-cut-off");
    let text = String::from_utf8(whole)
        .unwrap()
        .replace("\n11\n", "\neleven\n");
    let findings = read_with(text.as_bytes(), &[]).unwrap_err();
    assert!(findings[0].what.contains("line ") && findings[0].what.contains("eleven"));
}

#[test]
fn entities_without_their_numbers_are_left() {
    let entities =
        "0 LINE 8 W 10 nan 20 0 11 5 21 5 0 CIRCLE 8 W 10 0 20 0 40 -3 0 MTEXT 8 W 1 hello";
    let read = read_with(&drawing(6, "", entities), &["w=obstacle,obstacle=wall"]).unwrap();
    assert!(
        read.features.is_empty() && read.report.left.len() == 3,
        "{}",
        read.report.text()
    );
}

/// With every number as a real one.
fn plain(value: &Value) -> Value {
    match value {
        Value::Number(number) => Value::from(number.as_f64()),
        Value::Array(list) => list.iter().map(plain).collect(),
        Value::Object(map) => map
            .iter()
            .map(|(name, value)| (name.clone(), plain(value)))
            .collect(),
        other => other.clone(),
    }
}

fn sorted(features: &[Value]) -> Vec<Value> {
    let mut all: Vec<Value> = features
        .iter()
        .filter(|f| !f["geometry"].is_null())
        .cloned()
        .collect();
    all.sort_by_key(|feature| feature["id"].to_string());
    all
}

#[test]
fn a_job_comes_back_as_far_as_a_drawing_holds_it() {
    let sample = job::sample(150, 3);
    for text in job::DEMOS.into_iter().chain([sample.as_str()]) {
        let document = Document::of(text).unwrap();
        let written = write(&document, &[]).unwrap();
        let unit = serde_json::from_value(document.header["length_unit"].clone()).unwrap();
        let target = Target::new(unit);
        let back = read(
            written.text.as_bytes(),
            &target,
            &Mapping::default(),
            &Options::default(),
        )
        .unwrap();
        for (was, is) in sorted(&document.features)
            .iter()
            .zip(sorted(&back.features))
        {
            assert_eq!(plain(was), plain(&is));
        }
        assert_eq!(sorted(&document.features).len(), back.features.len());
        assert!(back.report.left.is_empty(), "{}", back.report.text());
    }
}

#[test]
fn a_feature_that_was_copied_in_the_drawing_gets_an_id_of_its_own() {
    let document = Document::of(job::DEMO_COURTYARD).unwrap();
    let text = write(&document, &[]).unwrap().text;
    // Every entity a second time.
    let begin = text.find("ENTITIES\n").unwrap() + 9;
    let end = begin + text[begin..].find("  0\nENDSEC").unwrap();
    let twice = format!("{}{}{}", &text[..end], &text[begin..end], &text[end..]);
    let read = read_with(twice.as_bytes(), &[]).unwrap();
    let mut ids: Vec<&str> = read
        .features
        .iter()
        .filter_map(|f| f["id"].as_str())
        .collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count);
    assert!(read.report.text().contains("copied"));
}
