//! Holding rows against the crates.

use anyhow::{Context, Result};

use crate::registry::value_of;
use crate::row::{Row, STAGES};
use crate::tolerance::Tolerance;
use crate::value::Value;

/// What became of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// The computed value, near enough.
    Held(String),
    /// The computed value, too far off.
    Off(String),
    /// It could not be computed or compared, and why.
    Broken(String),
}

/// A row and what became of it.
#[derive(Debug, Clone)]
pub struct Verdict<'a> {
    /// The row.
    pub row: &'a Row,
    /// What became of it.
    pub outcome: Outcome,
}

impl Verdict<'_> {
    /// Whether the row held.
    pub fn held(&self) -> bool {
        matches!(self.outcome, Outcome::Held(_))
    }

    /// Whether the row held and is evidence.
    pub fn counts(&self) -> bool {
        self.held() && self.row.status.counts()
    }
}

/// Holds every row against the crates.
pub fn run(rows: &[Row]) -> Vec<Verdict<'_>> {
    rows.iter()
        .map(|row| Verdict {
            row,
            outcome: hold(row).unwrap_or_else(|error| Outcome::Broken(format!("{error:#}"))),
        })
        .collect()
}

fn hold(row: &Row) -> Result<Outcome> {
    let tolerance = Tolerance::read(&row.tolerance, &row.unit)?;
    let (text, near) = match value_of(&row.quantity, &row.inputs)? {
        Value::Word(word) => {
            let same = word == row.expected;
            (word, same)
        }
        measure => {
            let computed = measure.in_unit(&row.unit)?;
            let expected: f64 = row
                .expected
                .parse()
                .with_context(|| format!("\"{}\" is not a number", row.expected))?;
            (digits(computed), tolerance.holds(computed, expected))
        }
    };
    Ok(if near {
        Outcome::Held(text)
    } else {
        Outcome::Off(text)
    })
}

/// A number with seven significant digits, and no zeros behind that say nothing.
fn digits(number: f64) -> String {
    let size = if number == 0.0 {
        0.0
    } else {
        number.abs().log10().floor()
    };
    let behind = (6.0 - size).clamp(0.0, 15.0) as usize;
    let text = format!("{number:.behind$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// What a run falls short of, in words; empty if it has not failed.
pub fn shortcomings(verdicts: &[Verdict]) -> Vec<String> {
    if verdicts.is_empty() {
        return vec!["no row was held against anything".to_owned()];
    }
    let mut short: Vec<String> = verdicts.iter().filter_map(failure).collect();
    for stage in STAGES {
        let covered = verdicts.iter().any(|v| v.row.stage == stage && v.counts());
        if !covered {
            short.push(format!("{stage}: no row that counts holds"));
        }
    }
    short
}

fn failure(verdict: &Verdict) -> Option<String> {
    let row = verdict.row;
    let what = match &verdict.outcome {
        Outcome::Held(_) => return None,
        Outcome::Broken(why) => why.clone(),
        Outcome::Off(computed) => format!(
            "expected {} {}, computed {computed}, tolerance {}",
            row.expected, row.unit, row.tolerance
        ),
    };
    Some(format!(
        "{}: {} ({}): {what}",
        row.place, row.quantity, row.inputs
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::row::read_text;

    fn rows(line: &str) -> Vec<Row> {
        let header = "stage,quantity,inputs,expected,unit,tolerance,source,status,note";
        read_text("hydraulics", &format!("{header}\n{line}\n")).unwrap()
    }

    fn outcome(line: &str) -> Outcome {
        run(&rows(line))[0].outcome.clone()
    }

    #[test]
    fn a_wrong_row_is_off_and_a_right_one_holds() {
        let line = |expected: &str| {
            format!(
                "hydraulics,velocity,flow=10 gpm; inside=1 in,{expected},ft/s,0.1 %,test,computed,"
            )
        };
        assert_eq!(
            outcome(&line("4.085")),
            Outcome::Held("4.084977".to_owned())
        );
        assert_eq!(outcome(&line("4.2")), Outcome::Off("4.084977".to_owned()));
        let rows = rows(&line("4.2"));
        let short = shortcomings(&run(&rows));
        assert!(
            short[0].contains("expected 4.2 ft/s, computed 4.084977"),
            "{short:?}"
        );
    }

    #[test]
    fn what_does_not_read_does_not_hold() {
        for (line, says) in [
            (
                "hydraulics,haste,flow=1 gpm,1,ft/s,1 %,test,computed,",
                "no quantity",
            ),
            (
                "hydraulics,velocity,flow=1 gpm,1,ft/s,1 %,test,computed,",
                "missing",
            ),
            (
                "hydraulics,velocity,flow=1 gpm; inside=1 in; c=3,1,ft/s,1 %,test,computed,",
                "does not go by c",
            ),
            (
                "hydraulics,velocity,flow=1 gpm; inside=1 in,1,psi,1 %,test,computed,",
                "not written in",
            ),
            (
                "hydraulics,velocity,flow=1 gpm; inside=1 in,one,ft/s,1 %,test,computed,",
                "not a number",
            ),
        ] {
            let Outcome::Broken(why) = outcome(line) else {
                panic!("{line} reads")
            };
            assert!(why.contains(says), "{why}");
        }
    }

    #[test]
    fn no_rows_are_no_evidence_and_every_stage_needs_some() {
        assert_eq!(shortcomings(&[]).len(), 1);
        let rows =
            rows("hydraulics,velocity,flow=10 gpm; inside=1 in,4.085,ft/s,0.1 %,test,computed,");
        assert_eq!(shortcomings(&run(&rows)).len(), STAGES.len());
    }
}
