//! What the checks need and cargo does not bring: its subcommands, and programs of the system.

use anyhow::{Context, Result};

use crate::run::{answers, cargo, cargo_command, program, run};

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

/// Installs packages of the system where that needs no one's leave: a bare machine for checks, such
/// as a container, is root's and brings apt. Says whether it did.
pub fn from_apt(what: &str, packages: &[&str]) -> bool {
    if !cfg!(target_os = "linux") || !answers(program("apt-get").arg("--version")) {
        return false;
    }
    eprintln!("    installing {what}, once");
    let mut update = program("apt-get");
    update.args(["update", "-qq"]);
    let mut install = program("apt-get");
    install
        .args(["install", "-y", "-qq", "--no-install-recommends"])
        .args(packages)
        .env("DEBIAN_FRONTEND", "noninteractive");
    run(&mut update).and_then(|()| run(&mut install)).is_ok()
}
