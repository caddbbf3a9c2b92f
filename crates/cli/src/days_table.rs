//! days.csv: every task with its clock times, crew, machine and stretches.

use crate::failure::Failure;
use crate::files::{bare, csv, head};
use crate::summary::words;
use job::Job;
use plan::Plan;
use quantity::{Amount, Style, Units};

/// One row for every task, in the order in which they begin; before them what comes before the days on
/// site.
pub fn rows(job: &Job, plan: &Plan, units: Units) -> Result<String, Failure> {
    let schedule = &plan.schedule;
    let names = [
        "day",
        "date",
        "from",
        "to_day",
        "to",
        "task",
        "kind",
        "what",
        "crew",
        "people",
        "machine",
        "stretches",
        "after",
        "steps",
    ];
    let mut heads = names.map(str::to_owned).to_vec();
    heads.push(head("time", Style::Hours, units));
    heads.push(head("open_at_evening", Style::Length, units));
    let mut rows = vec![heads];
    rows.extend(schedule.ahead.iter().map(|ahead| {
        let (first, last) = ahead.days;
        let mut row = vec![String::new(); names.len()];
        row[0] = first.to_string();
        row[1] = ahead
            .dates
            .as_ref()
            .map_or(String::new(), |dates| dates.0.clone());
        row[3] = last.to_string();
        row[6] = ahead.kind.label().to_owned();
        row[7].clone_from(&ahead.what);
        row[9] = ahead.people.to_string();
        row.extend([bare(ahead.hours.amount(), units), String::new()]);
        row
    }));
    rows.extend(schedule.tasks.iter().map(|task| {
        let day = |day: u32| schedule.days.iter().find(|one| one.day == day);
        let crew = schedule.crews.iter().find(|crew| crew.id == task.crew);
        let after = task
            .after
            .iter()
            .map(|&before| schedule.tasks[before].id.as_str());
        let stretches = task.stretches.iter().map(ToString::to_string);
        let steps = task.steps.iter().map(|step| step.what.as_str());
        let open = day(task.to.day).map_or(0.0, |day| day.open.si());
        vec![
            task.from.day.to_string(),
            day(task.from.day)
                .and_then(|day| day.date.clone())
                .unwrap_or_default(),
            task.from.time(),
            task.to.day.to_string(),
            task.to.time(),
            task.id.clone(),
            task.kind.label().to_owned(),
            task.what.clone(),
            crew.map_or(String::new(), |crew| crew.label.clone()),
            task.people.to_string(),
            task.machine
                .as_ref()
                .map_or(String::new(), |m| words::method(job, m)),
            stretches.collect::<Vec<_>>().join(" "),
            after.collect::<Vec<_>>().join(" "),
            steps.collect::<Vec<_>>().join("; "),
            bare(task.hours.amount(), units),
            bare(Amount::new(open, Style::Length), units),
        ]
    }));
    csv("days.csv", &rows)
}
