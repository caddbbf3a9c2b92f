//! The verdicts as text: a summary for the terminal, a document for readers.

use std::fmt::Write;

use crate::row::{STAGES, Status};
use crate::run::{Outcome, Verdict, shortcomings};

/// How many held by stage and status, and everything that the run falls short of.
pub fn summary(verdicts: &[Verdict]) -> String {
    let mut text = String::new();
    for line in table(verdicts) {
        let [stage, numbers @ ..] = &line;
        let mut row = format!("{stage:<12}");
        for number in numbers {
            row.push_str(&format!("{number:>21}"));
        }
        text.push_str(row.trim_end());
        text.push('\n');
    }
    let counting = verdicts.iter().filter(|v| v.counts()).count();
    let held = verdicts.iter().filter(|v| v.held()).count();
    text.push_str(&format!(
        "\n{counting} rows hold and count; {held} of {} hold\n",
        verdicts.len()
    ));
    let short = shortcomings(verdicts);
    for line in &short {
        text.push_str(&format!("FAILED {line}\n"));
    }
    text
}

/// Stage by status, `held/all`, with a head and a foot.
fn table(verdicts: &[Verdict]) -> Vec<[String; 6]> {
    let cells = |label: &str, of_stage: &dyn Fn(&Verdict) -> bool| {
        let mut line: [String; 6] = Default::default();
        label.clone_into(&mut line[0]);
        for (cell, status) in line[1..].iter_mut().zip(Status::ALL) {
            let mine: Vec<&Verdict> = verdicts
                .iter()
                .filter(|v| v.row.status == status && of_stage(v))
                .collect();
            let held = mine.iter().filter(|v| v.held()).count();
            *cell = match mine.len() {
                0 => "-".to_owned(),
                all if all == held => held.to_string(),
                all => format!("{held} of {all}"),
            };
        }
        line
    };
    let mut head: [String; 6] = Default::default();
    "stage".clone_into(&mut head[0]);
    for (cell, status) in head[1..].iter_mut().zip(Status::ALL) {
        *cell = status.to_string();
    }
    let mut lines = vec![head];
    lines.extend(STAGES.map(|stage| cells(stage, &|v| v.row.stage == stage)));
    lines.push(cells("all", &|_| true));
    lines
}

const PREFACE: &str = "\
<!-- Written by `cargo xtask bless` from evidence/rows/*.csv; change the rows, not this file. -->

# Evidence

Published values held against the crates that make a plan. `cargo xtask evidence` runs it, and fails
if a row does not hold.

A row counts if its expected value was read in a published text (`confirmed`; often in a copy of it,
see [sources.md](sources.md)), comes from a general-purpose library (`computed-by-library`) or is a
marked fact of the trade (`common practice`). A value that was worked out by the formula under test
(`computed`) or remembered (`from memory`) shows that nothing was mistyped, no more, and is counted
apart.
";

/// The document: what held, by stage, with every row and its source.
pub fn render(verdicts: &[Verdict]) -> String {
    let mut text = String::from(PREFACE);
    let counting = verdicts.iter().filter(|v| v.counts()).count();
    text.push_str(&format!("\n**{counting} rows hold and count.**\n\n"));
    for (i, line) in table(verdicts).iter().enumerate() {
        push_line(&mut text, line);
        if i == 0 {
            text.push_str("| --- | ---: | ---: | ---: | ---: | ---: |\n");
        }
    }
    for stage in STAGES {
        stage_table(&mut text, stage, verdicts);
    }
    text
}

fn stage_table(text: &mut String, stage: &str, verdicts: &[Verdict]) {
    let mut title = stage.to_owned();
    title[..1].make_ascii_uppercase();
    text.push_str(&format!("\n## {title}\n\n"));
    push_line(
        text,
        &[
            "quantity",
            "inputs",
            "expected",
            "computed",
            "tolerance",
            "status",
            "source",
            "note",
        ]
        .map(str::to_owned),
    );
    text.push_str("| --- | --- | ---: | ---: | ---: | --- | --- | --- |\n");
    for verdict in verdicts.iter().filter(|v| v.row.stage == stage) {
        let row = verdict.row;
        push_line(
            text,
            &[
                row.quantity.clone(),
                row.inputs.clone(),
                format!("{} {}", row.expected, row.unit),
                computed(&verdict.outcome),
                row.tolerance.clone(),
                row.status.to_string(),
                row.source.clone(),
                row.note.clone(),
            ],
        );
    }
}

fn computed(outcome: &Outcome) -> String {
    match outcome {
        Outcome::Held(value) => value.clone(),
        Outcome::Off(value) => format!("**{value}, does not hold**"),
        Outcome::Broken(why) => format!("**{why}**"),
    }
}

fn push_line(text: &mut String, cells: &[String]) {
    text.push('|');
    for cell in cells {
        // A bar in a cell would end it.
        let cell = cell.trim().replace('|', "\\|");
        // Writing to a text does not fail.
        let _ = write!(text, " {cell} |");
    }
    text.push('\n');
}
