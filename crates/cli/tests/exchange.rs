//! A job and its plan travel from form to form, and what others have drawn comes in.

#![allow(clippy::unwrap_used)] // helpers of tests fail where a test would

mod support;

use serde_json::{Value, json};
use support::{Yard, small_job};

fn yard() -> Yard {
    let yard = Yard::new();
    let mut job = small_job();
    job["spadework"]["anchor"] = json!({ "longitude": -90.25, "latitude": 40.5, "rotation": 12 });
    yard.write("job.json", job.to_string());
    yard
}

fn features(yard: &Yard, name: &str) -> Vec<Value> {
    let job: Value = serde_json::from_str(&yard.read(name)).unwrap();
    job["features"].as_array().unwrap().clone()
}

#[test]
fn a_job_travels_through_every_form_and_back() {
    let yard = yard();
    yard.ok(&["export", "job.json", "job.gpkg"]);
    yard.ok(&["plan", "job.gpkg", "--save"]);
    yard.ok(&[
        "export",
        "job.gpkg",
        "back.json",
        "on-earth.geojson",
        "drawing.dxf",
        "stakes.gpx",
        "stakes.csv",
    ]);
    let (there, back) = (features(&yard, "job.json"), features(&yard, "back.json"));
    let ids = |features: &[Value]| -> Vec<String> {
        features
            .iter()
            .map(|f| f["id"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(ids(&there), ids(&back));
    let drawn: Vec<Value> = there
        .iter()
        .filter(|f| !f["geometry"].is_null())
        .cloned()
        .collect();
    for (file, wanted) in [("on-earth.geojson", &there), ("drawing.dxf", &drawn)] {
        let said = yard.ok(&["import", file, "--into", &format!("{file}.json")]);
        assert!(said.contains("Taken"), "{said}");
        let mut came = ids(&features(&yard, &format!("{file}.json")));
        let mut wanted = ids(wanted);
        came.sort();
        wanted.sort();
        assert_eq!(came, wanted, "{file}");
    }
    yard.ok(&["check", "on-earth.geojson.json"]);
    assert!(yard.read("stakes.gpx").contains("<wpt "));
    assert!(yard.read("stakes.csv").starts_with("point,x_ft,y_ft,what,"));
}

#[test]
fn a_job_file_is_planned_as_its_text_is() {
    let yard = yard();
    yard.ok(&["export", "job.json", "job.gpkg"]);
    assert_eq!(
        yard.ok(&["plan", "job.gpkg", "--json"]),
        yard.ok(&["plan", "job.json", "--json"])
    );
}

#[test]
fn nothing_that_is_there_is_written_over_unasked() {
    let yard = yard();
    yard.write("kept.dxf", "mine");
    let refused = yard.refused(&["export", "job.json", "other.json", "kept.dxf"]);
    assert!(refused.contains("--replace"), "{refused}");
    assert_eq!(yard.read("kept.dxf"), "mine");
    assert!(!yard.has("other.json"));
    yard.ok(&["export", "job.json", "kept.dxf", "--replace"]);
    assert!(yard.read("kept.dxf").contains("SPADEWORK"));
}

#[test]
fn a_survey_is_brought_into_a_job() {
    let yard = yard();
    yard.write(
        "points.csv",
        "number,northing,easting,elevation,code\n1,5,5,100.2,GR\n2,5,50,100.9,GR\n3,20,30,,OAK\n",
    );
    let said = yard.ok(&[
        "import",
        "points.csv",
        "--into",
        "job.json",
        "--map",
        "OAK=tree,trunk=12 in",
        "--unit",
        "ft",
    ]);
    assert!(said.contains("spot") && said.contains("tree"), "{said}");
    let kinds: Vec<Value> = features(&yard, "job.json")
        .iter()
        .map(|f| f["properties"]["kind"].clone())
        .collect();
    assert_eq!(kinds.iter().filter(|kind| *kind == "spot").count(), 2);
    assert_eq!(kinds.iter().filter(|kind| *kind == "tree").count(), 1);
    yard.ok(&["check", "job.json"]);
}

#[test]
fn what_cannot_be_read_leaves_the_job_as_it_is() {
    let yard = yard();
    let before = yard.read("job.json");
    yard.write("bad.dxf", "0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nnan\n");
    yard.write("bad.geojson", "{ \"type\": \"FeatureCollection\"");
    yard.write("bad.gpx", "<gpx><trk>");
    yard.write("bad.csv", "number,northing\nx,y\n");
    yard.write("bad.pdf", "%PDF-1.7\n");
    yard.write("bad.doc", "words");
    for file in [
        "bad.dxf",
        "bad.geojson",
        "bad.gpx",
        "bad.csv",
        "bad.pdf",
        "bad.doc",
        "none.dxf",
    ] {
        let refused = yard.refused(&["import", file, "--into", "job.json"]);
        assert!(refused.contains("mend:"), "{file}: {refused}");
        assert_eq!(yard.read("job.json"), before, "{file}");
    }
    yard.write("bad.gpkg", "SQLite format 3\0and no more");
    let refused = yard.refused(&["plan", "bad.gpkg"]);
    assert!(refused.contains("mend:"), "{refused}");
}
