//! The tables of methods, of gaps too narrow, of services met, and of ground dug by hand.

use super::{Report, words};
use crate::table::Table;
use plan::digging::{CrossingCheck, Meeting, MethodUse, Narrow, Passes, Verdict};
use plan::routes::StretchId;
use quantity::{Length, Style};

/// Every method of the price book: what it does, and what keeps it from more.
pub fn uses(report: &Report) -> String {
    let mut uses: Vec<&MethodUse> = report.plan.digging.methods.iter().collect();
    let most_first = |length: fn(&MethodUse) -> Length| {
        move |a: &&MethodUse, b: &&MethodUse| length(b).to_m().total_cmp(&length(a).to_m())
    };
    uses.sort_by(most_first(|of| of.could));
    uses.sort_by(most_first(|of| of.puts_in));
    if uses.is_empty() {
        return String::new();
    }
    let currency = &report.plan.price.currency;
    let mut table = Table::new()
        .left("method")
        .right("puts in", report.unit(Style::Length))
        .right("time", report.unit(Style::Hours))
        .right("cost", currency)
        .right("could", report.unit(Style::Length))
        .right("if hired", currency)
        .words("kept from the most length because");
    for of in uses {
        table.row(row(report, of));
    }
    table.note(
        "cost: without hire. if hired: how much dearer these trenches would be with it, and with what \
         carries it"
            .to_owned(),
    );
    table.text("  ")
}

fn row(report: &Report, of: &MethodUse) -> Vec<String> {
    let or_dash = |is: bool, cell: String| if is { cell } else { "–".to_owned() };
    let used = of.stretches > 0;
    vec![
        of.label.clone(),
        or_dash(used, report.number(of.puts_in.amount())),
        or_dash(used, report.number(of.hours.amount())),
        or_dash(used, of.cost.to_string()),
        or_dash(of.could > Length::ZERO, report.number(of.could.amount())),
        of.extra.map_or("–".to_owned(), |extra| format!("+{extra}")),
        of.kept_from.as_ref().map_or(String::new(), |kept| {
            format!("{}: {}", report.show(kept.length.amount()), kept.why)
        }),
    ]
}

/// Gaps that keep machines away.
pub fn narrows(report: &Report) -> String {
    let narrows = &report.plan.digging.narrows;
    if narrows.is_empty() {
        return String::new();
    }
    let small = report.unit(Style::SmallLength);
    let mut table = Table::new()
        .left("gap")
        .right("clear", small)
        .words("keeps away, with the width that each would need");
    for narrow in narrows {
        table.row(vec![
            gap(narrow),
            report.number(narrow.clear.small()),
            kept_away(report, narrow),
        ]);
    }
    table.text("  ")
}

fn gap(narrow: &Narrow) -> String {
    match &narrow.gate {
        Some(gate) => format!("gate {gate}"),
        None => narrow.between.join(" – "),
    }
}

fn kept_away(report: &Report, narrow: &Narrow) -> String {
    let all = narrow.keeps_away.iter().map(|kept| {
        format!(
            "{} {} from {}",
            words::method(report.job, &kept.method),
            report.show(kept.needed.small()),
            report.show(kept.length.amount())
        )
    });
    all.collect::<Vec<_>>().join(", ")
}

/// Where trenches meet services of others.
pub fn crossings(report: &Report) -> String {
    let checks = &report.plan.digging.crossings;
    if checks.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .left("stretch")
        .left("service")
        .left("meets it")
        .right("vertical", report.unit(Style::SmallLength))
        .right("beside", report.unit(Style::SmallLength))
        .left("enough")
        .words("expose by hand first");
    for check in checks {
        table.row(crossing(report, check));
    }
    table.note(
        "vertical and beside: expected between outside faces if the survey is right; measure where it is \
         exposed"
            .to_owned(),
    );
    table.text("  ")
}

fn crossing(report: &Report, check: &CrossingCheck) -> Vec<String> {
    let unknown = || "?".to_owned();
    let meets = match check.meeting {
        Meeting::Crosses => format!("at {}", report.show(check.angle.amount())),
        Meeting::Along => "along it".to_owned(),
    };
    let vertical = check.vertical.as_ref().map_or_else(unknown, |vertical| {
        let side = match vertical.passes {
            Passes::Over => "over",
            Passes::Under => "under",
        };
        format!("{} {side}", report.number(vertical.clear.small()))
    });
    let beside = match (check.meeting, check.horizontal) {
        (Meeting::Crosses, _) => "–".to_owned(),
        (Meeting::Along, beside) => beside.map_or_else(unknown, |l| report.number(l.small())),
    };
    let verdict = match check.verdict {
        Verdict::Enough => "as asked",
        Verdict::Unknown => "not known",
        Verdict::TooClose => "TOO CLOSE",
    };
    let expose = if check.expose { "yes" } else { "no" };
    vec![
        check.stretch.to_string(),
        format!("{} {}", check.service, check.utility),
        meets,
        vertical,
        beside,
        verdict.to_owned(),
        format!("{expose}: {}", check.expose_why),
    ]
}

/// Zones in which one digs by hand, and pits of pulled pipe.
pub fn by_hand(report: &Report) -> String {
    let zones = &report.plan.digging.hand_zones;
    let pits = report.plan.digging.pits();
    if zones.is_empty() && pits.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .right("length", report.unit(Style::Length))
        .left("stretches")
        .words("why by hand");
    for zone in zones {
        table.row(vec![
            report.number(zone.length.amount()),
            listed(&zone.stretches),
            zone.reason.clone(),
        ]);
    }
    if !pits.is_empty() {
        table.note(format!(
            "and {} for pulled pipe, {} in all",
            super::many(pits.len(), "pit", "pits"),
            report.show(report.plan.digging.pits_bank().amount())
        ));
    }
    table.text("  ")
}

/// The first few by name.
fn listed(stretches: &[StretchId]) -> String {
    const MOST: usize = 6;
    let names: Vec<String> = stretches
        .iter()
        .take(MOST)
        .map(|id| id.to_string())
        .collect();
    let more = stretches.len().saturating_sub(MOST);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    names.join(" ") + &more
}
