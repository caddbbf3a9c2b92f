//! The comparison as tables, and as rows of a spreadsheet.

use super::{Planned, cells};
use crate::summary::words;
use crate::table::{Table, wrapped};
use plan::compare::{Comparison, InputChange, LinePair, OtherMethod, Pair, Way};
use quantity::{Amount, Units};

/// The whole comparison.
pub fn text(both: [&Planned; 2], compared: &Comparison, units: Units) -> String {
    let mut parts = vec![head(both)];
    if compared.is_empty() {
        parts.push("Nothing differs.\n".to_owned());
    }
    let pairs = |heading: &str, pairs: &[Pair]| section(heading, table(pairs, units));
    parts.extend([
        section("What is asked differently", inputs(&compared.inputs, units)),
        pairs("Price", &compared.sums),
        section("Cost by group", lines(&compared.groups, words_of_group)),
        section(
            "Cost lines that differ",
            lines(&differing(&compared.lines), words_of_line),
        ),
        pairs("Days, route, water", &compared.figures),
        pairs("Route by method", &compared.methods),
        pairs("Pipe", &compared.pipes),
        pairs("Machines to hire", &compared.machines),
        section("Trenches that only one has", ways(&compared.ways, units)),
        section(
            "Trenches that go in otherwise",
            other_methods(&compared.other_methods, units),
        ),
    ]);
    let filled: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    filled.join("\n")
}

fn section(heading: &str, text: String) -> String {
    if text.is_empty() {
        return text;
    }
    format!("{heading}\n{text}")
}

fn head(both: [&Planned; 2]) -> String {
    let mut out = String::new();
    for (letter, variant) in ["A", "B"].iter().zip(both) {
        let price = &variant.plan.price;
        let words = format!(
            "{}, {}: {} {} before tax, {} on site",
            variant.name,
            variant.job.name,
            price.total,
            price.currency,
            Amount::new(
                variant.plan.schedule.days.len() as f64,
                quantity::Style::Days
            )
            .show(Units::Si)
        );
        out += &wrapped(&words, &format!("{letter}  "), "   ");
    }
    let [first, second] = both.map(|variant| &variant.plan.price.currency);
    if first != second {
        out += &wrapped(
            "The currencies differ, so that differences of money say nothing.",
            "",
            "",
        );
    }
    out
}

fn inputs(changes: &[InputChange], units: Units) -> String {
    if changes.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .left("what")
        .left("property")
        .left("A")
        .words("B");
    for change in changes {
        let [before, after] = cells::stated(change, units);
        table.row(vec![
            change.subject.clone(),
            change.field.clone(),
            before,
            after,
        ]);
    }
    table.text("  ")
}

fn table(pairs: &[Pair], units: Units) -> String {
    if pairs.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .left("what")
        .right("A", "")
        .right("B", "")
        .right("B less A", "");
    for pair in pairs {
        table.row(pair_row(pair, units).to_vec());
    }
    table.text("  ")
}

fn pair_row(pair: &Pair, units: Units) -> [String; 4] {
    [
        pair.what.clone(),
        cells::value(pair.before.as_ref(), units),
        cells::value(pair.after.as_ref(), units),
        cells::change(pair.change(), units),
    ]
}

fn differing(lines: &[LinePair]) -> Vec<LinePair> {
    lines
        .iter()
        .filter(|line| line.differs())
        .cloned()
        .collect()
}

fn words_of_group(line: &LinePair) -> String {
    words::cost_group(line.group).to_owned()
}

/// Both words where they differ, such as those of hire for another term.
fn words_of_line(line: &LinePair) -> String {
    match &line.what {
        [Some(before), Some(after)] if before != after => format!("{before} → {after}"),
        _ => line.words().to_owned(),
    }
}

fn lines(lines: &[LinePair], what: fn(&LinePair) -> String) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .right("A", "")
        .right("B", "")
        .right("B less A", "")
        .words("what");
    for line in lines {
        let [before, after] = line.amounts.map(|amount| amount.to_string());
        let change = cells::money_change(line.change());
        table.row(vec![before, after, change, what(line)]);
    }
    table.text("  ")
}

fn ways(ways: &[Way], units: Units) -> String {
    if ways.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .left("only in")
        .right("length", "")
        .words("between");
    for way in ways {
        table.row(way_row(way, units).to_vec());
    }
    table.text("  ")
}

fn way_row(way: &Way, units: Units) -> [String; 3] {
    [
        if way.in_second { "B" } else { "A" }.to_owned(),
        way.length.amount().show(units),
        between(&way.between),
    ]
}

fn between([one, other]: &[String; 2]) -> String {
    let bare = |name: &str| name.trim_start_matches("near ").to_owned();
    if bare(one) == bare(other) {
        return format!("around {}", bare(one));
    }
    format!("{one} – {other}")
}

fn other_methods(others: &[OtherMethod], units: Units) -> String {
    if others.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .left("A")
        .left("B")
        .right("length", "")
        .words("between");
    for other in others {
        let [before, after] = other.methods.clone();
        let length = other.length.amount().show(units);
        table.row(vec![before, after, length, between(&other.between)]);
    }
    table.text("  ")
}

/// Everything as rows of a spreadsheet: part, what, A, B, change.
pub fn rows(both: [&Planned; 2], compared: &Comparison, units: Units) -> Vec<Vec<String>> {
    let names = both.map(|variant| variant.name.clone());
    let head = ["part", "what", "a", "b", "b_less_a"].map(str::to_owned);
    let mut rows = vec![head.to_vec()];
    let mut row = |part: &str, cells: [String; 4]| {
        let part = std::iter::once(part.to_owned());
        rows.push(part.chain(cells).collect());
    };
    let [first, second] = names;
    row("file", ["job".to_owned(), first, second, String::new()]);
    for change in &compared.inputs {
        let [before, after] = cells::stated(change, units);
        let what = format!("{} {}", change.subject, change.field)
            .trim()
            .to_owned();
        row("input", [what, before, after, String::new()]);
    }
    for (part, lines, what) in [
        (
            "group",
            &compared.groups,
            words_of_group as fn(&LinePair) -> String,
        ),
        ("line", &compared.lines, words_of_line),
    ] {
        for line in lines {
            let [before, after] = line.amounts.map(|amount| amount.to_string());
            row(
                part,
                [
                    what(line),
                    before,
                    after,
                    cells::money_change(line.change()),
                ],
            );
        }
    }
    for (part, pairs) in [
        ("price", &compared.sums),
        ("figure", &compared.figures),
        ("method", &compared.methods),
        ("pipe", &compared.pipes),
        ("machine", &compared.machines),
    ] {
        for pair in pairs {
            row(part, pair_row(pair, units));
        }
    }
    for way in &compared.ways {
        let [_, length, between] = way_row(way, units);
        let none = || cells::NONE.to_owned();
        let (a, b) = if way.in_second {
            (none(), length)
        } else {
            (length, none())
        };
        row("trench", [between, a, b, String::new()]);
    }
    for other in &compared.other_methods {
        let [before, after] = other.methods.clone();
        let what = format!(
            "{}, {}",
            between(&other.between),
            other.length.amount().show(units)
        );
        row("trench method", [what, before, after, String::new()]);
    }
    rows
}
