//! The order by counter, and how well it is cut.

use super::{Report, many};
use crate::table::{Table, wrapped};

/// What each counter comes to, and what is said of cutting and bends.
pub fn text(report: &Report) -> String {
    let takeoff = &report.plan.takeoff;
    if takeoff.counters.is_empty() {
        return String::new();
    }
    let currency = &report.plan.price.currency;
    let mut table = Table::new()
        .left("counter")
        .right("lines", "")
        .right("cost", currency)
        .right("of it beyond what goes in", currency);
    for sum in &takeoff.counters {
        table.row(vec![
            sum.counter.label().to_owned(),
            sum.lines.to_string(),
            sum.cost.to_string(),
            sum.waste.to_string(),
        ]);
    }
    let mut out = table.text("  ");
    for words in [sticks(report), bends(report)] {
        if !words.is_empty() {
            out += &wrapped(&words, "  ", "  ");
        }
    }
    out
}

fn sticks(report: &Report) -> String {
    let cutting = &report.plan.takeoff.cutting;
    if cutting.is_empty() {
        return String::new();
    }
    let taken: usize = cutting.iter().map(|c| c.pieces.len()).sum();
    let bound: usize = cutting.iter().map(|c| c.bound).sum();
    let proof = match taken > bound {
        true => format!("fewer than {bound} cannot do"),
        false => "fewer cannot do".to_owned(),
    };
    format!(
        "{} in all: {proof}; cutting.csv says what is cut from which",
        many(taken, "stick or coil", "sticks and coils")
    )
}

fn bends(report: &Report) -> String {
    let bends = report.plan.takeoff.bends.iter();
    let each = bends.map(|bends| {
        let turns = many(bends.count, "turn", "turns");
        let radius = report.show(bends.radius.amount());
        format!(
            "{turns} of {} {} to a radius of {radius} at least",
            bends.family, bends.size
        )
    });
    let each: Vec<String> = each.collect();
    match each.is_empty() {
        true => String::new(),
        false => format!("laid in bends, without fittings: {}", each.join("; ")),
    }
}
