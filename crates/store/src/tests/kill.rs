//! A writer that is killed at any moment loses nothing that it has acknowledged.
//!
//! The test runs itself again as a second process that saves one change after the other and says so on its
//! standard output, kills it after a while, and looks what is in the file.

use super::names;
use crate::{Store, schema};
use job::Document;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use rusqlite::Connection;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::Duration;

/// Tells the second process which file to write, and from where on to count.
const FILE: &str = "SPADEWORK_TEST_WRITES";
const COUNT: &str = "SPADEWORK_TEST_COUNTS_FROM";

/// Moments at which writers are killed.
const KILLS: u64 = 200;
/// The longest that one is let to write, microseconds.
const LONGEST: u64 = 30_000;

/// A job whose name and a head of it tell how many changes it has had.
fn changed(count: u64) -> Document {
    let mut document = Document::of(job::DEMO_COURTYARD).unwrap();
    document
        .header
        .insert("name".to_owned(), Value::from(count.to_string()));
    document.features.push(json!({
        "type": "Feature", "id": format!("N{count}"),
        "geometry": { "type": "Point", "coordinates": [count, 1] },
        "properties": { "kind": "head", "note": "x".repeat(count as usize % 5000) },
    }));
    document
}

/// The second process; as a test of its own it does nothing.
#[test]
fn writer() {
    let (Some(file), Ok(count)) = (std::env::var_os(FILE), std::env::var(COUNT)) else {
        return;
    };
    let mut store = Store::open(Path::new(&file)).unwrap();
    let mut out = std::io::stdout();
    for count in count.parse::<u64>().unwrap().. {
        store.save(&changed(count)).unwrap();
        writeln!(out, "\nsaved {count}").unwrap();
        out.flush().unwrap();
    }
}

fn writing(path: &Path, from: u64) -> (Child, BufReader<ChildStdout>) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "tests::kill::writer",
            "--nocapture",
            "--test-threads=1",
        ])
        .env(FILE, path)
        .env(COUNT, from.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let out = BufReader::new(child.stdout.take().unwrap());
    (child, out)
}

fn acknowledged(line: &str) -> Option<u64> {
    line.strip_prefix("saved ")?.trim().parse().ok()
}

/// How many changes the file has had, which have to be all in it.
fn found(path: &Path) -> u64 {
    let store = Store::open(path).unwrap();
    let document = store.document().unwrap();
    store.close().unwrap();
    let count: u64 = document.header["name"].as_str().unwrap().parse().unwrap();
    assert_eq!(document, super::plain(&changed(count)));
    count
}

fn file(folder: &Path) -> PathBuf {
    folder.join("job.gpkg")
}

#[test]
fn a_killed_writer_loses_nothing_that_it_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path());
    Store::create(&path, &changed(0)).unwrap().close().unwrap();
    let mut moments = Pcg64::seed_from_u64(7);
    let (mut count, mut journals) = (0, 0);
    for _ in 0..KILLS {
        let (mut child, mut out) = writing(&path, count + 1);
        let mut line = String::new();
        while acknowledged(&line).is_none() {
            line.clear();
            assert!(
                out.read_line(&mut line).unwrap() > 0,
                "the writer stopped by itself"
            );
        }
        let wait = moments.random_range(0..LONGEST);
        std::thread::sleep(Duration::from_micros(wait));
        child.kill().unwrap();
        child.wait().unwrap();
        let rest = out.lines().map_while(Result::ok);
        let last = rest.filter_map(|line| acknowledged(&line)).last();
        let last = last.or(acknowledged(&line)).unwrap();
        journals += usize::from(names(folder.path()).len() > 1);
        let kept = found(&path);
        // The next change may have been saved and its acknowledgement not yet said.
        assert!(
            kept == last || kept == last + 1,
            "{last} acknowledged, {kept} kept"
        );
        assert_eq!(names(folder.path()), ["job.gpkg"]);
        count = kept;
    }
    // Else the moments would all have lain between two savings.
    assert!(
        journals > 10,
        "only {journals} writers were killed while they wrote"
    );
}

#[test]
fn a_writer_killed_while_it_brings_a_file_up_leaves_it_whole() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path());
    let mut moments = Pcg64::seed_from_u64(8);
    for _ in 0..25 {
        let mut database = Connection::open(&path).unwrap();
        schema::migrate_to(&mut database, None, 2).unwrap();
        database.close().unwrap();
        let (mut child, _out) = writing(&path, 1);
        std::thread::sleep(Duration::from_micros(moments.random_range(0..LONGEST)));
        child.kill().unwrap();
        child.wait().unwrap();
        let store = Store::open(&path).unwrap();
        let document = store.document().unwrap();
        store.close().unwrap();
        assert!(document == Document::default() || document.header.contains_key("name"));
        assert_eq!(names(folder.path()), ["job.gpkg"]);
        std::fs::remove_file(&path).unwrap();
    }
}

#[test]
fn a_job_whose_making_is_cut_short_is_not_there() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path());
    let made = crate::open::beside(&path).unwrap();
    let mut store = crate::open::fresh(&made).unwrap();
    store.save(&changed(1)).unwrap();
    drop(store);
    assert!(!path.exists());
    drop(made);
    assert_eq!(names(folder.path()), Vec::<String>::new());
}
