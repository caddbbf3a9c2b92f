//! Runs the cross-check suite: pytest, in a Python environment that belongs to the repository.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::built::built;
use crate::run::{answers, program, root, run as run_program};
use crate::tools::from_apt;

const SUITE: &str = "tests/crosscheck";

/// Ends with status 0 on a Python that is new enough for the pinned packages.
const NEW_ENOUGH: &str = "import sys; sys.exit(sys.version_info < (3, 9))";

const NO_PYTHON: &str = "\
the cross-check needs Python 3.9 or newer, and none of `python3`, `python`, `py -3` is one.
  Debian, Ubuntu: sudo apt-get install python3 python3-venv
  Fedora:         sudo dnf install python3
  macOS:          brew install python
  Windows:        winget install Python.Python.3.13
then run `cargo xtask crosscheck` again";

/// What looks into a PDF: its text with places, its fonts, what is drawn.
const POPPLER: [&str; 3] = ["pdftotext", "pdffonts", "pdftocairo"];

const NO_POPPLER: &str = "\
the cross-check needs the programs of poppler: pdftotext, pdffonts and pdftocairo.
  Debian, Ubuntu: sudo apt-get install poppler-utils
  Fedora:         sudo dnf install poppler-utils
  macOS:          brew install poppler
  Windows:        poppler's programs, their folder on the PATH
then run `cargo xtask crosscheck` again";

/// Prepares the environment, builds the program that answers for the crates, and runs pytest.
pub fn run() -> Result<()> {
    let python = environment()?;
    poppler()?;
    let answering = built("crosscheck")?;
    let spadework = built("spadework")?;
    // pytest's cache would be one more folder in the tree.
    let mut pytest = program(python);
    pytest.args([
        "-m",
        "pytest",
        "-q",
        "--tb=short",
        "-p",
        "no:cacheprovider",
        SUITE,
    ]);
    pytest
        .env("CROSSCHECK_PROGRAM", answering)
        .env("SPADEWORK_PROGRAM", spadework)
        .env("PYTHONDONTWRITEBYTECODE", "1");
    run_program(&mut pytest)
}

/// Sees to it that poppler's programs are there.
fn poppler() -> Result<()> {
    let there = || POPPLER.iter().all(|name| answers(program(name).arg("-v")));
    if there() || (from_apt("poppler's programs", &["poppler-utils"]) && there()) {
        return Ok(());
    }
    bail!("{NO_POPPLER}")
}

/// The interpreter of `.venv`, which holds exactly the pinned packages.
pub fn environment() -> Result<PathBuf> {
    let root = root();
    let folder = root.join(".venv");
    let python = interpreter_in(&folder);
    let list = root.join(SUITE).join("requirements.txt");
    let wanted = fs::read_to_string(&list)
        .with_context(|| format!("cannot read the pinned packages in {}", list.display()))?;
    // Written last: an environment whose making was cut short has no such mark.
    let mark = folder.join("installed-requirements.txt");
    let made = fs::read_to_string(&mark).is_ok_and(|installed| installed == wanted);
    if !made || !answers(Command::new(&python).args(["-c", NEW_ENOUGH])) {
        make_environment(&folder, &list)?;
        fs::write(&mark, wanted).with_context(|| format!("cannot write {}", mark.display()))?;
    }
    Ok(python)
}

fn make_environment(folder: &Path, list: &Path) -> Result<()> {
    eprintln!("    installing the Python packages of the cross-check into .venv, once");
    let (name, arguments) = find_python()?;
    run_program(
        program(name)
            .args(arguments)
            .args(["-m", "venv", "--clear"])
            .arg(folder),
    )
    .context("cannot make .venv; on Debian and Ubuntu: sudo apt-get install python3-venv")?;
    let mut pip = program(interpreter_in(folder));
    pip.args([
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
    ]);
    // Building numpy or shapely from source needs compilers and half an hour: rather say at once
    // that this Python has no ready-made package. The list names all that its packages need.
    run_program(
        pip.args(["--only-binary", ":all:", "--no-deps", "--requirement"])
            .arg(list),
    )
    .context(
        "cannot install the Python packages: is the network there, and is this Python between \
         3.9 and the newest that the packages know?",
    )
}

fn find_python() -> Result<(&'static str, &'static [&'static str])> {
    let candidates: [(&str, &[&str]); 3] = [("python3", &[]), ("python", &[]), ("py", &["-3"])];
    candidates
        .into_iter()
        .find(|(name, arguments)| {
            answers(Command::new(name).args(*arguments).args(["-c", NEW_ENOUGH]))
        })
        .context(NO_PYTHON)
}

fn interpreter_in(environment: &Path) -> PathBuf {
    if cfg!(windows) {
        environment.join("Scripts").join("python.exe")
    } else {
        environment.join("bin").join("python")
    }
}
