//! `spadework check`: everything that stands against a job.

use crate::args::JobArgs;
use crate::failure::Failure;
use crate::{Answer, findings, input};
use job::Severity;

pub fn run(args: &JobArgs) -> Result<Answer, Failure> {
    // What is wrong with the job is the answer here, not a failure: it goes to standard output.
    let found = match input::job(args) {
        Ok(reading) => {
            let mut found = reading.findings;
            found.extend(plan::check(&reading.job));
            found
        }
        Err(Failure::Job(found)) => found,
        Err(other) => return Err(other),
    };
    let wrong = found.iter().any(|f| f.severity == Severity::Error);
    Ok(Answer {
        out: findings::text(&found),
        code: if wrong { 2 } else { 0 },
        ..Answer::default()
    })
}
