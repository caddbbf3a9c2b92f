//! What holds for the plan of any job.

#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../../../routes/tests/support/mod.rs"]
mod support;

mod balances;
mod change;
mod checker_speaks;
mod decided;
mod frost;
mod grouping;
mod moved_site;
mod network;
mod same_bytes;
mod spoiled_input;

use job::{Job, ReadOptions};
use plan::{Plan, PlanError};
use std::ops::ControlFlow;

/// The checked job of a text.
fn read(text: &str) -> Job {
    job::read(text, &ReadOptions::default()).unwrap().job
}

/// The plan of a job; nothing if some component cannot be reached.
fn plan_of(job: &Job) -> Option<Plan> {
    match plan::plan(job, &|_| ControlFlow::Continue(())) {
        Ok(plan) => Some(plan),
        Err(PlanError::Findings(findings)) => {
            assert!(
                findings.iter().all(|f| f.rule == "unreachable"),
                "{findings:?}"
            );
            None
        }
        Err(PlanError::Stopped) => panic!("nobody stopped it"),
    }
}
