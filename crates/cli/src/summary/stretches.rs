//! The tables of stretches, one for each method.

use super::{Report, words};
use crate::table::Table;
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
    for (reason, group) in &groups {
        for entry in group {
            table.row(row(report, entry));
        }
        table.note(format!("why: {reason}"));
    }
    let total = report.show(length.amount());
    format!("  {name}: {total}\n{}", table.text("    "))
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
        .words("holds (laterals by their circuit)")
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
        holds(dig),
    ]
}

/// What lies in it, short: a lateral by its circuit.
fn holds(dig: &Dig) -> String {
    let contents = dig.section.contents.iter();
    let words: Vec<&str> = contents
        .map(|content| {
            content
                .what
                .strip_prefix("lateral ")
                .unwrap_or(&content.what)
        })
        .collect();
    words.join(" + ")
}
