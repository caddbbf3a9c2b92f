//! Long work says what it does, and stops when it is asked to.

use crate::failure::Failure;
use job::Job;
use plan::{Plan, PlanError};
use std::io::Write;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

static STOP: AtomicBool = AtomicBool::new(false);

/// Work shorter than this says nothing.
const QUIET: Duration = Duration::from_millis(500);

/// Plans a job; says on standard error what it does once that takes long.
pub fn plan(job: &Job) -> Result<Plan, Failure> {
    listen();
    let start = Instant::now();
    let report = |stage: &str| {
        if !stage.is_empty() && start.elapsed() > QUIET {
            // A closed standard error is no reason to stop planning.
            let _ = writeln!(std::io::stderr(), "… {stage}");
        }
        if stopped() {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    };
    plan::plan(job, &report).map_err(|error| match error {
        PlanError::Findings(found) => Failure::Job(found),
        PlanError::Stopped => Failure::Stopped,
    })
}

/// Whether the user asked to stop.
pub fn stopped() -> bool {
    STOP.load(Ordering::Relaxed)
}

/// Ctrl-C raises a flag that the planner looks at between its steps. Where no handler can be set the
/// system's own stays: it ends the program, and folders are still swapped as a whole.
fn listen() {
    let _ = ctrlc::set_handler(|| STOP.store(true, Ordering::Relaxed));
}
