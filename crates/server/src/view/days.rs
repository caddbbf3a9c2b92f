//! The crew's days.

use ::job::Job;
use ::plan::crew::{Clock, Task};
use layers::words;
use serde::Serialize;
use utoipa::ToSchema;

use super::Fig;
use super::figures::Reader;

/// A working day on site.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DayView {
    /// 1 is the first.
    pub day: u32,
    /// In the calendar, where the job gives one.
    #[schema(required)]
    pub date: Option<String>,
    /// Trench that stands open at its evening.
    pub open: Fig,
    /// Ids of the tasks worked on.
    pub tasks: Vec<String>,
    /// Machines on site.
    pub machines: Vec<String>,
    /// The stretches that stand open at its evening.
    pub stretches_open: Vec<String>,
}

/// A task.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct TaskView {
    /// Its id.
    pub id: String,
    /// What is done.
    pub what: String,
    /// What kind of work it is.
    pub kind: String,
    /// Who does it.
    pub crew: String,
    /// How many.
    pub people: u32,
    /// From when, in days: 0 is the first midnight, 1 the one after the first day.
    pub start: f64,
    /// Until when.
    pub end: f64,
    /// The same in words.
    pub from: String,
    /// The same in words.
    pub to: String,
    /// The stretches at which it is done.
    pub stretches: Vec<String>,
    /// The machine that it holds.
    #[schema(required)]
    pub machine: Option<String>,
}

/// What comes before the first day on site.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct AheadView {
    /// What is done.
    pub what: String,
    /// From which working day to which; day 0 is the one before the first on site.
    #[schema(value_type = Vec<i32>)]
    pub days: [i32; 2],
    /// The same in the calendar, where the job gives one.
    #[schema(value_type = Option<Vec<String>>, required)]
    pub dates: Option<[String; 2]>,
}

const MINUTES: f64 = 24.0 * 60.0;

fn in_days(clock: Clock) -> f64 {
    f64::from(clock.day.saturating_sub(1)) + f64::from(clock.minute) / MINUTES
}

fn told(clock: Clock) -> String {
    format!("day {}, {}", clock.day, clock.time())
}

pub fn days(job: &Job, reader: Reader<'_>) -> Vec<DayView> {
    let schedule = &reader.plan.schedule;
    let views = schedule.days.iter().map(|day| {
        let tasks = day
            .tasks
            .iter()
            .filter_map(|&task| schedule.tasks.get(task));
        let open = day.open_stretches.iter();
        DayView {
            day: day.day,
            date: day.date.clone(),
            open: reader.fig(day.open.amount(), "crew.open"),
            tasks: tasks.map(|task| task.id.clone()).collect(),
            machines: day
                .machines
                .iter()
                .map(|machine| words::method(job, machine))
                .collect(),
            stretches_open: open.map(ToString::to_string).collect(),
        }
    });
    views.collect()
}

pub fn tasks(job: &Job, reader: Reader<'_>) -> Vec<TaskView> {
    let schedule = &reader.plan.schedule;
    let label = |id: &str| {
        let crew = schedule.crews.iter().find(|crew| crew.id == id);
        crew.map_or_else(String::new, |crew| crew.label.clone())
    };
    let view = |task: &Task| TaskView {
        id: task.id.clone(),
        what: task.what.clone(),
        kind: task.kind.word().to_owned(),
        crew: label(&task.crew),
        people: task.people,
        start: in_days(task.from),
        end: in_days(task.to),
        from: told(task.from),
        to: told(task.to),
        stretches: task.stretches.iter().map(ToString::to_string).collect(),
        machine: task.machine.as_ref().map(|id| words::method(job, id)),
    };
    schedule.tasks.iter().map(view).collect()
}

pub fn ahead(reader: Reader<'_>) -> Vec<AheadView> {
    let ahead = reader.plan.schedule.ahead.iter().map(|ahead| AheadView {
        what: ahead.what.clone(),
        days: [ahead.days.0, ahead.days.1],
        dates: ahead.dates.clone().map(<[String; 2]>::from),
    });
    ahead.collect()
}
