//! The programs that checks run, found where cargo has put them.
//!
//! All are built together and with the tests. Alone, a program asks for other features of what it depends on, and
//! cargo would build most of that once more.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Command;
use std::sync::OnceLock;

use anyhow::{Context, Result};
use serde_json::Value;

use crate::run::{cargo_command, output, program};

/// The path of a program or an example, which is built if it has to be.
pub fn built(name: &str) -> Result<PathBuf> {
    static PROGRAMS: OnceLock<BTreeMap<String, PathBuf>> = OnceLock::new();
    let programs = match PROGRAMS.get() {
        Some(programs) => programs,
        None => {
            let found = build()?;
            PROGRAMS.get_or_init(|| found)
        }
    };
    let path = programs.get(name).cloned();
    path.with_context(|| format!("cargo built no program `{name}`, or did not say where it is"))
}

/// A program of ours, ready to be given its arguments and started.
pub fn ours(name: &str) -> Result<Command> {
    built(name).map(program)
}

fn build() -> Result<BTreeMap<String, PathBuf>> {
    let messages = output(&mut cargo_command([
        "build",
        "--quiet",
        "--workspace",
        "--bins",
        "--examples",
        "--tests",
        "--message-format",
        "json-render-diagnostics",
    ]))?;
    let messages = String::from_utf8_lossy(&messages);
    Ok(messages.lines().filter_map(executable).collect())
}

/// Name and path of the program in a message of cargo, if it is about one; a test is none.
fn executable(message: &str) -> Option<(String, PathBuf)> {
    let message: Value = serde_json::from_str(message).ok()?;
    let path = message.get("executable")?.as_str()?;
    let is_test = message.pointer("/profile/test")?.as_bool()?;
    let name = message.pointer("/target/name")?.as_str()?;
    (!is_test).then(|| (name.to_owned(), PathBuf::from(path)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn programs_are_found_among_the_messages_of_cargo() {
        let of = |test: bool, path: &str| {
            format!(
                r#"{{"target": {{"name": "crosscheck"}}, "profile": {{"test": {test}}}, "executable": {path}}}"#
            )
        };
        let program = ("crosscheck".to_owned(), PathBuf::from("/a/crosscheck"));
        assert_eq!(executable(&of(false, r#""/a/crosscheck""#)), Some(program));
        assert_eq!(executable(&of(true, r#""/a/crosscheck""#)), None);
        assert_eq!(executable(&of(false, "null")), None);
        assert_eq!(
            executable(r#"{"reason": "build-finished", "success": true}"#),
            None
        );
    }
}
