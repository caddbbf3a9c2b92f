//! The tables of stretches, one for each method.

use super::{Report, words};
use crate::table::{Table, wrapped};
use plan::digging::Dig;
use plan::routes::{Stretch, StretchId};
use quantity::{Length, Style};
use std::collections::BTreeMap;

type Entry<'a> = (StretchId, &'a Stretch, &'a Dig);

pub fn text(report: &Report) -> String {
    let mut by_method: BTreeMap<&str, Vec<Entry>> = BTreeMap::new();
    for dig in &report.plan.digging.digs {
        let stretch = report.plan.network.stretch(dig.stretch);
        let entry = (dig.stretch, stretch, dig);
        by_method.entry(&dig.method.0).or_default().push(entry);
    }
    let parts = by_method.values().map(|entries| method(report, entries));
    parts.collect::<Vec<_>>().join("\n")
}

/// Stretches of one method, the ones with the same reason together.
fn method(report: &Report, entries: &[Entry]) -> String {
    let name = entries
        .first()
        .map_or(String::new(), |e| words::method(report.job, &e.2.method));
    let length: Length = entries.iter().map(|e| e.1.length).sum();
    let mut out = format!("  {name}: {}\n", report.show(length.amount()));
    let mut reasons: Vec<(&str, Vec<&Entry>)> = Vec::new();
    for entry in entries {
        let reason = entry.2.reason.as_str();
        match reasons.iter_mut().find(|(other, _)| *other == reason) {
            Some((_, group)) => group.push(entry),
            None => reasons.push((reason, vec![entry])),
        }
    }
    let mut table = head(report);
    let mut ends = Vec::new();
    for (reason, group) in &reasons {
        for entry in group {
            table.row(row(report, entry));
        }
        ends.push((group.len(), *reason));
    }
    out += &with_reasons(&table.text("    "), &ends);
    out
}

fn head(report: &Report) -> Table {
    let small = report.unit(Style::SmallLength);
    Table::new()
        .left("stretch")
        .left("from → to")
        .right("length", report.unit(Style::Length))
        .right("depth", small)
        .right("width", small)
        .left("surface")
        .words("holds")
}

fn row(report: &Report, (id, stretch, dig): &Entry) -> Vec<String> {
    let from = words::node(report.plan, stretch.from);
    let to = words::node(report.plan, stretch.to);
    vec![
        id.to_string(),
        format!("{from} → {to}"),
        report.number(stretch.length.amount()),
        report.number(dig.section.depth.small()),
        report.number(dig.section.width.small()),
        stretch.ground.surface.label().to_owned(),
        words::contents(dig),
    ]
}

/// Puts every reason under the rows that it holds for. A row that was broken into lines goes on with
/// blanks where its stretch would stand.
fn with_reasons(table: &str, ends: &[(usize, &str)]) -> String {
    let lines: Vec<&str> = table.lines().collect();
    let mut out = String::new();
    let mut at = 2.min(lines.len());
    out += &lines[..at]
        .iter()
        .map(|l| format!("{l}\n"))
        .collect::<String>();
    for (rows, reason) in ends {
        for _ in 0..*rows {
            loop {
                let Some(line) = lines.get(at) else { break };
                out += line;
                out.push('\n');
                at += 1;
                let goes_on = lines.get(at).is_some_and(|next| next.starts_with("     "));
                if !goes_on {
                    break;
                }
            }
        }
        if !reason.is_empty() {
            out += &wrapped(reason, "      why: ", "           ");
        }
    }
    out
}
