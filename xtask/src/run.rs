//! Running other programs from the root of the repository.

use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};

/// The folder that holds the workspace manifest.
pub fn root() -> PathBuf {
    // Cargo says at run time where the manifest of xtask is; the path known at compile time would
    // be stale after the repository was moved.
    let xtask = std::env::var_os("CARGO_MANIFEST_DIR")
        .map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")), PathBuf::from);
    xtask
        .parent()
        .map_or_else(|| xtask.clone(), Path::to_path_buf)
}

/// A program started in the root of the repository.
pub fn program(name: impl AsRef<OsStr>) -> Command {
    let mut command = Command::new(name);
    command.current_dir(root());
    command
}

/// The cargo that runs xtask, with these arguments.
pub fn cargo_command<I: AsRef<OsStr>>(arguments: impl IntoIterator<Item = I>) -> Command {
    let mut command = program(std::env::var_os("CARGO").unwrap_or_else(|| OsString::from("cargo")));
    command.args(arguments);
    command
}

/// Runs cargo and lets it write to the terminal.
pub fn cargo<I: AsRef<OsStr>>(arguments: impl IntoIterator<Item = I>) -> Result<()> {
    run(&mut cargo_command(arguments))
}

/// Runs a program and lets it write to the terminal; an exit status other than 0 is an error.
pub fn run(command: &mut Command) -> Result<()> {
    let status = command
        .status()
        .with_context(|| format!("cannot start {}", shown(command)))?;
    if !status.success() {
        bail!("{} ended with {status}", shown(command));
    }
    Ok(())
}

/// Runs a program and returns what it wrote to standard output; its standard error goes to the
/// terminal.
pub fn output(command: &mut Command) -> Result<Vec<u8>> {
    command.stderr(Stdio::inherit());
    let output = command
        .output()
        .with_context(|| format!("cannot start {}", shown(command)))?;
    if !output.status.success() {
        bail!("{} ended with {}", shown(command), output.status);
    }
    Ok(output.stdout)
}

/// Whether a program can be started and ends well; it writes nothing to the terminal.
pub fn answers(command: &mut Command) -> bool {
    command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success())
}

/// A program as a person would type it.
fn shown(command: &Command) -> String {
    let program = Path::new(command.get_program());
    let mut words = vec![
        program
            .file_stem()
            .unwrap_or(program.as_os_str())
            .to_string_lossy(),
    ];
    words.extend(command.get_args().map(OsStr::to_string_lossy));
    format!("`{}`", words.join(" "))
}
