//! Holds the sources of a crate against the house: every file says what it is for, and the core
//! neither reads, writes, prints nor asks for the time.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};

use super::metadata::Member;
use super::tokens::{Token, code, macros, paths};

/// Modules and types through which the outside comes in.
const NOT_IN_CORE: [&[&str]; 6] = [
    &["std", "env"],
    &["std", "fs"],
    &["std", "net"],
    &["std", "process"],
    &["std", "time", "Instant"],
    &["std", "time", "SystemTime"],
];

/// Macros that write to the terminal.
const NOT_CALLED_IN_CORE: [&str; 5] = ["dbg", "eprint", "eprintln", "print", "println"];

/// Names every breach in the sources of a crate.
pub fn check(member: &Member, is_core: bool) -> Result<Vec<String>> {
    let product = member.folder.join("src");
    let mut breaches = Vec::new();
    for file in rust_files(&member.folder)? {
        let source =
            fs::read_to_string(&file).with_context(|| format!("cannot read {}", file.display()))?;
        let mut found = Vec::from_iter(opening_breach(&source));
        // Tests, benches and examples are in no product.
        if is_core && file.starts_with(&product) && !file.ends_with("tests.rs") {
            found.extend(core_breaches(&source));
        }
        let name = shown(member, &file);
        breaches.extend(found.into_iter().map(|breach| format!("{name}{breach}")));
    }
    Ok(breaches)
}

fn opening_breach(source: &str) -> Option<String> {
    let opening = source.lines().find(|line| !line.trim().is_empty());
    if opening.is_some_and(|line| line.starts_with("//!")) {
        return None;
    }
    Some(": does not open with a `//!` comment; say in it what the file is for".to_owned())
}

fn core_breaches(source: &str) -> Vec<String> {
    let tokens = code(source);
    let mut breaches: Vec<(usize, String)> = Vec::new();
    breaches.extend(paths(&tokens).into_iter().filter_map(path_breach));
    breaches.extend(macros(&tokens).into_iter().filter_map(macro_breach));
    breaches.sort();
    breaches
        .into_iter()
        .map(|(line, what)| format!(":{line}: {what}"))
        .collect()
}

fn path_breach((line, path): (usize, Vec<String>)) -> Option<(usize, String)> {
    let forbidden = NOT_IN_CORE
        .iter()
        .any(|forbidden| reaches(&path, forbidden));
    let what = "is not for the core; pass what it would give as an argument";
    forbidden.then(|| (line, format!("`{}` {what}", path.join("::"))))
}

/// Whether a path names something forbidden, something inside it, or the module that holds it.
fn reaches(path: &[String], forbidden: &[&str]) -> bool {
    let glob = path.last().is_some_and(|last| last == "*");
    let named = if glob { &path[..path.len() - 1] } else { path };
    let shared = named
        .iter()
        .zip(forbidden)
        .all(|(name, forbidden)| name == forbidden);
    // `std` alone, as in `use std::{..}`, opens nothing; `use std::time` opens the clock.
    shared && (named.len() >= 2 || glob)
}

fn macro_breach(token: &Token) -> Option<(usize, String)> {
    let forbidden = NOT_CALLED_IN_CORE.contains(&token.text.as_str());
    let what = "is not for the core; return what there is to say";
    forbidden.then(|| (token.line, format!("`{}!` {what}", token.text)))
}

/// The Rust files in a folder and below, in the order of their names.
fn rust_files(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        let entries =
            fs::read_dir(&folder).with_context(|| format!("cannot read {}", folder.display()))?;
        for entry in entries {
            let path = entry?.path();
            if path.is_dir() && !path.ends_with("target") {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                files.push(path);
            }
        }
    }
    files.sort();
    Ok(files)
}

fn shown(member: &Member, file: &Path) -> String {
    let inside = file.strip_prefix(&member.folder).unwrap_or(file);
    format!("{}: {}", member.name, inside.display())
}

#[cfg(test)]
mod tests {
    use super::{core_breaches, opening_breach};

    #[track_caller]
    fn refused(source: &str, what: &str) {
        let breaches = core_breaches(source);
        assert_eq!(breaches.len(), 1, "{source}: {breaches:?}");
        assert!(breaches[0].contains(what), "{source}: {breaches:?}");
    }

    #[track_caller]
    fn allowed(source: &str) {
        assert_eq!(core_breaches(source), Vec::<String>::new(), "{source}");
    }

    #[test]
    fn files_clock_and_environment_are_refused_in_every_spelling() {
        refused("use std::fs;", ":1: `std::fs`");
        refused("use std::fs::File;", "`std::fs::File`");
        refused(
            "fn f() {\n  let t = std::time::Instant::now();\n}",
            ":2: `std::time::Instant::now`",
        );
        refused(
            "use std::{collections::BTreeMap, env::var as v};",
            "`std::env::var`",
        );
        refused(
            "use std::time::{Duration, SystemTime};",
            "`std::time::SystemTime`",
        );
        refused("use ::std::time::{self, Duration};", "`std::time`");
        refused("use std::time::*;", "`std::time::*`");
    }

    #[test]
    fn what_is_harmless_is_allowed() {
        allowed("use std::time::Duration;");
        allowed("use std::{fmt, iter};");
        allowed("use std::collections::BTreeMap;");
        allowed("use job::fs::Survey;");
        allowed("fn f(std: u8) -> u8 { std }");
    }

    #[test]
    fn printing_is_refused() {
        refused("fn f() { println!(\"x\"); }", ":1: `println!`");
        refused("fn f() { eprint ! (\"x\"); }", "`eprint!`");
        allowed("fn println() {}");
    }

    #[test]
    fn comments_texts_and_tests_are_not_code() {
        allowed("/// println!(\"x\") /* \nfn f() {}");
        allowed("/* std::fs /* nested */ std::env */ fn f<'a>(x: &'a str) -> char { '\"' }");
        allowed("const T: &str = \"std::fs \\\" println!()\"; const R: &str = r#\"std::\"fs\"#;");
        allowed("#[cfg(test)]\nmod tests { use std::fs; fn f() { println!(); } }");
        allowed("#[cfg(test)]\nmod tests;");
        refused(
            "#[cfg(test)]\nmod tests { fn f() {} }\nuse std::fs;",
            ":3: `std::fs`",
        );
    }

    #[test]
    fn a_file_opens_with_what_it_is_for() {
        assert_eq!(opening_breach("//! Sizes of pipes.\n"), None);
        assert!(opening_breach("use std::fmt;\n//! Late.\n").is_some());
        assert!(opening_breach("// Not for the reader of the docs.\n").is_some());
        assert!(opening_breach("").is_some());
    }
}
