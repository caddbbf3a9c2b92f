//! The planner's page: its types, its own checks and tests, and the browser tests over the whole program.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::built::built;
use crate::run::{answers, output, program, root, run as run_program};
use crate::tools::from_apt;

const FOLDER: &str = "ui";

/// The types of what the program answers, made from its own description.
const TYPES: &str = "src/api/schema.d.ts";

const NO_NODE: &str = "\
the page needs Node.js 20 or newer with npm.
  Debian, Ubuntu: sudo apt-get install nodejs npm
  Fedora:         sudo dnf install nodejs
  macOS:          brew install node
  Windows:        winget install OpenJS.NodeJS.LTS
then run `cargo xtask page` again";

const NO_BROWSER: &str = "\
the browser tests need Chromium, Chrome or Edge, and none was found.
  Debian:  sudo apt-get install chromium
  Fedora:  sudo dnf install chromium
  macOS:   brew install --cask chromium
  Windows: Edge is there; elsewhere name one in the variable CHROMIUM
then run `cargo xtask page` again";

/// Names of browsers on the search path.
const BROWSERS: [&str; 6] = [
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
];

/// Where browsers stand that are on no search path.
const PLACES: [&str; 7] = [
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
    r"C:\Program Files\Microsoft\Edge\Application\msedge.exe",
];

/// Types, unit tests, and the browser tests.
pub fn run() -> Result<()> {
    installed()?;
    types_are_of_today()?;
    node(
        "svelte-check/bin/svelte-check",
        &["--fail-on-warnings", "--tsconfig", "./tsconfig.json"],
    )?;
    node("vitest/vitest.mjs", &["run"])?;
    let mut browser_tests = script("@playwright/test/cli.js", &["test"])?;
    browser_tests
        .env("SPADEWORK_PROGRAM", built("spadework")?)
        .env("CHROMIUM", browser()?);
    run_program(&mut browser_tests)
}

/// Measures the page in a browser, over the program built for use, and writes what it found.
pub fn bench() -> Result<()> {
    installed()?;
    run_program(&mut crate::run::cargo_command([
        "build",
        "--quiet",
        "--release",
        "--package",
        "cli",
        "--bin",
        "spadework",
    ]))?;
    let name = format!("spadework{}", env::consts::EXE_SUFFIX);
    let built = root().join("target").join("release").join(name);
    let mut bench = script(
        "@playwright/test/cli.js",
        &["test", "--config", "bench.config.ts"],
    )?;
    bench
        .env("SPADEWORK_PROGRAM", built)
        .env("CHROMIUM", browser()?);
    run_program(&mut bench)
}

/// Writes the types anew.
pub fn bless() -> Result<()> {
    installed()?;
    let text = types()?;
    let path = folder().join(TYPES);
    fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))?;
    eprintln!("wrote {FOLDER}/{TYPES}");
    Ok(())
}

fn folder() -> PathBuf {
    root().join(FOLDER)
}

/// Puts the page's packages where they are looked for. Whoever builds the program has them already.
fn installed() -> Result<()> {
    let lock =
        fs::read(folder().join("package-lock.json")).context("cannot read ui/package-lock.json")?;
    let stamp = folder().join("node_modules").join(".installed-lock");
    if fs::read(&stamp).ok().as_ref() == Some(&lock) {
        return Ok(());
    }
    if !answers(program("node").arg("--version")) {
        bail!("{NO_NODE}");
    }
    let mut npm = match cfg!(windows) {
        true => {
            let mut command = program("cmd");
            command.args(["/C", "npm"]);
            command
        }
        false => program("npm"),
    };
    npm.args(["ci", "--no-audit", "--no-fund"])
        .current_dir(folder());
    run_program(&mut npm).context("cannot install the page's packages: is the network there?")?;
    fs::write(&stamp, &lock).with_context(|| format!("cannot write {}", stamp.display()))
}

fn script(name: &str, arguments: &[&str]) -> Result<Command> {
    let path = name
        .split('/')
        .fold(folder().join("node_modules"), |path, part| path.join(part));
    if !path.exists() {
        bail!(
            "{} is not there; remove ui/node_modules and try again",
            path.display()
        );
    }
    let mut command = program("node");
    command.arg(path).args(arguments).current_dir(folder());
    Ok(command)
}

fn node(name: &str, arguments: &[&str]) -> Result<()> {
    run_program(&mut script(name, arguments)?)
}

fn types() -> Result<String> {
    let bytes = output(&mut script(
        "openapi-typescript/bin/cli.js",
        &["openapi.json"],
    )?)?;
    String::from_utf8(bytes).context("the types are no UTF-8")
}

fn types_are_of_today() -> Result<()> {
    let committed = fs::read_to_string(folder().join(TYPES)).unwrap_or_default();
    let same = committed.lines().eq(types()?.lines());
    if !same {
        bail!("{FOLDER}/{TYPES} is out of date: run `cargo xtask bless` and look at the change");
    }
    Ok(())
}

fn browser() -> Result<PathBuf> {
    if let Some(named) = env::var_os("CHROMIUM") {
        return Ok(named.into());
    }
    if let Some(found) = found() {
        return Ok(found);
    }
    if from_apt("Chromium", &["chromium", "fonts-dejavu-core"])
        && let Some(found) = found()
    {
        return Ok(found);
    }
    bail!("{NO_BROWSER}")
}

fn found() -> Option<PathBuf> {
    let path = env::var_os("PATH").unwrap_or_default();
    let on_path = env::split_paths(&path).flat_map(|folder| BROWSERS.map(|name| folder.join(name)));
    let mut all = on_path.chain(PLACES.iter().map(|place| Path::new(place).to_path_buf()));
    all.find(|place| place.is_file())
}
