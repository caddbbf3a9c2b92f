//! Machines to hire, and the crew's days.

use super::{Report, many, words};
use crate::table::Table;
use plan::crew::Window;
use plan::digging::{self, Hire};
use quantity::Style;

/// The hire table: what the choice of machines went by, and when they are there.
pub fn hire(report: &Report) -> String {
    let hires = &report.plan.digging.hires;
    if hires.is_empty() {
        return String::new();
    }
    let currency = &report.plan.price.currency;
    let mut table = Table::new()
        .left("machine")
        .right("puts in", report.unit(Style::Length))
        .right("works", report.unit(Style::Hours))
        .left("there")
        .left("least hire")
        .right("costs", currency)
        .right("without it", currency);
    for hire in hires {
        table.row(vec![
            hire.label.clone(),
            report.number(hire.length.amount()),
            report.number(hire.hours.amount()),
            there(report, hire),
            hire.term.clone(),
            hire.cost.to_string(),
            hire.without
                .map_or("not possible".to_owned(), |extra| format!("+{extra}")),
        ]);
    }
    table.text("  ")
        + "  Least hire is for the hours at work; the price has the days on which the machine is there.\n"
}

/// The days on which a machine is there, a carrier with any of its attachments.
fn there(report: &Report, hire: &Hire) -> String {
    let rentals = digging::rentals(report.job);
    let methods = rentals.iter().find(|rental| rental.id == hire.machine);
    let methods = methods.map_or(&[][..], |rental| &rental.methods);
    let windows = report.plan.schedule.windows.iter();
    let windows = windows.filter(|window| methods.contains(&window.machine));
    windows.map(span).collect::<Vec<_>>().join(", ")
}

/// The table of days, what comes before them, and what may not be passed over.
pub fn text(report: &Report) -> String {
    let schedule = &report.plan.schedule;
    if schedule.days.is_empty() {
        return String::new();
    }
    let dated = schedule.days.iter().any(|day| day.date.is_some());
    let mut table = Table::new().right("day", "");
    if dated {
        table = table.left("date");
    }
    let mut table = table
        .right("open at evening", report.unit(Style::Length))
        .left("machines")
        .words("work");
    for ahead in &schedule.ahead {
        let (first, last) = ahead.days;
        let mut row = vec![from_to(&first.to_string(), &last.to_string(), " to ")];
        if dated {
            let dates = ahead.dates.as_ref();
            row.push(dates.map_or(String::new(), |(first, last)| from_to(first, last, " – ")));
        }
        row.extend(["–".to_owned(), "–".to_owned(), ahead.what.clone()]);
        table.row(row);
    }
    for day in &schedule.days {
        let machines = day.machines.iter();
        let machines: Vec<String> = machines.map(|m| words::method(report.job, m)).collect();
        let tasks = day.tasks.iter().filter_map(|&i| schedule.tasks.get(i));
        let tasks: Vec<&str> = tasks
            .filter(|task| !task.kind.is_wait())
            .map(|task| task.what.as_str())
            .collect();
        let mut row = vec![day.day.to_string()];
        if dated {
            row.push(day.date.clone().unwrap_or_default());
        }
        row.extend([
            report.number(day.open.amount()),
            if machines.is_empty() {
                "–".to_owned()
            } else {
                machines.join(", ")
            },
            tasks.join("; "),
        ]);
        table.row(row);
    }
    table.text("  ") + &ends(report)
}

/// The days on which a machine is there.
pub fn span(window: &Window) -> String {
    if window.first == window.last {
        format!("on day {}", window.first)
    } else {
        format!("on days {} to {}", window.first, window.last)
    }
}

fn from_to(first: &str, last: &str, between: &str) -> String {
    if first == last {
        first.to_owned()
    } else {
        format!("{first}{between}{last}")
    }
}

/// How few days there could be, the weather, and where the clock times stand.
fn ends(report: &Report) -> String {
    let schedule = &report.plan.schedule;
    let mut text = format!(
        "  No order of the work with these people takes fewer than {} on site. Open trench over all evenings: {}.\n  \
         Allow {} more for the weather",
        many(schedule.fewest_days as usize, "day", "days"),
        report.show(schedule.open.amount()),
        many(schedule.weather_days as usize, "day", "days"),
    );
    if let Some((without, with)) = &schedule.ends_on {
        text += &format!(": done on {without}, or by {with}");
    }
    text + ". Clock times and crews: days.csv; the bars: days.svg.\n"
}
