//! Runs the open instances and writes what came out into `docs/performance.md`.
//!
//! Never part of the tests: it takes a quarter of an hour and says how long things took.

mod families;
mod peers;
mod table;

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::run::root;
use families::{FAMILIES, Family, Outcome};

const PAGE: &str = "docs/performance.md";
const BEGIN: &str = "<!-- bench-routes: begin -->";
const END: &str = "<!-- bench-routes: end -->";

/// `cargo xtask bench-routes [--set FOLDER] [--only FAMILY]`
pub fn run(arguments: &[String]) -> Result<()> {
    let (set, only) = options(arguments)?;
    let solvers = families::build()?;
    let peers = peers::Peers::ready()?;
    let mut results: Vec<(&Family, Vec<Outcome>)> = Vec::new();
    for family in FAMILIES {
        if only.as_ref().is_some_and(|only| only != family.name) {
            continue;
        }
        let instances = family.instances(&set)?;
        if instances.is_empty() {
            continue;
        }
        eprintln!("{}: {} instances", family.name, instances.len());
        let run = |instance: &families::Instance| {
            let outcome = family.run(instance, &solvers, &peers)?;
            eprintln!("  {}", table::line(&outcome));
            Ok(outcome)
        };
        let outcomes = instances.iter().map(run).collect::<Result<Vec<_>>>()?;
        results.push((family, outcomes));
    }
    let text = table::tables(&results);
    println!("{text}");
    if only.is_none() {
        write(&text)?;
    }
    let below: Vec<String> = results
        .iter()
        .flat_map(|(_, all)| table::impossible(all))
        .collect();
    if !below.is_empty() {
        bail!(
            "below a proven optimum, which is an error:\n{}",
            below.join("\n")
        );
    }
    Ok(())
}

fn options(arguments: &[String]) -> Result<(PathBuf, Option<String>)> {
    let (mut set, mut only) = (root().join("benchmarks"), None);
    let mut rest = arguments.iter();
    while let Some(word) = rest.next() {
        let value = rest
            .next()
            .with_context(|| format!("`{word}` wants a value"))?;
        match word.as_str() {
            "--set" => set = PathBuf::from(value),
            "--only" if FAMILIES.iter().any(|family| family.name == value) => {
                only = Some(value.clone());
            }
            "--only" => {
                let names: Vec<&str> = FAMILIES.iter().map(|family| family.name).collect();
                bail!(
                    "there is no family `{value}`; families: {}",
                    names.join(", ")
                );
            }
            _ => bail!("`{word}` is not known; usage: bench-routes [--set FOLDER] [--only FAMILY]"),
        }
    }
    if !set.is_dir() {
        bail!("{} is no folder", set.display());
    }
    Ok((set, only))
}

/// Puts the tables between the two marks of the page.
fn write(tables: &str) -> Result<()> {
    let path = root().join(PAGE);
    let page = fs::read_to_string(&path).with_context(|| format!("cannot read {PAGE}"))?;
    fs::write(&path, between_marks(&page, tables)?)
        .with_context(|| format!("cannot write {}", shown(&path)))
}

fn between_marks(page: &str, tables: &str) -> Result<String> {
    let (before, rest) = page
        .split_once(BEGIN)
        .with_context(|| format!("{PAGE} has no line `{BEGIN}`"))?;
    let (_, after) = rest
        .split_once(END)
        .with_context(|| format!("{PAGE} has no line `{END}`"))?;
    Ok(format!(
        "{before}{BEGIN}\n\n{}\n\n{END}{after}",
        tables.trim()
    ))
}

fn shown(path: &Path) -> String {
    path.strip_prefix(root())
        .unwrap_or(path)
        .display()
        .to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_stands_between_the_marks_is_replaced() {
        let page = format!("before\n{BEGIN}\nold\n{END}\nafter\n");
        let new = between_marks(&page, "new").unwrap();
        assert_eq!(new, format!("before\n{BEGIN}\n\nnew\n\n{END}\nafter\n"));
        assert!(between_marks("no marks", "new").is_err());
    }
}
