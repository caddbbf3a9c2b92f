//! Solves one problem file and prints a line of JSON.
//!
//! `cargo run --release -p steiner --example solve -- FILE [--work N] [--seed K]`

use std::error::Error;
use std::ops::ControlFlow;
use std::time::Instant;
use steiner::{Limits, check, solve, text};

fn main() -> Result<(), Box<dyn Error>> {
    let mut limits = Limits {
        work: 50_000_000,
        seed: 1,
    };
    let mut file = None;
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut number = || words.next().and_then(|word| word.parse().ok());
        match word.as_str() {
            "--work" => limits.work = number().ok_or("--work wants a whole number")?,
            "--seed" => limits.seed = number().ok_or("--seed wants a whole number")?,
            _ => file = Some(word),
        }
    }
    let file = file.ok_or("usage: solve FILE [--work N] [--seed K]")?;
    let problem = text::read(&std::fs::read_to_string(&file)?)?;
    let start = Instant::now();
    let solution = solve(&problem, limits, &|_| ControlFlow::Continue(()))?;
    let seconds = start.elapsed().as_secs_f64();
    let cost = check(&problem, &solution.trees)?;
    println!(
        "{{\"name\":{:?},\"cost\":{},\"bound\":{},\"gap\":{:.6},\"optimal\":{},\
         \"seconds\":{:.3},\"work\":{}}}",
        std::path::Path::new(&file)
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy(),
        cost,
        solution.bound,
        solution.gap(),
        solution.optimal,
        seconds,
        solution.work
    );
    Ok(())
}
