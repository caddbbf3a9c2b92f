//! Builds the page (Node.js) into the folder from which it is embedded. Without Node.js the program is built all the
//! same, with a page that says what is missing.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The oldest Node.js that builds the page.
const NODE: u32 = 20;

fn main() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui");
    for part in [
        "src",
        "public",
        "index.html",
        "package.json",
        "package-lock.json",
        "svelte.config.js",
        "tsconfig.json",
        "vite.config.ts",
    ] {
        println!("cargo::rerun-if-changed={}", source.join(part).display());
    }
    println!("cargo::rerun-if-changed=build.rs");
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default()).join("page");
    if let Err(what) = tools(&source) {
        println!(
            "cargo::warning=the planner's page was left out of this program: {what}. Install Node.js {NODE} or newer \
             (with npm) and build again; everything but `spadework open` works without it"
        );
        if let Err(error) = lacking(&out, &what) {
            println!("cargo::error=the page that says so cannot be written: {error}");
        }
    } else if let Err(what) = build(&source, &out) {
        println!("cargo::error=the planner's page cannot be built: {what}");
    }
}

/// Node.js and what the page is built with.
fn tools(source: &Path) -> Result<(), String> {
    let version = said(Command::new("node").arg("--version"))?;
    let major = version.trim_start_matches('v').split('.').next();
    let major: Option<u32> = major.and_then(|text| text.parse().ok());
    if major.is_none_or(|major| major < NODE) {
        return Err(format!("Node.js is {}, too old", version.trim()));
    }
    let lock = fs::read(source.join("package-lock.json")).map_err(|error| error.to_string())?;
    let stamp = source.join("node_modules/.installed-lock");
    if fs::read(&stamp).ok().as_ref() != Some(&lock) {
        said(
            npm()
                .args(["ci", "--no-audit", "--no-fund"])
                .current_dir(source),
        )?;
        fs::write(&stamp, &lock).map_err(|error| error.to_string())?;
    }
    Ok(())
}

fn build(source: &Path, out: &Path) -> Result<(), String> {
    let vite = source.join("node_modules/vite/bin/vite.js");
    said(
        Command::new("node")
            .arg(vite)
            .args(["build", "--emptyOutDir", "--logLevel", "warn", "--outDir"])
            .arg(out)
            .current_dir(source),
    )?;
    Ok(())
}

/// npm, which is a script of the command processor on Windows.
fn npm() -> Command {
    match cfg!(windows) {
        true => {
            let mut command = Command::new("cmd");
            command.args(["/C", "npm"]);
            command
        }
        false => Command::new("npm"),
    }
}

fn said(command: &mut Command) -> Result<String, String> {
    let name = command.get_program().to_string_lossy().into_owned();
    let output = command
        .output()
        .map_err(|error| format!("`{name}` cannot be run ({error})"))?;
    if !output.status.success() {
        let last: Vec<_> = [&output.stdout[..], &output.stderr[..]].concat();
        let text = String::from_utf8_lossy(&last);
        let lines: Vec<&str> = text
            .lines()
            .filter(|line| !line.trim().is_empty())
            .collect();
        let tail = lines[lines.len().saturating_sub(12)..].join(" | ");
        return Err(format!("`{name}` failed: {tail}"));
    }
    Ok(String::from_utf8_lossy(&output.stdout).into_owned())
}

fn lacking(out: &Path, what: &str) -> std::io::Result<()> {
    fs::create_dir_all(out)?;
    let what = what.replace('&', "&amp;").replace('<', "&lt;");
    fs::write(
        out.join("index.html"),
        format!(
            "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>Spadework</title></head><body><main>\
             <h1>This program was built without its page</h1><p>{what}</p><p>Install Node.js {NODE} or newer and build \
             it again.</p></main></body></html>"
        ),
    )
}
