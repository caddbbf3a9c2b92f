//! Mutated files for every reader: `cargo run --release -p cli --example fuzz -- [SECONDS] [SEED]`.
//!
//! Lists of edits from proptest strategies are made on the files of the corpora of `exchange` and `underlay`, and on
//! an invented job as a GeoPackage. No reader may panic, take over five
//! seconds, hold over 1 GiB, or give what a job file does not allow. The input that is being read always lies in
//! `target/fuzz`, so that it is there when the process ends; what was found stays there under a name of its own and
//! belongs into `regressions` of the corpus of its reader.

use std::alloc::System;
use std::collections::BTreeSet;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::{ExitCode, exit};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use cap::Cap;
use exchange::{Imported, Mapping, Options, Target, limits};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

/// What a reader may hold, the input and the corpus included.
#[global_allocator]
static MEMORY: Cap<System> = Cap::new(System, 1 << 30);

/// Longest time for one input, milliseconds.
const LONGEST: u64 = 5_000;
/// Milliseconds from the start of the process at which the present input was begun; 0 between inputs.
static BEGUN: AtomicU64 = AtomicU64::new(0);

/// A change to the bytes of a file; places are taken modulo its length.
#[derive(Debug, Clone)]
enum Edit {
    Flip(usize, u8),
    Delete(usize, usize),
    Insert(usize, Vec<u8>),
    Repeat(usize, usize, usize),
    Splice(usize, usize, usize, usize),
    Number(usize, usize),
    Truncate(usize),
    Token(usize, usize),
}

const EXTREMES: [&str; 14] = [
    "0",
    "-1",
    "1e308",
    "-1e308",
    "NaN",
    "inf",
    "1e-320",
    "4294967296",
    "-9223372036854775808",
    "2147483647",
    "99999999999999999999",
    "180.0000001",
    "0.1",
    "65536",
];

const TOKENS: [&str; 26] = [
    "  0\nINSERT\n",
    "  0\nENDSEC\n",
    "  0\nEOF\n",
    "  0\nBLOCK\n",
    "  0\nENDBLK\n",
    "  0\nVERTEX\n",
    "  0\nSPLINE\n",
    " 70\n1\n",
    " 41\n0\n",
    "1001\nSPADEWORK\n",
    "230\n-1\n",
    "\\U+D800",
    "\r\n",
    "\0",
    "{",
    "}",
    "[",
    "]",
    "\"",
    ",",
    "<trk>",
    "</trk>",
    "<trkseg>",
    "<!--",
    "&#x41;",
    "\u{feff}",
];

fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let place = || any::<u32>().prop_map(|place| place as usize);
    let edit = prop_oneof![
        1 => (place(), any::<u8>()).prop_map(|(at, to)| Edit::Flip(at, to)),
        1 => (place(), 1..60_usize).prop_map(|(at, count)| Edit::Delete(at, count)),
        1 => (place(), vec(any::<u8>(), 1..12)).prop_map(|(at, bytes)| Edit::Insert(at, bytes)),
        1 => (place(), 1..200_usize, 1..40_usize).prop_map(|(at, count, times)| Edit::Repeat(at, count, times)),
        1 => (place(), place(), 1..400_usize, place()).prop_map(|(file, from, count, at)| Edit::Splice(file, from, count, at)),
        4 => (place(), 0..EXTREMES.len()).prop_map(|(at, which)| Edit::Number(at, which)),
        1 => place().prop_map(Edit::Truncate),
        2 => (place(), 0..TOKENS.len()).prop_map(|(at, which)| Edit::Token(at, which)),
    ];
    vec(edit, 1..12)
}

fn apply(bytes: &mut Vec<u8>, edit: &Edit, corpus: &[(PathBuf, Vec<u8>)]) {
    let at = |place: usize, bytes: &[u8]| place % (bytes.len() + 1);
    let insert = |bytes: &mut Vec<u8>, place: usize, new: &[u8]| {
        let place = at(place, bytes);
        bytes.splice(place..place, new.iter().copied());
    };
    match edit {
        Edit::Flip(place, to) => {
            let place = at(*place, bytes);
            if let Some(byte) = bytes.get_mut(place) {
                *byte ^= *to;
            }
        }
        Edit::Delete(place, count) => {
            let from = at(*place, bytes);
            bytes.drain(from..(from + count).min(bytes.len()));
        }
        Edit::Insert(place, new) => insert(bytes, *place, new),
        Edit::Repeat(place, count, times) => {
            let from = at(*place, bytes);
            let part = bytes[from..(from + count).min(bytes.len())].repeat(*times);
            insert(bytes, from, &part);
        }
        Edit::Splice(file, from, count, place) => {
            let other = &corpus[file % corpus.len()].1;
            let from = at(*from, other);
            insert(bytes, *place, &other[from..(from + count).min(other.len())]);
        }
        Edit::Number(place, which) => {
            let from = at(*place, bytes);
            let numeric = |byte: &u8| byte.is_ascii_digit() || matches!(byte, b'.' | b'-');
            let Some(start) = bytes[from..].iter().position(numeric).map(|n| from + n) else {
                return;
            };
            let end = bytes[start..]
                .iter()
                .position(|byte| !numeric(byte))
                .map_or(bytes.len(), |n| start + n);
            bytes.splice(start..end, EXTREMES[*which].bytes());
        }
        Edit::Truncate(place) => bytes.truncate(at(*place, bytes)),
        Edit::Token(place, which) => insert(bytes, *place, TOKENS[*which].as_bytes()),
    }
}

/// Reads bytes as the format that the name of their file ends with, and checks what comes out.
fn read(name: &Path, bytes: &[u8], mapping: &Mapping) {
    let target = Target::new(job::LengthUnit::Ft);
    let options = Options::default();
    let read = match name.extension().and_then(|end| end.to_str()) {
        Some("dxf") => exchange::dxf::read(bytes, &target, mapping, &options),
        Some("geojson") => exchange::geojson::read(bytes, &target, mapping, &options),
        Some("csv") => exchange::points::read(bytes, &target, mapping, &options),
        Some("gpx") => exchange::gpx::read(bytes, &target, mapping, &options),
        Some("png" | "jpg" | "pdf") => return picture(bytes),
        Some("gpkg") => return package(bytes),
        _ => {
            let text = String::from_utf8_lossy(bytes);
            match Mapping::from_toml(&text) {
                Ok(_) => return,
                Err(findings) => Err(findings),
            }
        }
    };
    match read {
        Ok(imported) => check(&imported, name),
        Err(findings) => assert!(!findings.is_empty(), "an error without a finding"),
    }
}

/// Reads bytes as a picture that covers 50 by 25.
fn picture(bytes: &[u8]) {
    let known = |pixel, place| underlay::Known { pixel, place };
    let options = underlay::Options {
        page: 1,
        known: vec![
            known([0.0, 20.0], [0.0, 0.0]),
            known([40.0, 0.0], [50.0, 25.0]),
        ],
    };
    match underlay::read(bytes, &options) {
        Ok(laid) => assert!(laid.bounds.iter().all(|side| side.is_finite())),
        Err(findings) => assert!(!findings.is_empty(), "an error without a finding"),
    }
}

/// Opens bytes as a job file, which stays as it is if it is refused, and saves what it holds.
fn package(bytes: &[u8]) {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let path = folder.path().join("job.gpkg");
    fs::write(&path, bytes).expect("a file can be written");
    let looked = store::Store::look(&path).and_then(|store| {
        let document = store.document()?;
        store.plan()?;
        store.pictures()?;
        Ok(document)
    });
    let kept = fs::read(&path).expect("the file is there");
    assert!(kept == bytes, "looking at a job file changed it");
    match looked {
        Err(error) => assert!(!error.mend().is_empty()),
        Ok(document) => {
            let saved = store::Store::open(&path).and_then(|mut store| {
                store.save(&document)?;
                store.document()
            });
            if let Ok(saved) = saved {
                assert_eq!(saved.features.len(), document.features.len());
            }
        }
    }
}

fn check(imported: &Imported, name: &Path) {
    assert!(imported.features.len() <= limits::MOST_FEATURES);
    let _ = imported.report.text();
    // What we wrote ourselves comes back as it was, however it was changed.
    if imported.header.is_some() {
        return;
    }
    let mut ids = BTreeSet::new();
    for feature in &imported.features {
        let id = feature["id"].as_str().unwrap_or_default();
        let allowed = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        assert!(
            !id.is_empty() && id.len() <= 64 && id.chars().all(allowed),
            "{}: bad id {id}",
            name.display()
        );
        assert!(ids.insert(id), "{}: id {id} twice", name.display());
        assert!(feature["properties"].is_object());
    }
}

/// The folders of the corpora.
fn folders() -> [PathBuf; 2] {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    ["exchange", "underlay"].map(|name| crates.join(name).join("corpus"))
}

/// A small invented job as a GeoPackage: made here, since it is no text that one could look through.
fn job_file() -> Vec<u8> {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let path = folder.path().join("job.gpkg");
    let document = job::Document::of(job::DEMO_COURTYARD).expect("the demo is a job");
    let store = store::Store::create(&path, &document).expect("a job file can be made");
    store.close().expect("a job file can be closed");
    fs::read(path).expect("the file is there")
}

fn corpus() -> std::io::Result<Vec<(PathBuf, Vec<u8>)>> {
    let mut files = vec![(PathBuf::from("job.gpkg"), job_file())];
    let folders = folders();
    let regressions = folders.each_ref().map(|folder| folder.join("regressions"));
    for folder in folders.into_iter().chain(regressions) {
        for entry in fs::read_dir(folder).into_iter().flatten() {
            let path = entry?.path();
            if path.is_file() {
                files.push((path.clone(), fs::read(path)?));
            }
        }
    }
    files.sort();
    Ok(files)
}

fn mappings() -> Vec<Mapping> {
    let pairs: [&[&str]; 6] = [
        &[],
        &["*=boundary"],
        &["*=obstacle,obstacle=wall"],
        &["HEAD*=head,flow=1.8 gpm", "*=spot"],
        &["*=cable,service=lights"],
        &["*=gate,clear_width=3 ft"],
    ];
    pairs
        .iter()
        .filter_map(|pairs| Mapping::from_pairs(pairs.iter()).ok())
        .collect()
}

/// Ends the process when an input takes too long.
fn watch(start: Instant, last: PathBuf) {
    std::thread::spawn(move || {
        loop {
            std::thread::sleep(Duration::from_millis(250));
            let begun = BEGUN.load(Ordering::SeqCst);
            if begun > 0 && (start.elapsed().as_millis() as u64).saturating_sub(begun) > LONGEST {
                eprintln!("over 5 s: the input is {}", last.display());
                exit(3);
            }
        }
    });
}

fn main() -> ExitCode {
    let mut numbers = std::env::args().skip(1).map(|text| text.parse::<u64>());
    let seconds = numbers.next().and_then(Result::ok).unwrap_or(70);
    let seed = numbers.next().and_then(Result::ok).unwrap_or(1);
    let files = match corpus() {
        Ok(files) if files.len() > 1 => files,
        _ => {
            eprintln!("there is no corpus in {:?}", folders());
            return ExitCode::FAILURE;
        }
    };
    let out = PathBuf::from("target/fuzz");
    if let Err(error) = fs::create_dir_all(&out) {
        eprintln!("cannot make {}: {error}", out.display());
        return ExitCode::FAILURE;
    }
    let start = Instant::now();
    let last = out.join("last-input");
    watch(start, last.clone());
    let mut bytes_of_seed = [0; 32];
    bytes_of_seed[..8].copy_from_slice(&seed.to_le_bytes());
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &bytes_of_seed);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let (edits, mappings) = (edits(), mappings());
    let (mut count, mut found, mut slowest) = (0_usize, 0_usize, Duration::ZERO);
    eprintln!("    {} files, {seconds} s, seed {seed}", files.len());
    while start.elapsed().as_secs() < seconds && found < 20 {
        let Ok(tree) = edits.new_tree(&mut runner) else {
            continue;
        };
        let (name, original) = &files[count % files.len()];
        let mapping = &mappings[(count / files.len()) % mappings.len()];
        let mut input = original.clone();
        tree.current()
            .iter()
            .for_each(|edit| apply(&mut input, edit, &files));
        let _ = fs::write(&last, &input);
        let begun = Instant::now();
        BEGUN.store(
            (start.elapsed().as_millis() as u64).max(1),
            Ordering::SeqCst,
        );
        let held = catch_unwind(AssertUnwindSafe(|| read(name, &input, mapping)));
        BEGUN.store(0, Ordering::SeqCst);
        slowest = slowest.max(begun.elapsed());
        count += 1;
        if held.is_err() {
            found += 1;
            let end = name
                .extension()
                .and_then(|end| end.to_str())
                .unwrap_or("txt");
            let kept = out.join(format!("found-{seed}-{count}.{end}"));
            let _ = fs::write(&kept, &input);
            eprintln!("a panic or a broken promise: {}", kept.display());
        }
    }
    let most = MEMORY.max_allocated() >> 20;
    eprintln!(
        "    {count} inputs, {found} found, slowest {:.2} s, most memory {most} MiB",
        slowest.as_secs_f64()
    );
    if found == 0 && count > 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
