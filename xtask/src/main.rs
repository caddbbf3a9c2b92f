//! The checks of the project behind one command: `cargo xtask test` runs them all.
//!
//! Uses no shell, so that it behaves the same on Linux, macOS and Windows. What a check needs
//! and the machine lacks (cargo-nextest, cargo-deny, the Python packages of the cross-check) is
//! installed on first use; only cargo and Python 3.9 or newer have to be there.

mod bench;
mod built;
mod crosscheck;
mod fresh;
mod generated;
mod house;
mod page;
mod run;
mod tools;

use std::process::ExitCode;
use std::time::Instant;

use anyhow::{Context, Result, bail};

use built::ours;
use run::cargo;

/// A command of `cargo xtask`.
struct Command {
    name: &'static str,
    about: &'static str,
    run: fn() -> Result<()>,
}

/// The checks, in the order in which `test` runs them: the quick ones first, and the cross-check
/// last, so that the run ends with the closing line of its test runner.
const CHECKS: [Command; 11] = [
    Command {
        name: "fmt",
        about: "refuse code that `cargo fmt` would change",
        run: fmt,
    },
    Command {
        name: "house",
        about: "refuse an import against the direction of the house, or I/O in the core",
        run: house::check,
    },
    Command {
        name: "lint",
        about: "clippy over every target, tests, benches and examples included",
        run: lint,
    },
    Command {
        name: "deny",
        about: "licences, bans and sources of the dependencies",
        run: deny,
    },
    Command {
        name: "nextest",
        about: "unit, property and end-to-end tests",
        run: nextest,
    },
    Command {
        name: "doctest",
        about: "the examples in the documentation",
        run: doctest,
    },
    Command {
        name: "generated",
        about: "refuse a committed generated file that is out of date",
        run: generated::check,
    },
    Command {
        name: "evidence",
        about: "published values held against the crates",
        run: evidence,
    },
    Command {
        name: "fuzz",
        about: "mutated files for every reader of other formats: no panic, no hang, no flood of memory",
        run: fuzz,
    },
    Command {
        name: "page",
        about: "the planner's page: types, unit tests, and the whole program in a browser",
        run: page::run,
    },
    Command {
        name: "crosscheck",
        about: "generated cases held against general-purpose Python libraries",
        run: crosscheck::run,
    },
];

/// The commands that take options.
const BENCH_ROUTES: &str = "bench-routes";
const BENCH_DAYS: &str = bench::days::NAME;

/// The commands that are not themselves a check.
const OTHERS: [Command; 4] = [
    Command {
        name: "test",
        about: "every check above, in this order",
        run: test,
    },
    Command {
        name: "bless",
        about: "write the committed generated files anew",
        run: generated::bless,
    },
    Command {
        name: "bench-page",
        about: "how soon the page shows a plan after a change, in a browser",
        run: page::bench,
    },
    Command {
        name: "fresh",
        about: "run `test` in a fresh clone of the last commit",
        run: fresh::run,
    },
];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match dispatch(&arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn dispatch(arguments: &[String]) -> Result<()> {
    if let [name, options @ ..] = arguments
        && name == BENCH_ROUTES
    {
        return bench::run(options);
    }
    if let [name, options @ ..] = arguments
        && name == BENCH_DAYS
    {
        return bench::days::run(options);
    }
    let [name] = arguments else {
        bail!("give one command\n\n{}", usage());
    };
    let command = CHECKS
        .iter()
        .chain(&OTHERS)
        .find(|command| command.name == name)
        .with_context(|| format!("there is no command `{name}`\n\n{}", usage()))?;
    (command.run)()
}

fn usage() -> String {
    let mut text = String::from("usage: cargo xtask COMMAND\n");
    for command in CHECKS.iter().chain(&OTHERS) {
        text.push_str(&format!("\n  {:<11} {}", command.name, command.about));
    }
    text.push_str(&format!(
        "\n  {BENCH_ROUTES} [--set FOLDER] [--only FAMILY]\n              run the open instances and \
         write docs/performance.md\n  {BENCH_DAYS} [--set FOLDER] [--only FAMILY]\n              the same for schedules \
         and cutting"
    ));
    text
}

fn test() -> Result<()> {
    for (index, check) in CHECKS.iter().enumerate() {
        let place = format!("{} ({} of {})", check.name, index + 1, CHECKS.len());
        eprintln!("==> {place}: {}", check.about);
        let start = Instant::now();
        (check.run)().with_context(|| {
            format!(
                "stopped at {place}; run it alone with `cargo xtask {}`",
                check.name
            )
        })?;
        // Nothing may follow the closing line of the last runner.
        if index + 1 < CHECKS.len() {
            eprintln!(
                "    {} holds, {:.1} s",
                check.name,
                start.elapsed().as_secs_f64()
            );
        }
    }
    Ok(())
}

fn fmt() -> Result<()> {
    cargo(["fmt", "--all", "--check"]).context("run `cargo fmt --all` and look at what it changed")
}

/// Checking every target also keeps benches and examples from rotting, at a fraction of the time
/// that building them would take.
fn lint() -> Result<()> {
    cargo([
        "clippy",
        "--workspace",
        "--all-targets",
        "--",
        "-D",
        "warnings",
    ])
}

/// The advisory database is left out: it has to be fetched from the network, and what it says
/// changes while the project does not.
fn deny() -> Result<()> {
    tools::ensure(&tools::DENY)?;
    cargo([
        "deny",
        "--log-level",
        "error",
        "check",
        "bans",
        "licenses",
        "sources",
    ])
}

fn nextest() -> Result<()> {
    tools::ensure(&tools::NEXTEST)?;
    cargo(["nextest", "run", "--workspace", "--no-fail-fast"])
}

/// nextest does not run doc tests.
fn doctest() -> Result<()> {
    cargo(["test", "--quiet", "--workspace", "--doc"])
}

fn evidence() -> Result<()> {
    run::run(&mut ours("evidence")?)
}

/// Seconds for all readers together.
const FUZZ_SECONDS: &str = "70";

fn fuzz() -> Result<()> {
    run::run(ours("fuzz")?.arg(FUZZ_SECONDS))
}
