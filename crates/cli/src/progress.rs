//! Long work says what it does, and Ctrl-C ends it without leaving anything half written.

use crate::failure::Failure;
use job::Job;
use plan::{Plan, PlanError};
use server::Stop;
use std::io::{IsTerminal, Write};
use std::ops::ControlFlow;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// Held while files are put in place. Ctrl-C waits for it; the value says whether a plan was
/// written.
static WRITING: Mutex<bool> = Mutex::new(false);

/// The planner that is served, if one is: Ctrl-C ends it, and it puts its plan away.
static SERVED: Mutex<Option<Stop>> = Mutex::new(None);

/// Work shorter than this says nothing.
const QUIET: Duration = Duration::from_millis(500);

/// The exit code of a program that Ctrl-C ended: 128 and the signal's number.
pub const INTERRUPTED: u8 = 130;

/// Plans a job; says on standard error what it does once that takes long, if somebody watches a
/// terminal or `wanted` asks for it.
pub fn plan(job: &Job, wanted: bool) -> Result<Plan, Failure> {
    watched(wanted, |report| plan::plan(job, report))
}

/// The same for one of several jobs, whose name is said with every stage.
pub fn plan_of(name: &str, job: &Job, wanted: bool) -> Result<Plan, Failure> {
    watched(wanted, |report| {
        let named = |stage: &str| match stage {
            "" => report(""),
            stage => report(&format!("{name}: {stage}")),
        };
        plan::plan(job, &named)
    })
}

/// The same from an earlier plan.
pub fn replan(job: &Job, last: &Plan, wanted: bool) -> Result<Plan, Failure> {
    watched(wanted, |report| plan::replan(job, last, report))
}

fn watched(
    wanted: bool,
    work: impl FnOnce(&dyn Fn(&str) -> ControlFlow<()>) -> Result<Plan, PlanError>,
) -> Result<Plan, Failure> {
    listen();
    let start = Instant::now();
    let speaks = wanted || std::io::stderr().is_terminal();
    let report = |stage: &str| {
        if speaks && !stage.is_empty() && start.elapsed() > QUIET {
            // A closed standard error is no reason to stop planning.
            let _ = writeln!(std::io::stderr(), "… {stage}");
        }
        ControlFlow::Continue(())
    };
    work(&report).map_err(|error| match error {
        PlanError::Findings(found) => Failure::Job(found),
        PlanError::Stopped => Failure::Stopped,
    })
}

/// Puts files in place; Ctrl-C is answered afterwards.
pub fn undisturbed<T>(write: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    let mut written = writing();
    let result = write();
    *written |= result.is_ok();
    result
}

/// Work that Ctrl-C asks to come to its end.
pub fn served<T>(work: impl FnOnce(&Stop) -> T) -> T {
    let stop = Stop::default();
    *SERVED.lock().unwrap_or_else(PoisonError::into_inner) = Some(stop.clone());
    listen();
    let done = work(&stop);
    *SERVED.lock().unwrap_or_else(PoisonError::into_inner) = None;
    done
}

/// Planning touches nothing outside, so it may end at any moment; only writing must not. Where no
/// handler can be set the system's own stays.
fn listen() {
    let _ = ctrlc::set_handler(|| {
        let served = SERVED.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some(stop) = served {
            // A second Ctrl-C ends the program as it would any other.
            stop.now();
            return;
        }
        let written = *writing();
        if !written {
            let _ = writeln!(std::io::stderr(), "{}", Failure::STOPPED);
        }
        std::process::exit(i32::from(INTERRUPTED));
    });
}

/// A writer that panicked has left nothing in place: files come by renaming whole folders.
fn writing() -> MutexGuard<'static, bool> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}
