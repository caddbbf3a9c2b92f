//! The direction of the house: which crate may import which, and what the core must not touch.
//!
//! A plan is a pure function of a job, and data flows one way through the crates. Both are easy to
//! break by one line that looks harmless, so this check reads the manifests and the sources.

mod imports;
mod metadata;
mod rooms;
mod sources;
mod tokens;

use anyhow::{Result, bail};

use crate::run::{cargo_command, output};

/// Names every breach at once.
pub fn check() -> Result<()> {
    let json = output(&mut cargo_command([
        "metadata",
        "--no-deps",
        "--offline",
        "--format-version",
        "1",
    ]))?;
    let crates = metadata::read(&json)?;
    let mut breaches = imports::check(&rooms::HOUSE, &crates);
    for member in &crates {
        breaches.extend(sources::check(member, rooms::is_core(&member.name))?);
    }
    if breaches.is_empty() {
        return Ok(());
    }
    for breach in &breaches {
        eprintln!("  {breach}");
    }
    bail!("breaches of the rules of the house: {}", breaches.len())
}
