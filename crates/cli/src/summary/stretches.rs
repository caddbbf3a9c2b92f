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
    let mut groups: Vec<(String, Vec<&Entry>)> = Vec::new();
    for entry in entries {
        let reason = reason(report, &name, entry.2);
        match groups.iter_mut().find(|(other, _)| *other == reason) {
            Some((_, group)) => group.push(entry),
            None => groups.push((reason, vec![entry])),
        }
    }
    let mut table = head(report);
    for entry in groups.iter().flat_map(|(_, group)| group) {
        table.row(row(report, entry));
    }
    let ends: Vec<(usize, &str)> = groups.iter().map(|(r, g)| (g.len(), r.as_str())).collect();
    let total = report.show(length.amount());
    format!(
        "  {name}: {total}\n{}",
        with_reasons(&table.text("    "), &ends)
    )
}

/// The reason without what the table says already: the method, the hours, and by how much it is
/// cheaper than the next best.
fn reason(report: &Report, method: &str, dig: &Dig) -> String {
    let opening = format!("{method}: {}; ", report.show(dig.hours.amount()));
    let reason = dig.reason.strip_prefix(&opening).unwrap_or(&dig.reason);
    match &dig.next_best {
        Some(next) => {
            let label = words::method(report.job, &next.method);
            let told = format!("{} less than {label}", next.extra);
            reason.replace(&told, &format!("cheaper than {label}"))
        }
        None => reason.to_owned(),
    }
}

fn head(report: &Report) -> Table {
    let small = report.unit(Style::SmallLength);
    Table::new()
        .left("stretch")
        .left("from → to")
        .right("length", report.unit(Style::Length))
        .right("time", report.unit(Style::Hours))
        .right("saves", &report.plan.price.currency)
        .right("depth", small)
        .right("width", small)
        .left("surface")
        .words("holds")
}

fn row(report: &Report, (id, stretch, dig): &Entry) -> Vec<String> {
    let from = words::node(report.plan, stretch.from);
    let to = words::node(report.plan, stretch.to);
    let saves = dig.next_best.as_ref();
    vec![
        id.to_string(),
        format!("{from} → {to}"),
        report.number(stretch.length.amount()),
        report.number(dig.hours.amount()),
        saves.map_or("–".to_owned(), |next| next.extra.to_string()),
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
