//! What stands against a job or a plan: data, not prose only.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How much a finding weighs.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The job cannot be planned before this is mended.
    Error,
    /// The plan stands, but something in it wants a decision.
    Warning,
    /// A usual caution of the trade; it does not go away.
    Caution,
}

/// One thing that is wrong or wants attention.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    /// How much it weighs.
    pub severity: Severity,
    /// The rule that speaks, such as `head-outside-boundary`.
    pub rule: String,
    /// The feature, stretch or field concerned.
    pub subject: String,
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub mend: String,
}

impl Finding {
    /// The subject of what concerns no single feature.
    pub const WHOLE_JOB: &str = "whole job";

    /// An error.
    pub fn error(
        rule: &str,
        subject: impl Into<String>,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        Self::new(Severity::Error, rule, subject, what, mend)
    }

    /// A warning.
    pub fn warning(
        rule: &str,
        subject: impl Into<String>,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        Self::new(Severity::Warning, rule, subject, what, mend)
    }

    /// A usual caution.
    pub fn caution(
        rule: &str,
        subject: impl Into<String>,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        Self::new(Severity::Caution, rule, subject, what, mend)
    }

    fn new(
        severity: Severity,
        rule: &str,
        subject: impl Into<String>,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        let (subject, what, mend) = (subject.into(), what.into(), mend.into());
        Self {
            severity,
            rule: rule.to_owned(),
            subject,
            what,
            mend,
        }
    }
}

/// What is wrong with a feature, and the line of the text on which it begins; 0 where it came from no text.
pub(crate) fn on_line(what: impl std::fmt::Display, line: usize) -> String {
    match line {
        0 => what.to_string(),
        line => format!("{what} (line {line})"),
    }
}
