//! The head of the summary: what, how much, how long, and how good.

use super::{Report, many, words};
use crate::table::wrapped;
use working::Value;

pub fn text(report: &Report) -> String {
    let mut out = report.job.name.clone();
    out.push('\n');
    if report.job.invented {
        out += "  INVENTED PROPERTY, not a real place\n";
    }
    for (name, words) in [
        ("trench", trench(report)),
        ("digging", digging(report)),
        ("price", price(report)),
        ("time", time(report)),
        ("machines", machines(report)),
        ("route", route(report)),
    ] {
        if !words.is_empty() {
            out += &wrapped(&words, &format!("  {name:<10}"), &" ".repeat(12));
        }
    }
    out
}

fn trench(report: &Report) -> String {
    let network = &report.plan.network;
    let sleeves = network.stretches.iter().filter(|s| s.sleeve.is_some());
    format!(
        "{} in {}; {} under paving; {} of services of others",
        report.show(network.length().amount()),
        many(network.stretches.len(), "stretch", "stretches"),
        many(sleeves.count(), "sleeve", "sleeves"),
        many(network.crossings.len(), "crossing", "crossings"),
    )
}

fn digging(report: &Report) -> String {
    let cost = report.plan.workings.get("dig.cost");
    let Some(Value::Amount(cost)) = cost.map(|working| &working.value) else {
        return String::new();
    };
    let currency = &report.plan.price.currency;
    format!(
        "{} {currency} with hire, before overhead",
        report.show(*cost)
    )
}

fn price(report: &Report) -> String {
    let price = &report.plan.price;
    let range = price.ranged.map_or(String::new(), |ranged| {
        format!(
            "; by the trials of the ground it would be {} to {} (10 % to 90 %), contingency left out",
            ranged.p10, ranged.p90
        )
    });
    format!(
        "{} before tax = cost {} + overhead {} + profit {} ({}); {} with tax{range}",
        report.money(price.total),
        price.cost,
        price.overhead,
        price.profit,
        words::profit(price),
        report.money(price.with_tax),
    )
}

fn time(report: &Report) -> String {
    let schedule = &report.plan.schedule;
    format!(
        "{} on site with {}, {} of labour; ask for the locate {} before the first cut",
        many(schedule.days.len(), "day", "days"),
        many(schedule.crew as usize, "person", "people"),
        report.show(schedule.labour.amount()),
        many(schedule.notice_days as usize, "working day", "working days"),
    )
}

fn machines(report: &Report) -> String {
    let hires = &report.plan.digging.hires;
    let windows = &report.plan.schedule.windows;
    let list = windows.iter().map(|window| {
        let days = super::days::span(window);
        format!("{} {days}", words::method(report.job, &window.machine))
    });
    let list = if hires.is_empty() {
        "none to hire".to_owned()
    } else {
        list.collect::<Vec<_>>().join(", ")
    };
    let tried = report.plan.workings.get("hire.changes");
    let Some(Value::Amount(tried)) = tried.map(|working| &working.value) else {
        return list;
    };
    let gap = report.plan.digging.gap;
    let on_these = if gap > quantity::Money::ZERO {
        format!("another set of machines might make these trenches cheaper by up to {gap}")
    } else {
        "no set of machines makes these trenches cheaper to put in".to_owned()
    };
    format!(
        "{list}; {on_these}, and none of {} with one machine more or less and trenches of its own lowers \
         the price",
        report.show(*tried)
    )
}

/// The share is cut off, not rounded, so that it never claims more than was proven.
fn route(report: &Report) -> String {
    let network = &report.plan.network;
    if network.bound <= 0.0 {
        return "begun from an earlier plan; how much cheaper it could be is not proven: plan it without \
                --from for that"
            .to_owned();
    }
    let share = |gap: f64| format!("{:.1}", ((1.0 - gap) * 1000.0).floor() / 10.0);
    let (whole, searched) = (share(network.gap()), share(network.search_gap()));
    // Where the search stopped short is one thing, length paid for fewer bends another.
    let turns = if searched == whole {
        String::new()
    } else {
        format!(
            " ({searched} % of the cheapest found; this one pays more length for fewer bends and junctions)"
        )
    };
    let refined = network.refinement.map_or(String::new(), |gained| {
        let gained = (gained * 10_000.0).ceil() / 100.0;
        format!("; the last step of refining that graph gained {gained} %, which is no bound for ways off it")
    });
    format!(
        "digging and lines of no set of trenches of the candidate graph ({} edges) can cost less than \
         {whole} % of this one's{turns}, by the prices that the router goes by{refined}",
        quantity::group_thousands(&network.candidates.to_string()),
    )
}
