//! How far cost and days may be from the plan.

use super::Report;
use crate::table::{Table, wrapped};
use plan::risk::Cause;
use quantity::{Amount, Money, Style};

/// Causes that are told; the others move little.
const TOLD: usize = 6;

/// The range, the contingency, and what moves the cost most.
pub fn text(report: &Report) -> String {
    let risk = &report.plan.risk;
    if risk.trials == 0 {
        return String::new();
    }
    let mut out = range(report);
    let words = format!(
        "from {} trials with seed {}; the plan's cost is not exceeded in {} of them. A contingency of {} before \
         overhead covers {} of them (standard error {}). Routes and methods stay as planned in all of them.",
        quantity::group_thousands(&risk.trials.to_string()),
        risk.seed,
        percent(report, risk.within_plan),
        report.money(risk.contingency),
        percent(report, risk.confidence.to_one()),
        risk.contingency_error,
    );
    out += &wrapped(&words, "  ", "  ");
    let rock = Amount::new(risk.rock_per_m.to_units(), Style::MoneyPerLength);
    let words = format!(
        "For a clause on rock: {} of trench in rock beyond the plan, as the mean over all of it.",
        report.show(rock),
    );
    out += &wrapped(&words, "  ", "  ");
    out + &causes(report, &risk.causes)
}

fn range(report: &Report) -> String {
    let plan = report.plan;
    let (cost, days) = (&plan.risk.cost, &plan.risk.days);
    let mut table = Table::new()
        .left("not exceeded with")
        .right("cost", &plan.price.currency)
        .right("price for it", &plan.price.currency)
        .right("against the plan", &plan.price.currency)
        .right("days", "");
    let Some(ranged) = &plan.price.ranged else {
        return String::new();
    };
    for (chance, change, sold, days) in [
        ("10 %", cost.p10, ranged.p10, days.p10),
        ("50 %", cost.p50, ranged.p50, days.p50),
        ("90 %", cost.p90, ranged.p90, days.p90),
    ] {
        table.row(vec![
            chance.to_owned(),
            (plan.price.direct_cost() + change).to_string(),
            sold.to_string(),
            signed(change),
            days.to_string(),
        ]);
    }
    table.note(
        "cost: without contingency; price for it: with overhead and profit, before tax".to_owned(),
    );
    table.text("  ")
}

fn causes(report: &Report, causes: &[Cause]) -> String {
    let currency = &report.plan.price.currency;
    let mut table = Table::new()
        .left("what moves the cost")
        .right("share", "of variance")
        .right("at its low end", currency)
        .right("at its high end", currency)
        .right("share", "of days' variance");
    let moving = causes.iter().filter(|cause| cause.share >= 0.005);
    for cause in moving.take(TOLD) {
        table.row(vec![
            cause.what.clone(),
            percent(report, cause.share),
            signed(cause.at_low),
            signed(cause.at_high),
            percent(report, cause.share_of_days),
        ]);
    }
    table.text("  ")
}

fn percent(report: &Report, share: f64) -> String {
    report.show(Amount::new(share, Style::Percent))
}

fn signed(money: Money) -> String {
    if money > Money::ZERO {
        format!("+{money}")
    } else {
        money.to_string()
    }
}
