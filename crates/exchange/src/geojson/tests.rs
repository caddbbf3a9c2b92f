//! Jobs on the Earth and back, files from elsewhere, and files that are refused.

use super::*;
use job::{Document, LengthUnit};
use serde_json::json;

const ANCHOR: &str =
    r#"{"longitude": -105.2, "latitude": 39.9, "rotation": 12.5, "height": "1620 m"}"#;

fn anchored(text: &str) -> Document {
    let mut document = Document::of(text).unwrap();
    document
        .header
        .insert("anchor".to_owned(), serde_json::from_str(ANCHOR).unwrap());
    document
}

fn read_plain(value: &Value) -> Result<Imported, Vec<Finding>> {
    let target = Target::new(LengthUnit::M);
    read(
        value.to_string().as_bytes(),
        &target,
        &Mapping::default(),
        &Options::default(),
    )
}

/// Rings may run the other way round.
fn places(feature: &Value) -> Vec<(f64, f64)> {
    fn collect(value: &Value, out: &mut Vec<(f64, f64)>) {
        match pair(value) {
            Some(at) => out.push(at),
            None => value
                .as_array()
                .into_iter()
                .flatten()
                .for_each(|part| collect(part, out)),
        }
    }
    let mut out = Vec::new();
    collect(&feature["geometry"]["coordinates"], &mut out);
    out.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    out
}

#[test]
fn a_job_comes_back_complete() {
    let sample = job::sample(120, 7);
    for text in job::DEMOS.into_iter().chain([sample.as_str()]) {
        let document = anchored(text);
        let written = write(&document, &[]).unwrap();
        let target = Target::new(LengthUnit::M);
        let back = read(
            written.as_bytes(),
            &target,
            &Mapping::default(),
            &Options::default(),
        )
        .unwrap();
        assert_eq!(back.header.as_ref(), Some(&document.header));
        assert_eq!(back.features.len(), document.features.len());
        let metres = if document.header["length_unit"] == "ft" {
            0.3048
        } else {
            1.0
        };
        for (was, is) in document.features.iter().zip(&back.features) {
            assert_eq!(
                (&was["id"], &was["properties"]),
                (&is["id"], &is["properties"])
            );
            assert_eq!(was["geometry"]["type"], is["geometry"]["type"]);
            let pairs = places(was).into_iter().zip(places(is));
            for (a, b) in pairs {
                assert!((a.0 - b.0).hypot(a.1 - b.1) * metres <= 1e-4, "{a:?} {b:?}");
            }
            assert_eq!(places(was).len(), places(is).len());
        }
    }
}

#[test]
fn ids_that_are_taken_are_changed_and_those_who_name_them_know() {
    let document = anchored(job::DEMO);
    let written = write(&document, &[]).unwrap();
    let mut target = Target::new(LengthUnit::Ft);
    target.taken.insert("C1".to_owned());
    let back = read(
        written.as_bytes(),
        &target,
        &Mapping::default(),
        &Options::default(),
    )
    .unwrap();
    let circuits: Vec<&Value> = back
        .features
        .iter()
        .map(|f| &f["properties"]["circuit"])
        .collect();
    assert!(circuits.iter().any(|c| **c == "C1-2") && !circuits.iter().any(|c| **c == "C1"));
}

#[test]
fn without_an_anchor_nothing_is_written() {
    let document = Document::of(job::DEMO).unwrap();
    let mut document = document;
    document.header.shift_remove("anchor");
    assert_eq!(write(&document, &[]).unwrap_err()[0].rule, "no-anchor");
}

#[test]
fn foreign_files_are_split_mapped_and_given_an_anchor() {
    let square = |x: f64| {
        json!([[
            [x, 40.0, 7.0],
            [x + 0.001, 40.0, 7.0],
            [x, 40.001, 7.0],
            [x, 40.0, 7.0]
        ]])
    };
    let file = json!({ "type": "FeatureCollection", "features": [
        { "type": "Feature", "id": 5, "properties": { "kind": "keep_out", "reason": "roots", "depth": 3 },
          "geometry": { "type": "MultiPolygon", "coordinates": [square(-105.0), square(-105.1)] } },
        { "type": "Feature", "properties": { "use": "Shed" },
          "geometry": { "type": "Polygon", "coordinates": square(-105.05) } },
        { "type": "Feature", "properties": {}, "geometry": { "type": "Point", "coordinates": [-105.0, 40.0] } },
    ]});
    let mapping = Mapping::from_pairs(["shed=obstacle,obstacle=building"]).unwrap();
    let target = Target::new(LengthUnit::M);
    let read = read(
        file.to_string().as_bytes(),
        &target,
        &mapping,
        &Options::default(),
    )
    .unwrap();
    let ids: Vec<&str> = read
        .features
        .iter()
        .filter_map(|f| f["id"].as_str())
        .collect();
    assert_eq!(ids, ["F5", "F5-1", "obstacle-1"]);
    assert_eq!(read.features[0]["properties"]["reason"], "roots");
    assert!(
        read.anchor.is_some() && read.report.left.len() == 1,
        "{}",
        read.report.text()
    );
    assert!(
        read.report.text().contains("heights of 12 places"),
        "{}",
        read.report.text()
    );
}

#[test]
fn what_is_no_longitude_and_latitude_is_refused_with_advice() {
    let point = |x: f64| {
        json!({ "type": "Feature", "properties": { "kind": "access" },
                "geometry": { "type": "Point", "coordinates": [x, 4_400_000.0] } })
    };
    let file = json!({ "type": "FeatureCollection", "features": [point(500_000.0)] });
    assert_eq!(read_plain(&file).unwrap_err()[0].rule, "not-geographic");
    let crs = json!({ "type": "name", "properties": { "name": "urn:ogc:def:crs:EPSG::26913" } });
    let file = json!({ "type": "FeatureCollection", "crs": crs, "features": [] });
    assert_eq!(read_plain(&file).unwrap_err()[0].rule, "not-geographic");
}

#[test]
fn bad_files_are_named() {
    let target = Target::new(LengthUnit::M);
    let rule = |bytes: &[u8]| {
        let read = read(bytes, &target, &Mapping::default(), &Options::default());
        read.unwrap_err()[0].rule.clone()
    };
    assert_eq!(rule(b"  \n"), "empty-file");
    assert_eq!(rule(b"{\"type\": \"FeatureColl"), "not-json");
    assert_eq!(rule(b"{\"type\": 3}"), "not-geojson");
    assert_eq!(rule(b"{\"a\0b\": 3}"), "not-a-text");
    assert_eq!(rule(job::DEMO.as_bytes()), "plane-job");
    assert_eq!(rule(&b"[".repeat(100_000)), "not-json");
    assert_eq!(rule(&b"[".repeat(4_000_000)), "too-much-in-file");
}
