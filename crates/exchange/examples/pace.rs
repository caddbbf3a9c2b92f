//! How long a file takes to be read: `cargo run --release -p exchange --example pace FILE [NAME=KIND …]`.

use std::time::Instant;

use exchange::{Mapping, Options, Target};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let Some(path) = arguments.next() else {
        eprintln!("give a file");
        return;
    };
    let mapping = Mapping::from_pairs(arguments).unwrap_or_default();
    let bytes = match std::fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error) => {
            eprintln!("{path}: {error}");
            return;
        }
    };
    let target = Target::new(job::LengthUnit::M);
    let start = Instant::now();
    let reader = match path.rsplit('.').next() {
        Some("geojson") => exchange::geojson::read,
        Some("csv") => exchange::points::read,
        Some("gpx") => exchange::gpx::read,
        _ => exchange::dxf::read,
    };
    let read = reader(&bytes, &target, &mapping, &Options::default());
    let time = start.elapsed();
    match read {
        Ok(imported) => println!(
            "{}{} features",
            imported.report.text(),
            imported.features.len()
        ),
        Err(findings) => println!("{findings:#?}"),
    }
    println!(
        "{} MB in {:.2} s",
        bytes.len() / 1_000_000,
        time.as_secs_f64()
    );
}
