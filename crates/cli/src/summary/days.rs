//! Machines to hire, and the crew's days.

use super::{Report, words};
use crate::table::Table;
use quantity::Style;

/// The hire table.
pub fn hire(report: &Report) -> String {
    let hires = &report.plan.digging.hires;
    if hires.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .left("machine")
        .right("puts in", report.unit(Style::Length))
        .right("works", report.unit(Style::Hours))
        .left("hire")
        .right("cost", &report.plan.price.currency)
        .right("without it", &report.plan.price.currency);
    for hire in hires {
        table.row(vec![
            hire.label.clone(),
            report.number(hire.length.amount()),
            report.number(hire.hours.amount()),
            hire.term.clone(),
            hire.cost.to_string(),
            hire.without
                .map_or("not possible".to_owned(), |extra| format!("+{extra}")),
        ]);
    }
    table.text("  ")
}

/// The table of days.
pub fn text(report: &Report) -> String {
    let schedule = &report.plan.schedule;
    if schedule.days.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .right("day", "")
        .right("open at evening", report.unit(Style::Length))
        .left("machines")
        .words("work");
    for day in &schedule.days {
        let machines = day.machines.iter();
        let machines: Vec<String> = machines.map(|m| words::method(report.job, m)).collect();
        let tasks = day.tasks.iter().filter_map(|&i| schedule.tasks.get(i));
        let tasks: Vec<&str> = tasks.map(|task| task.what.as_str()).collect();
        table.row(vec![
            day.day.to_string(),
            report.number(day.open.amount()),
            if machines.is_empty() {
                "–".to_owned()
            } else {
                machines.join(", ")
            },
            tasks.join("; "),
        ]);
    }
    table.text("  ")
}
