//! The days: who does what when, what stands open at evening, what may not be passed over.

use crate::told::Told;
use crate::words;
use crate::{Block, Cell, Column, Drawing, Page, Sheet, Table};
use drawing::DaysPicture;
use plan::crew::{Hold, Task, WorkDay};
use quantity::Style;

pub fn pages(told: &Told) -> Vec<Page> {
    let schedule = &told.plan.schedule;
    if schedule.days.is_empty() {
        return Vec::new();
    }
    let mut blocks = chart(told);
    blocks.push(Block::Table(days(told)));
    if !schedule.holds.is_empty() {
        blocks.push(Block::Heading("Hold points".to_owned()));
        blocks.push(Block::Note(
            "What may not be passed over; initials of whoever looked.".to_owned(),
        ));
        blocks.push(Block::Checks(
            schedule.holds.iter().map(|hold| held(told, hold)).collect(),
        ));
    }
    blocks.push(Block::Note(ends(told)));
    vec![Page {
        title: Sheet::Days.title().to_owned(),
        paper: told.paper().across(),
        blocks,
    }]
}

fn chart(told: &Told) -> Vec<Block> {
    if !told.drawn {
        return Vec::new();
    }
    let space = told.paper().across().space();
    let pictures = drawing::days_pictures(told.job, told.plan, told.units, space);
    let drawn = pictures.into_iter().map(|picture| {
        let DaysPicture {
            svg, width, height, ..
        } = picture;
        Block::Drawing(Drawing::new(svg, width, height, ""))
    });
    drawn.collect()
}

fn days(told: &Told) -> Table {
    let columns = vec![
        Column::left("from"),
        Column::left("to"),
        Column::left("task"),
        Column::words("what", 4),
        Column::words("crew", 1),
        Column::right("people"),
        Column::measure("time", Style::Hours, told.units),
        Column::words("machine", 2),
        Column::words("stretches", 3),
        Column::tick("done"),
    ];
    let mut table = Table::new("day-plan", columns);
    let schedule = &told.plan.schedule;
    if !schedule.ahead.is_empty() {
        table.group("before the first day on site");
    }
    for ahead in &schedule.ahead {
        let mut row = vec![Cell::blank(); 10];
        row[3] = Cell::text(format!("{} ({})", ahead.what, words::ahead_when(ahead)));
        row[5] = people(ahead.people);
        row[6] = Cell::number(ahead.hours.amount(), told.units);
        row[9] = Cell::Tick;
        table.row(row);
    }
    for day in &schedule.days {
        table.group(title(told, day));
        for &task in &day.tasks {
            if let Some(task) = schedule.tasks.get(task) {
                table.row(row(told, day, task));
            }
        }
    }
    table
}

/// What only takes its time needs nobody.
fn people(n: u32) -> Cell {
    match n {
        0 => Cell::text("–"),
        n => Cell::text(n.to_string()),
    }
}

/// The day with its machines and what stands open at its evening.
fn title(told: &Told, day: &WorkDay) -> String {
    let machines = day.machines.iter();
    let machines: Vec<String> = machines
        .map(|machine| layers::words::method(told.job, machine))
        .collect();
    let machines = match machines.is_empty() {
        true => "no machine".to_owned(),
        false => machines.join(", "),
    };
    format!(
        "{}: {machines}; {}",
        words::day_named(told, day.day),
        words::open(told, day)
    )
}

fn row(told: &Told, day: &WorkDay, task: &Task) -> Vec<Cell> {
    let crew = told
        .plan
        .schedule
        .crews
        .iter()
        .find(|crew| crew.id == task.crew);
    let machine = task.machine.as_ref();
    let from = match task.from.day == day.day {
        true => task.from.time(),
        false => "goes on".to_owned(),
    };
    let to = match task.to.day == day.day {
        true => task.to.time(),
        false => format!("day {}", task.to.day),
    };
    vec![
        Cell::text(from),
        Cell::text(to),
        Cell::text(&task.id),
        Cell::text(&task.what),
        Cell::text(crew.map_or("–", |crew| &crew.label)),
        people(task.people),
        Cell::number(task.hours.amount(), told.units),
        Cell::text(machine.map_or_else(String::new, |m| layers::words::method(told.job, m))),
        Cell::text(words::stretches(&task.stretches)),
        Cell::Tick,
    ]
}

fn held(told: &Told, hold: &Hold) -> String {
    let ids = |tasks: &[usize]| {
        let tasks = tasks
            .iter()
            .filter_map(|&task| told.plan.schedule.tasks.get(task));
        tasks
            .map(|task| task.id.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    format!(
        "{} ({} before {})   ______________",
        hold.what,
        ids(&hold.until),
        ids(&hold.holds)
    )
}

fn ends(told: &Told) -> String {
    let schedule = &told.plan.schedule;
    let weather = crate::told::many(schedule.weather_days as usize, "day", "days");
    let ends = match &schedule.ends_on {
        Some((without, with)) => format!(": done on {without}, or by {with}"),
        None => String::new(),
    };
    format!(
        "Allow {weather} more for the weather{ends}. A task without people only takes its time: joints stand, \
         pressure is held, marks are waited for."
    )
}
