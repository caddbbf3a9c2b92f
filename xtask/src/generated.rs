//! Files that a program writes and that are committed, so that a reader finds them without
//! building anything: they have to say what the program says today.

use std::fs;

use anyhow::{Context, Result, bail};

use crate::built::ours;
use crate::run::{output, root};

/// A committed file and the program that prints it on standard output.
struct Generated {
    path: &'static str,
    binary: &'static str,
    arguments: &'static [&'static str],
}

const FILES: [Generated; 4] = [
    Generated {
        path: "docs/job.schema.json",
        binary: "spadework",
        arguments: &["schema", "job"],
    },
    Generated {
        path: "docs/plan.schema.json",
        binary: "spadework",
        arguments: &["schema", "plan"],
    },
    Generated {
        path: "ui/openapi.json",
        binary: "spadework",
        arguments: &["schema", "planner"],
    },
    Generated {
        path: "docs/evidence.md",
        binary: "evidence",
        arguments: &["render"],
    },
];

/// Writes every generated file anew.
pub fn bless() -> Result<()> {
    for file in &FILES {
        let text = generate(file)?;
        let path = root().join(file.path);
        fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))?;
        eprintln!("wrote {}", file.path);
    }
    crate::page::bless()
}

/// Refuses a file that differs from what its program prints; all of them are named at once.
pub fn check() -> Result<()> {
    let mut stale = Vec::new();
    for file in &FILES {
        let path = root().join(file.path);
        let committed = fs::read_to_string(&path).unwrap_or_default();
        if let Some(line) = first_difference(&committed, &generate(file)?) {
            stale.push(format!("{} from line {line} on", file.path));
        }
    }
    if stale.is_empty() {
        return Ok(());
    }
    bail!(
        "out of date: {}; run `cargo xtask bless` and look at the change",
        stale.join(", ")
    )
}

fn generate(file: &Generated) -> Result<String> {
    let bytes = output(ours(file.binary)?.args(file.arguments))?;
    let text = String::from_utf8(bytes)
        .with_context(|| format!("{} prints {} not as UTF-8", file.binary, file.path))?;
    if text.trim().is_empty() {
        bail!("{} printed nothing for {}", file.binary, file.path);
    }
    Ok(text)
}

/// The first line, counted from 1, in which two texts differ. Line endings are not compared: a
/// checkout on Windows may have its own.
fn first_difference(committed: &str, generated: &str) -> Option<usize> {
    let mut committed = committed.lines();
    let mut generated = generated.lines();
    let mut line = 1;
    loop {
        match (committed.next(), generated.next()) {
            (None, None) => return None,
            (left, right) if left != right => return Some(line),
            _ => line += 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::first_difference;

    #[test]
    fn equal_texts_do_not_differ_whatever_their_line_endings() {
        assert_eq!(first_difference("a\nb\n", "a\r\nb\r\n"), None);
    }

    #[test]
    fn a_changed_and_a_missing_line_are_found() {
        assert_eq!(first_difference("a\nb\n", "a\nc\n"), Some(2));
        assert_eq!(first_difference("a\n", "a\nb\n"), Some(2));
        assert_eq!(first_difference("", "a\n"), Some(1));
    }
}
