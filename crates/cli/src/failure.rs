//! Why a command could not do its work, and how to mend it.

use crate::Answer;
use crate::findings;
use crate::progress::INTERRUPTED;
use job::Finding;

/// Why a command could not do its work.
#[derive(Debug)]
pub enum Failure {
    /// The call or a file is wrong: what, and how to mend it.
    Input { what: String, mend: String },
    /// The job is wrong.
    Job(Vec<Finding>),
    /// Several files are wrong, each with its name.
    Several(Vec<(String, Self)>),
    /// The system refused something that is not the job's fault.
    System { what: String, mend: String },
    /// The user stopped it.
    Stopped,
}

impl Failure {
    /// What is said when the user stopped it.
    pub const STOPPED: &str = "stopped; no plan was written";

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
            Self::Several(failures) => several(failures),
            Self::Stopped => (format!("{}\n", Self::STOPPED), INTERRUPTED),
        };
        Answer {
            err,
            code,
            ..Answer::default()
        }
    }
}

/// Each under the name of its file; the gravest code counts.
fn several(failures: Vec<(String, Failure)>) -> (String, u8) {
    let mut out = String::new();
    let mut gravest = 0;
    for (name, failure) in failures {
        let Answer { err, code, .. } = failure.answer();
        out += &format!("{name}\n{err}");
        gravest = gravest.max(code);
    }
    (out, gravest)
}

fn message(what: &str, mend: &str) -> String {
    format!("error: {what}\n  mend: {mend}\n")
}
