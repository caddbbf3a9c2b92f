//! Findings in words.

use crate::table::wrapped;
use job::{Finding, Severity};
use std::fmt::Write as _;

/// Every finding with its mend on a line of its own, and how many there are.
pub fn text(found: &[Finding]) -> String {
    let mut out = list(found);
    writeln!(out, "{}", counts(found)).expect("writing to a string does not fail");
    out
}

/// Every finding with its mend on a line of its own.
pub fn list(found: &[Finding]) -> String {
    found.iter().map(one).collect()
}

fn one(finding: &Finding) -> String {
    let subject = match finding.subject.as_str() {
        Finding::WHOLE_JOB => String::new(),
        subject => format!("{subject} "),
    };
    let severity = word(finding.severity);
    let head = format!("{severity}: {subject}{} [{}]", finding.what, finding.rule);
    let mut out = wrapped(&head, "", "    ");
    if !finding.mend.is_empty() {
        out += &wrapped(&finding.mend, "  mend: ", "    ");
    }
    out
}

fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Caution => "caution",
    }
}

/// How many findings of each weight.
pub fn counts(found: &[Finding]) -> String {
    let count = |severity| found.iter().filter(|f| f.severity == severity).count();
    let parts = [
        (count(Severity::Error), "error"),
        (count(Severity::Warning), "warning"),
        (count(Severity::Caution), "caution"),
    ];
    parts
        .map(|(n, word)| format!("{n} {word}{}", if n == 1 { "" } else { "s" }))
        .join(", ")
}
