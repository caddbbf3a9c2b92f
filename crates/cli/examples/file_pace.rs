//! How long files take: `cargo run --release -p cli --example file_pace -- FILE [NAME=KIND …]`.
//!
//! A drawing, GeoJSON, points or GPX is read; a job in text form is made a GeoPackage, which is opened, checked and
//! saved with every head moved. Where `ogr2ogr` of GDAL is on the path it converts the same file to a GeoPackage, and
//! the ratio of both times is told: a general-purpose program beside ours, on the same machine in the same minute.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use exchange::{Mapping, Options, Target};
use job::{Document, ReadOptions};
use store::Store;

/// How often each is done; the shortest time counts.
const TIMES: u32 = 5;

type Failed = Box<dyn std::error::Error>;

fn main() -> Result<(), Failed> {
    let mut arguments = std::env::args().skip(1);
    let path = arguments.next().ok_or("give a file")?;
    let file = Path::new(&path);
    let folder = tempfile::tempdir()?;
    match file.extension().and_then(|end| end.to_str()) {
        Some("json") => job_file(file, folder.path()),
        other => drawing(file, other.unwrap_or_default(), arguments, folder.path()),
    }
}

/// The shortest of several times, and what came of the last.
fn shortest<T>(mut work: impl FnMut() -> Result<T, Failed>) -> Result<(Duration, T), Failed> {
    let mut best = None;
    for _ in 0..TIMES {
        let start = Instant::now();
        let result = work()?;
        let time = start.elapsed();
        best = match best {
            Some((shorter, _)) if shorter < time => Some((shorter, result)),
            _ => Some((time, result)),
        };
    }
    best.ok_or_else(|| "nothing was measured".into())
}

fn told(what: &str, time: Duration) {
    println!("{what:<44} {:>9.1} ms", time.as_secs_f64() * 1e3);
}

fn job_file(text: &Path, folder: &Path) -> Result<(), Failed> {
    let mut document =
        Document::of(&std::fs::read_to_string(text)?).map_err(|found| format!("{found:?}"))?;
    let path = folder.join("job.gpkg");
    Store::create(&path, &document)?.close()?;
    let (open, _) = shortest(|| Ok(Store::look(&path)?.document()?))?;
    told("open and read", open);
    let (checked, _) = shortest(|| {
        let document = Store::look(&path)?.document()?;
        Ok(document.read(&ReadOptions::default()).is_ok())
    })?;
    told("open, read and check", checked);
    let mut shift = 0;
    let (saved, _) = shortest(|| {
        shift += 1;
        for feature in &mut document.features {
            if feature["properties"]["kind"] == "head" {
                feature["geometry"]["coordinates"][0] = f64::from(shift).into();
            }
        }
        let mut store = Store::open(&path)?;
        store.save(&document)?;
        Ok(store.close()?)
    })?;
    told("open, save with every head moved, close", saved);
    beside(&path, folder, checked)
}

fn drawing(
    file: &Path,
    end: &str,
    pairs: impl Iterator<Item = String>,
    folder: &Path,
) -> Result<(), Failed> {
    let mapping = Mapping::from_pairs(pairs).map_err(|found| format!("{found:?}"))?;
    let bytes = std::fs::read(file)?;
    let target = Target::new(job::LengthUnit::M);
    let reader = match end {
        "geojson" => exchange::geojson::read,
        "csv" => exchange::points::read,
        "gpx" => exchange::gpx::read,
        _ => exchange::dxf::read,
    };
    let (time, imported) = shortest(|| {
        reader(&bytes, &target, &mapping, &Options::default())
            .map_err(|found| format!("{found:?}").into())
    })?;
    println!(
        "{} MB, {} features",
        bytes.len() / 1_000_000,
        imported.features.len()
    );
    told("read", time);
    beside(file, folder, time)
}

/// The same file through `ogr2ogr`, if it is there.
fn beside(file: &Path, folder: &Path, ours: Duration) -> Result<(), Failed> {
    let there = Command::new("ogr2ogr").arg("--version").output();
    if there.is_err() {
        println!("ogr2ogr is not on this machine: nothing is held beside it");
        return Ok(());
    }
    let out = folder.join("beside.gpkg");
    let (time, _) = shortest(|| {
        let _ = std::fs::remove_file(&out);
        let done = Command::new("ogr2ogr")
            .arg("-q")
            .arg(&out)
            .arg(file)
            .output()?;
        match done.status.success() {
            true => Ok(()),
            false => Err(String::from_utf8_lossy(&done.stderr).into_owned().into()),
        }
    })?;
    told("ogr2ogr into a GeoPackage", time);
    println!(
        "ours / ogr2ogr: {:.2}",
        ours.as_secs_f64() / time.as_secs_f64()
    );
    Ok(())
}
