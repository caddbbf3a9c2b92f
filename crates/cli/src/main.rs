//! The command line: reads a job file, plans it, prints and writes what the plan says.
//!
//! Works out nothing of the trade. A command gives an [`Answer`], which this file prints; only what goes on while
//! others wait (progress, the planner) is told as it happens. Data goes to standard output, everything else to standard error. Exit codes: 0 done, 1 something failed
//! that is not the job's fault, 2 the job or the call is wrong, 130 stopped by Ctrl-C.

mod args;
mod check;
mod compare;
mod days_table;
mod defaults;
mod demo;
mod export;
mod failure;
mod files;
mod findings;
mod folder;
mod import;
mod input;
mod job_file;
mod open;
mod planned;
mod planning;
mod price_table;
mod progress;
mod sheets_command;
mod summary;
mod table;
mod why;

use args::{Args, Command};
use clap::Parser;
use failure::Failure;
use std::io::Write;
use std::process::ExitCode;

/// A plan is made of many small pieces: this allocator takes about a tenth off the time of a draft.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// What a command has to say.
#[derive(Default)]
struct Answer {
    /// For standard output.
    out: String,
    /// For standard error.
    err: String,
    /// The exit code.
    code: u8,
}

impl Answer {
    fn of(out: String) -> Self {
        Self {
            out,
            ..Self::default()
        }
    }
}

fn main() -> ExitCode {
    quiet_pages();
    let answer = run(&Args::parse()).unwrap_or_else(Failure::answer);
    let (out, err) = (std::io::stdout().lock(), std::io::stderr().lock());
    // Nobody is left to be told that standard error is closed.
    let _ = say(err, &answer.err);
    match say(out, &answer.out) {
        Ok(()) => ExitCode::from(answer.code),
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => ExitCode::from(answer.code),
        Err(e) => {
            let _ = say(
                std::io::stderr().lock(),
                &format!("error: cannot write to standard output: {e}\n"),
            );
            ExitCode::FAILURE
        }
    }
}

/// A damaged page is told as an error; that the library which draws it panicked is no matter of the user's.
fn quiet_pages() {
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if std::thread::current().name() != Some(underlay::PAGE_THREAD) {
            usual(info);
        }
    }));
}

fn say(mut to: impl Write, text: &str) -> std::io::Result<()> {
    to.write_all(text.as_bytes())?;
    to.flush()
}

fn run(args: &Args) -> Result<Answer, Failure> {
    let progress = args.progress;
    match &args.command {
        Command::Check(args) => check::run(args),
        Command::Plan(args) => planning::run(args, progress),
        Command::Compare(args) => compare::run(args, progress),
        Command::Import(args) => import::run(args),
        Command::Export(args) => export::run(args, progress),
        Command::Sheets(args) => sheets_command::run(args, progress),
        Command::Why(args) => why::run(args, progress),
        Command::Open(args) => open::run(args),
        Command::Demo(args) => demo::run(args, progress),
        Command::Sample(args) => defaults::sample(args),
        Command::Practice => Ok(Answer::of(job::DEFAULT_PRACTICE.to_owned())),
        Command::Prices => Ok(Answer::of(job::DEFAULT_PRICES.to_owned())),
        Command::Schema { of } => defaults::schema(*of),
    }
}
