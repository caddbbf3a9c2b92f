//! What a stranger sees: a clone of the last commit, without anything that lies about here.

use std::fs;

use anyhow::{Context, Result};

use crate::run::{cargo_command, program, root, run as run_program};

/// Clones the last commit into `target/fresh` and runs every check there, with a build folder and
/// a Python environment of its own. The clone stays, so that a failure can be looked at.
pub fn run() -> Result<()> {
    let clone = root().join("target").join("fresh");
    if clone.exists() {
        fs::remove_dir_all(&clone).with_context(|| format!("cannot empty {}", clone.display()))?;
    }
    run_program(program("git").args(["clone", "--quiet", "."]).arg(&clone))?;
    let mut test = cargo_command(["xtask", "test"]);
    run_program(test.current_dir(&clone).env_remove("CARGO_TARGET_DIR"))
}
