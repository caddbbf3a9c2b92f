//! Runs the open instances of scheduling and cutting beside textbook methods.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use serde_json::Value;

use super::families::{Known, ask, built};
use super::table::{mean_and_most, mean_only, percent};

pub const NAME: &str = "bench-days";

/// Instances of one sort.
struct Family {
    name: &'static str,
    folder: &'static str,
    /// What the names of its files begin with.
    prefixes: &'static [&'static str],
    package: &'static str,
    seconds: u32,
}

#[rustfmt::skip]
const FAMILIES: &[Family] = &[
    family("crew", "crew", &["cr"], "schedule", 1),
    family("rcpsp j30", "rcpsp", &["j30"], "schedule", 1),
    family("rcpsp j60", "rcpsp", &["j60"], "schedule", 10),
    family("rcpsp j120", "rcpsp", &["j120"], "schedule", 10),
    family("pipecut", "pipecut", &["pc"], "cutting", 1),
    family("uniform", "cutting", &["u"], "cutting", 5),
    family("triplets", "cutting", &["t"], "cutting", 5),
    family("set 1", "cutting", &["N1C", "N2C", "N3C", "N4C"], "cutting", 5),
    family("set 2", "cutting", &["N1W", "N2W", "N3W", "N4W"], "cutting", 5),
    family("set 3", "cutting", &["HARD"], "cutting", 5),
];

const fn family(
    name: &'static str,
    folder: &'static str,
    prefixes: &'static [&'static str],
    package: &'static str,
    seconds: u32,
) -> Family {
    Family {
        name,
        folder,
        prefixes,
        package,
        seconds,
    }
}

/// What a run came to.
struct Outcome {
    name: String,
    value: f64,
    bound: f64,
    optimal: bool,
    seconds: f64,
    /// Best known value, and a bound that others have proven.
    best: f64,
    lower: f64,
    /// What the textbook methods come to.
    peers: Vec<f64>,
}

/// `cargo xtask bench-days [--set FOLDER] [--only FAMILY]`
pub fn run(arguments: &[String]) -> Result<()> {
    let families: Vec<&str> = FAMILIES.iter().map(|family| family.name).collect();
    let (set, only) = super::options(NAME, &families, arguments)?;
    let mut results: Vec<(&Family, Vec<Outcome>)> = Vec::new();
    for family in FAMILIES {
        if only.as_ref().is_some_and(|only| only != family.name) {
            continue;
        }
        let files = family.files(&set)?;
        if files.is_empty() {
            continue;
        }
        eprintln!("{}: {} instances", family.name, files.len());
        results.push((family, family.run(&set, &files)?));
    }
    let text = tables(&results);
    println!("{text}");
    if only.is_none() {
        super::write(NAME, &text)?;
    }
    let wrong: Vec<String> = results
        .iter()
        .flat_map(|(_, outcomes)| outcomes)
        .filter(|o| o.value < o.lower || o.bound > o.best || o.bound > o.value)
        .map(line)
        .collect();
    if !wrong.is_empty() {
        bail!(
            "against what is proven, which is an error:\n{}",
            wrong.join("\n")
        );
    }
    Ok(())
}

impl Family {
    fn files(&self, set: &Path) -> Result<Vec<PathBuf>> {
        let folder = set.join(self.folder);
        if !folder.is_dir() {
            return Ok(Vec::new());
        }
        let entries =
            fs::read_dir(&folder).with_context(|| format!("cannot read {}", folder.display()))?;
        let mut files = Vec::new();
        for entry in entries {
            let path = entry?.path();
            let name = stem(&path);
            if name != "optima" && self.prefixes.iter().any(|prefix| name.starts_with(prefix)) {
                files.push(path);
            }
        }
        files.sort();
        Ok(files)
    }

    fn run(&self, set: &Path, files: &[PathBuf]) -> Result<Vec<Outcome>> {
        let known = Known::read(&set.join(self.folder).join("optima.csv"))?;
        // The solvers' examples stand with the stages that use them.
        let solver = match self.package {
            "schedule" => built("crew", "solve")?,
            _ => built("takeoff", "cut")?,
        };
        let textbook = built(self.package, "textbook")?;
        let mut outcomes = Vec::new();
        for file in files {
            let name = stem(file);
            let answer = ask(&solver, file, Some(self.seconds))?;
            let number = |key: &str| {
                let number = answer.get(key).and_then(Value::as_f64);
                number.with_context(|| format!("{name} gave no {key}"))
            };
            let peers = ask(&textbook, file, None)?;
            let peers = peers.get("values").and_then(Value::as_array);
            let peers = peers.with_context(|| format!("no textbook values for {name}"))?;
            let outcome = Outcome {
                value: number("value")?,
                bound: number("bound")?,
                seconds: number("seconds")?,
                optimal: answer.get("optimal").and_then(Value::as_bool) == Some(true),
                best: known.sum(&name, "upper").unwrap_or(f64::NAN),
                lower: known.sum(&name, "lower").unwrap_or(f64::NAN),
                peers: peers.iter().filter_map(Value::as_f64).collect(),
                name,
            };
            eprintln!("  {}", line(&outcome));
            outcomes.push(outcome);
        }
        Ok(outcomes)
    }
}

fn stem(path: &Path) -> String {
    path.file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

fn line(outcome: &Outcome) -> String {
    format!(
        "{}: {} (best known {}), bound {}{}, {:.2} s",
        outcome.name,
        outcome.value,
        outcome.best,
        outcome.bound,
        if outcome.optimal { ", proven" } else { "" },
        outcome.seconds
    )
}

fn tables(results: &[(&Family, Vec<Outcome>)]) -> String {
    let mut text = String::new();
    let sorts = [
        (
            "schedule",
            "latest start first, serial | latest start first, parallel",
        ),
        ("cutting", "first fit decreasing | best fit decreasing"),
    ];
    for (package, peers) in sorts {
        text.push_str(&format!(
            "| {package} | instances | best known reached | below it | above it, mean (most) | \
             proven optimal | bound leaves open, mean (most) | seconds, mean (most) | {peers} |\n\
             | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n"
        ));
        for (family, outcomes) in results.iter().filter(|(f, _)| f.package == package) {
            text.push_str(&row(family, outcomes));
        }
        text.push('\n');
    }
    text
}

fn row(family: &Family, outcomes: &[Outcome]) -> String {
    let count = |of: &dyn Fn(&Outcome) -> bool| outcomes.iter().filter(|o| of(o)).count();
    let open = |o: &Outcome| (1.0 - o.bound / o.value).max(0.0) * 100.0;
    let peer = |at: usize| {
        let values = outcomes.iter();
        mean_only(values.filter_map(|o| o.peers.get(at).map(|value| percent(*value, o.best))))
    };
    format!(
        "| {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |\n",
        family.name,
        outcomes.len(),
        count(&|o| o.value <= o.best),
        count(&|o| o.value < o.best),
        mean_and_most(outcomes.iter().map(|o| percent(o.value, o.best)), 2, " %"),
        count(&|o| o.optimal),
        mean_and_most(outcomes.iter().map(open), 2, " %"),
        mean_and_most(outcomes.iter().map(|o| o.seconds), 2, ""),
        peer(0),
        peer(1),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_tells_what_was_reached() {
        let outcome = |value, best| Outcome {
            name: "a".to_owned(),
            value,
            bound: 90.0,
            optimal: false,
            seconds: 1.0,
            best,
            lower: 80.0,
            peers: vec![110.0, 105.0],
        };
        let row = row(&FAMILIES[0], &[outcome(100.0, 100.0), outcome(95.0, 100.0)]);
        assert!(
            row.starts_with("| crew | 2 | 2 | 1 | -2.50 % (0.00 %) | 0 |"),
            "{row}"
        );
        assert!(row.trim_end().ends_with("10.0 % | 5.0 % |"), "{row}");
    }
}
