//! Solves one problem file and prints a line of JSON.
//!
//! `cargo run --release -p takeoff --example cut -- FILE [--work N] [--seed K] [--seconds S]`
//!
//! Without `--seconds` only the work is limited, and the answer is the same on every machine.

use cutting::{Limits, check, solve, text};
use std::error::Error;
use std::ops::ControlFlow;
use std::time::Instant;

const USAGE: &str = "usage: cut FILE [--work N] [--seed K] [--seconds S]";

/// What is asked for on the command line.
struct Asked {
    file: String,
    limits: Limits,
    seconds: f64,
}

fn asked() -> Result<Asked, Box<dyn Error>> {
    let (mut work, mut seed, mut seconds) = (None, 1, f64::INFINITY);
    let mut file = None;
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut value = || words.next().unwrap_or_default();
        match word.as_str() {
            "--work" => work = Some(value().parse().map_err(|_| "--work wants a whole number")?),
            "--seed" => seed = value().parse().map_err(|_| "--seed wants a whole number")?,
            "--seconds" => seconds = value().parse().map_err(|_| "--seconds wants a number")?,
            _ => file = Some(word),
        }
    }
    // With a time to keep, the work alone must not end the search.
    let most = if seconds.is_finite() {
        u64::MAX / 4
    } else {
        1_000_000_000
    };
    Ok(Asked {
        file: file.ok_or(USAGE)?,
        limits: Limits {
            work: work.unwrap_or(most),
            seed,
        },
        seconds,
    })
}

fn main() -> Result<(), Box<dyn Error>> {
    let asked = asked()?;
    let start = Instant::now();
    let problem = text::read(&std::fs::read_to_string(&asked.file)?)?;
    let solution = solve(&problem, asked.limits, &|_| {
        if start.elapsed().as_secs_f64() < asked.seconds {
            ControlFlow::Continue(())
        } else {
            ControlFlow::Break(())
        }
    })?;
    let seconds = start.elapsed().as_secs_f64();
    let (value, _) = check(&problem, &solution.cuts)?;
    let name = std::path::Path::new(&asked.file);
    println!(
        "{{\"name\":{:?},\"value\":{},\"bound\":{},\"optimal\":{},\"seconds\":{:.3},\"work\":{}}}",
        name.file_stem().unwrap_or_default().to_string_lossy(),
        value,
        solution.bound,
        solution.optimal,
        seconds,
        solution.work
    );
    Ok(())
}
