//! The tables of stretches, one for each method.

use super::{Report, many, words};
use crate::table::Table;
use plan::digging::Dig;
use plan::routes::{Stretch, StretchId};
use quantity::{Duration, Length, Style, Units};
use std::collections::BTreeMap;

type Entry<'a> = (StretchId, &'a Stretch, &'a Dig);

/// A table for each method, by stretch; the reasons stand below it under letters.
pub fn text(report: &Report) -> String {
    let mut by_method: BTreeMap<&str, Vec<Entry>> = BTreeMap::new();
    for dig in &report.plan.digging.digs {
        let stretch = report.plan.network.stretch(dig.stretch);
        let entry = (dig.stretch, stretch, dig);
        by_method.entry(&dig.method.0).or_default().push(entry);
    }
    if by_method.is_empty() {
        return String::new();
    }
    let step = match report.units {
        Units::Us => "1/4 in",
        Units::Si => "5 mm",
    };
    let note = format!(
        "  depth and width are rounded up to the next {step}; saves: against the next best method, hire left \
         out;\n  laterals stand by their circuit; every method that cannot, and why: spadework why JOB stretch.S1.method\n\n"
    );
    let parts = by_method.values().map(|entries| method(report, entries));
    note + &parts.collect::<Vec<_>>().join("\n")
}

fn method(report: &Report, entries: &[Entry]) -> String {
    let name = entries
        .first()
        .map_or(String::new(), |e| words::method(report.job, &e.2.method));
    let length: Length = entries.iter().map(|e| e.1.length).sum();
    let hours: Duration = entries.iter().map(|e| e.2.hours).sum();
    let mut reasons: Vec<String> = Vec::new();
    let mut table = head(report);
    for entry in entries {
        let reason = reason(report, &name, entry.2);
        let place = reasons.iter().position(|other| *other == reason);
        let place = place.unwrap_or_else(|| {
            reasons.push(reason);
            reasons.len() - 1
        });
        table.row(row(report, entry, &letter(place)));
    }
    for (place, reason) in reasons.iter().enumerate() {
        table.note(format!("{}: {reason}", letter(place)));
    }
    format!(
        "  {name}: {} in {}, {}\n{}",
        report.show(length.amount()),
        many(entries.len(), "stretch", "stretches"),
        report.show(hours.amount()),
        table.text("    ")
    )
}

/// a, b, … z, aa, ab, …
fn letter(place: usize) -> String {
    let last = char::from(b'a' + u8::try_from(place % 26).expect("a remainder of 26"));
    match place / 26 {
        0 => last.to_string(),
        before => letter(before - 1) + &last.to_string(),
    }
}

/// The reason without what the table says already: the method, the hours, by how much it is
/// cheaper than the next best, and the stretch's own measures.
fn reason(report: &Report, method: &str, dig: &Dig) -> String {
    let opening = format!("{method}: {}; ", report.show(dig.hours.amount()));
    let reason = dig.reason.strip_prefix(&opening).unwrap_or(&dig.reason);
    let reason = match &dig.next_best {
        Some(next) => {
            let label = words::method(report.job, &next.method);
            let told = format!("{} less than {label}", next.extra);
            reason.replace(&told, &format!("cheaper than {label}"))
        }
        None => reason.to_owned(),
    };
    let parts = reason.split("; ").filter(|part| !part.starts_with("here "));
    parts.collect::<Vec<_>>().join("; ")
}

fn head(report: &Report) -> Table {
    let small = report.unit(Style::SmallLength);
    Table::new()
        .left("stretch")
        .left("from → to")
        .right("length", report.unit(Style::Length))
        .right("depth", small)
        .right("width", small)
        .right("time", report.unit(Style::Hours))
        .right("cost", &report.plan.price.currency)
        .right("saves", &report.plan.price.currency)
        .left("why")
        .left("surface")
        .words("holds")
}

fn row(report: &Report, (id, stretch, dig): &Entry, why: &str) -> Vec<String> {
    let from = words::node(report.job, report.plan, stretch.from);
    let to = words::node(report.job, report.plan, stretch.to);
    let saves = dig.next_best.as_ref();
    vec![
        id.to_string(),
        format!("{from} → {to}"),
        report.number(stretch.length.amount()),
        layers::on_tape(dig.section.depth, report.units),
        layers::on_tape(dig.section.width, report.units),
        report.number(dig.hours.amount()),
        dig.cost.to_string(),
        saves.map_or("–".to_owned(), |next| next.extra.to_string()),
        why.to_owned(),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reasons_have_letters_without_end() {
        assert_eq!([0, 25, 26, 52].map(letter), ["a", "z", "aa", "ba"]);
    }
}
