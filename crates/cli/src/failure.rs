//! Why a command could not do its work, and how to mend it.

use crate::Answer;
use crate::findings;
use job::Finding;

/// Why a command could not do its work.
#[derive(Debug)]
pub enum Failure {
    /// The call or a file is wrong: what, and how to mend it.
    Input { what: String, mend: String },
    /// The job is wrong.
    Job(Vec<Finding>),
    /// The system refused something that is not the job's fault.
    System { what: String, mend: String },
    /// The user stopped it.
    Stopped,
}

impl Failure {
    pub fn input(what: impl Into<String>, mend: impl Into<String>) -> Self {
        let (what, mend) = (what.into(), mend.into());
        Self::Input { what, mend }
    }

    pub fn system(what: impl Into<String>, mend: impl Into<String>) -> Self {
        let (what, mend) = (what.into(), mend.into());
        Self::System { what, mend }
    }

    /// What is printed, and the exit code.
    pub fn answer(self) -> Answer {
        let (err, code) = match self {
            Self::Input { what, mend } => (message(&what, &mend), 2),
            Self::System { what, mend } => (message(&what, &mend), 1),
            Self::Job(found) => (findings::text(&found), 2),
            Self::Stopped => ("stopped; nothing was written\n".to_owned(), 130),
        };
        Answer {
            err,
            code,
            ..Answer::default()
        }
    }
}

fn message(what: &str, mend: &str) -> String {
    format!("error: {what}\n  mend: {mend}\n")
}
