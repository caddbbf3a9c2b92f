//! Runs the open instances and writes what came out into `docs/performance.md`.
//!
//! Never part of the tests: it takes a quarter of an hour and says how long things took.

pub mod days;
mod families;
mod peers;
mod table;

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::run::root;
use families::{FAMILIES, Family, Outcome};

const PAGE: &str = "docs/performance.md";
const NAME: &str = "bench-routes";

/// `cargo xtask bench-routes [--set FOLDER] [--only FAMILY]`
pub fn run(arguments: &[String]) -> Result<()> {
    let families: Vec<&str> = FAMILIES.iter().map(|family| family.name).collect();
    let (set, only) = options(NAME, &families, arguments)?;
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
        write(NAME, &text)?;
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

/// The folder of instances and the one family that are asked for.
fn options(
    command: &str,
    families: &[&str],
    arguments: &[String],
) -> Result<(PathBuf, Option<String>)> {
    let (mut set, mut only) = (root().join("benchmarks"), None);
    let mut rest = arguments.iter();
    while let Some(word) = rest.next() {
        let value = rest
            .next()
            .with_context(|| format!("`{word}` wants a value"))?;
        match word.as_str() {
            "--set" => set = PathBuf::from(value),
            "--only" if families.contains(&value.as_str()) => only = Some(value.clone()),
            "--only" => bail!(
                "there is no family `{value}`; families: {}",
                families.join(", ")
            ),
            _ => bail!("`{word}` is not known; usage: {command} [--set FOLDER] [--only FAMILY]"),
        }
    }
    if !set.is_dir() {
        bail!("{} is no folder", set.display());
    }
    Ok((set, only))
}

/// Puts the tables between the two marks of a command on the page.
fn write(name: &str, tables: &str) -> Result<()> {
    let path = root().join(PAGE);
    let page = fs::read_to_string(&path).with_context(|| format!("cannot read {PAGE}"))?;
    fs::write(&path, between_marks(&page, name, tables)?)
        .with_context(|| format!("cannot write {}", shown(&path)))
}

fn between_marks(page: &str, name: &str, tables: &str) -> Result<String> {
    let begin = format!("<!-- {name}: begin -->");
    let end = format!("<!-- {name}: end -->");
    let (before, rest) = page
        .split_once(&begin)
        .with_context(|| format!("{PAGE} has no line `{begin}`"))?;
    let (_, after) = rest
        .split_once(&end)
        .with_context(|| format!("{PAGE} has no line `{end}`"))?;
    Ok(format!(
        "{before}{begin}\n\n{}\n\n{end}{after}",
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
        let page = "before\n<!-- a: begin -->\nold\n<!-- a: end -->\nafter\n";
        let new = between_marks(page, "a", "new").unwrap();
        let expected = "before\n<!-- a: begin -->\n\nnew\n\n<!-- a: end -->\nafter\n";
        assert_eq!(new, expected);
        assert!(between_marks(page, "b", "new").is_err());
    }
}
