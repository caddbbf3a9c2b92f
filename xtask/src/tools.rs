//! Cargo subcommands that the checks need and cargo does not bring.

use anyhow::{Context, Result};

use crate::run::{answers, cargo, cargo_command};

/// A cargo subcommand and the version to install where it is missing.
pub struct Tool {
    subcommand: &'static str,
    package: &'static str,
    version: &'static str,
}

/// Runs the tests.
pub const NEXTEST: Tool = Tool {
    subcommand: "nextest",
    package: "cargo-nextest",
    version: "0.9.143",
};

/// Looks at the licences, bans and sources of the dependencies.
pub const DENY: Tool = Tool {
    subcommand: "deny",
    package: "cargo-deny",
    version: "0.20.2",
};

/// Installs a tool where it is missing. A version that is already there is taken as it is: it is
/// the developer's own.
pub fn ensure(tool: &Tool) -> Result<()> {
    if answers(&mut cargo_command([tool.subcommand, "--version"])) {
        return Ok(());
    }
    eprintln!(
        "    installing {} {}, once; this takes minutes",
        tool.package, tool.version
    );
    cargo([
        "install",
        "--quiet",
        "--locked",
        tool.package,
        "--version",
        tool.version,
    ])
    .with_context(|| {
        format!(
            "{} is needed and could not be installed: is the network there?",
            tool.package
        )
    })
}
