//! `evidence`: holds published values against the crates and says which hold.
//!
//! `evidence [FOLDER]` prints how many held and everything that did not; `evidence render [FOLDER]`
//! prints docs/evidence.md. Both end with 1 if a row does not hold or there is none.

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Result;
use evidence::{read_folder, render, run, shortcomings, summary};

fn main() -> ExitCode {
    match held(std::env::args().skip(1).collect()) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn held(mut words: Vec<String>) -> Result<bool> {
    let document = words.first().is_some_and(|word| word == "render");
    if document {
        words.remove(0);
    }
    let own = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/rows"));
    let rows = read_folder(&words.first().map_or(own, PathBuf::from))?;
    let verdicts = run(&rows);
    let short = shortcomings(&verdicts);
    if document {
        print!("{}", render(&verdicts));
        for line in &short {
            eprintln!("FAILED {line}");
        }
    } else {
        print!("{}", summary(&verdicts));
    }
    Ok(short.is_empty())
}
