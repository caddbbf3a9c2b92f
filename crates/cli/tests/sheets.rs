//! `spadework sheets`: files that are whole, tables that say what the plan says, calls that are refused.

#![allow(clippy::unwrap_used)] // helpers of tests fail where a test would

mod support;

use std::fs;
use support::{Yard, small_job};

/// A job whose words mean something to typesetters and to browsers.
fn hostile() -> Yard {
    let yard = Yard::new();
    let mut job = small_job();
    job["spadework"]["name"] = "#panic() $x$ *b* @a <c> \\ \" [d] // `e` é… "
        .repeat(8)
        .into();
    yard.write("job.json", job.to_string());
    yard.ok(&["plan", "job.json", "--out", "results"]);
    yard
}

fn sheets(yard: &Yard, more: &[&str]) -> support::Said {
    let call = ["sheets", "job.json", "--from", "results/plan.json"];
    yard.run(&[&call, more].concat())
}

#[test]
fn the_files_are_whole_and_the_same_each_time() {
    let yard = hostile();
    let name = ["--variant", "#import \"x\" $1$"];
    let files = |n: u32| {
        let names = [format!("sheets{n}.pdf"), format!("offer{n}.pdf")];
        let out = [
            "--out", &names[0], "--offer", &names[1], "--tables", "tables",
        ];
        let said = sheets(&yard, &[&out[..], &name[..]].concat());
        assert_eq!(said.code, 0, "{}", said.all());
        names.map(|name| fs::read(yard.path(&name)).unwrap())
    };
    let (first, again) = (files(1), files(2));
    for (one, other) in first.iter().zip(&again) {
        assert!(one.starts_with(b"%PDF-") && one.ends_with(b"%%EOF"));
        assert!(one == other, "not the same bytes");
    }
    let few = sheets(&yard, &["--out", "few.pdf", "--only", "cut-list,talk"]);
    assert_eq!(few.code, 0, "{}", few.all());
    assert!(fs::read(yard.path("few.pdf")).unwrap().len() < first[0].len());
}

#[test]
fn the_cut_list_has_every_stretch_with_its_depth() {
    let yard = hostile();
    let said = sheets(
        &yard,
        &["--out", "a.pdf", "--tables", "tables", "--units", "si"],
    );
    assert_eq!(said.code, 0, "{}", said.all());
    let text = fs::read_to_string(yard.path("results/plan.json")).unwrap();
    let plan: plan::Plan = serde_json::from_str(&text).unwrap();
    let mut rows = csv::Reader::from_path(yard.path("tables/cut-list.csv")).unwrap();
    let heads = rows.headers().unwrap().clone();
    let at = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let (stretch, depth) = (at("stretch"), at("depth_mm"));
    let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), plan.digging.digs.len());
    for dig in &plan.digging.digs {
        let id = dig.stretch.to_string();
        let row = rows.iter().find(|row| row[stretch] == id).unwrap();
        let told: f64 = row[depth].parse().unwrap();
        assert!(
            (told - dig.section.depth.to_mm()).abs() <= 0.5,
            "{id}: {told}"
        );
    }
}

#[test]
fn calls_that_cannot_be_done_are_refused_and_change_nothing() {
    let yard = hostile();
    yard.write("mine.pdf", "mine");
    for (more, words) in [
        (vec!["--out", "mine.pdf"], "--replace"),
        (vec!["--out", "b.pdf", "--offer", "mine.pdf"], "--replace"),
        (vec!["--out", "b.pdf", "--offer", "b.pdf"], "another file"),
        (vec!["--out", "b.pdf", "--only", "cutlist"], "cut-list"),
        (vec!["--out", "b.pdf", "--tables", "mine.pdf"], "no folder"),
    ] {
        let said = sheets(&yard, &more);
        assert_eq!(said.code, 2, "{more:?}: {}", said.all());
        assert!(said.err.contains(words), "{more:?}: {}", said.err);
    }
    assert_eq!(fs::read(yard.path("mine.pdf")).unwrap(), b"mine");
    assert!(!yard.path("b.pdf").exists());
}
