//! Tasks in order of precedence, crews, working days, machines per day.
//!
//! Takes what is dug, laid and set and gives the tasks with their times and crews, the working days with
//! the machines on site and the trench that stands open at evening, and the labour. Orders of the work
//! are tried and compared: least trench open at evening, then least hire, then the earliest finish.
//!
//! What always holds: no task starts before those that it follows have ended, so no trench is filled
//! before everything in it is inspected and every pipe in it tested (pipe that is pulled in is buried as
//! it is laid); never are more people of a crew at work than it has, and none at what it cannot do; a
//! machine does one task at a time, an attachment with its carrier; a pressure test and its hold are not
//! broken off by a night; the labour is the sum of people times hours over the tasks. [`audit`] looks at
//! all of it without the search's help.
//!
//! # Words
//! - *part*: what is tested at one go: the supply with its wire, a circuit, a cable.
//! - *work*: people times hours.
//! - *hold point*: what must be done before something else may begin.
//!
//! Does no I/O.

pub mod audit;
mod bound;
mod calendar;
mod days;
mod evenings;
mod labour;
mod parts;
mod place;
mod results;
mod search;
mod site;
mod tasks;

pub use results::*;

use calendar::{Dates, clock};
use digging::Digging;
use hydraulics::Hydraulics;
use job::Job;
use quantity::Duration;
use routes::Network;
use search::Found;
use site::Site;
use std::ops::ControlFlow;
use takeoff::Takeoff;
use working::Ledger;

/// How much is done to find a good order of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// Hardly any, for a plan that is thrown away at the next change.
    Draft,
    /// A few orders, for comparing plans while they are made.
    Quick,
    /// Many orders, for the plan that is kept.
    Full,
}

/// Plans the crews' days and puts the working of labour, days and notice into the ledger.
///
/// Sizes and material do not bear on the times; they are taken so that all stages are called alike.
pub fn schedule(
    job: &Job,
    network: &Network,
    _water: &Hydraulics,
    digging: &Digging,
    _takeoff: &Takeoff,
    effort: Effort,
    ledger: &mut Ledger,
) -> Schedule {
    let going_on = || ControlFlow::Continue(());
    schedule_watched(job, network, digging, effort, &going_on, ledger).expect("nobody stops it")
}

/// The same; nothing if `ask` stops it on the way.
pub fn schedule_watched(
    job: &Job,
    network: &Network,
    digging: &Digging,
    effort: Effort,
    ask: &dyn Fn() -> ControlFlow<()>,
    ledger: &mut Ledger,
) -> Option<Schedule> {
    let site = Site::of(job, digging);
    let found = search::search((job, network, digging), &site, effort, ask)?;
    let schedule = Written::new(job, network, &site, &found).schedule();
    labour::put_workings(job, digging, &schedule, ledger);
    Some(schedule)
}

/// A found order as it is told: tasks by their start, with the days that they make.
struct Written<'a> {
    job: &'a Job,
    network: &'a Network,
    site: &'a Site,
    found: &'a Found,
    dates: Dates<'a>,
    /// Tasks by their start.
    order: Vec<usize>,
    /// The place of each task in that order.
    place: Vec<usize>,
}

impl<'a> Written<'a> {
    fn new(job: &'a Job, network: &'a Network, site: &'a Site, found: &'a Found) -> Self {
        let mut order: Vec<usize> = (0..found.tasks.len()).collect();
        order.sort_by_key(|&task| (found.placed[task].start, task));
        let mut place = vec![0; order.len()];
        for (new, &old) in order.iter().enumerate() {
            place[old] = new;
        }
        Self {
            dates: Dates::of(job),
            job,
            network,
            site,
            found,
            order,
            place,
        }
    }

    fn schedule(&self) -> Schedule {
        let Found { tasks, placed } = self.found;
        let (job, site) = (self.job, self.site);
        let metres = self.network.length().to_m();
        let lining = job.prices.labour.white_line_per_m.value * metres;
        let ahead = if tasks.is_empty() {
            Vec::new()
        } else {
            self.dates.ahead(lining, 1)
        };
        let specs: Vec<&place::Spec> = tasks.iter().map(|task| &task.spec).collect();
        let days = days::of(site, self.network, tasks, placed, &self.dates);
        let days: Vec<WorkDay> = days.into_iter().map(|day| self.renumbered(day)).collect();
        let weather = job.practice.day.weather.value.to_one() * days.len() as f64;
        let weather_days = weather.ceil() as u32;
        let ends_on = |extra: u32| self.dates.on((days.len() as u32 + extra) as i32);
        let crews = site.teams.iter().map(|team| CrewOnSite {
            id: team.id.clone(),
            label: team.label.clone(),
            people: team.people,
        });
        let mut schedule = Schedule {
            ahead,
            tasks: self.order.iter().map(|&task| self.task(task)).collect(),
            notice_days: job.practice.utility.notice_days.value,
            crew: site.people(),
            crews: crews.collect(),
            labour: Duration::ZERO,
            windows: days::windows(site, tasks, placed),
            holds: self.holds(),
            open: evenings::sum(site, self.network, tasks, placed),
            fewest_days: bound::fewest_days(site, &specs),
            weather_days,
            ends_on: ends_on(0).zip(ends_on(weather_days)),
            days,
        };
        schedule.labour = TaskKind::ALL
            .into_iter()
            .map(|kind| schedule.labour_of(kind))
            .sum();
        schedule
    }

    fn renumbered(&self, day: WorkDay) -> WorkDay {
        WorkDay {
            tasks: self.renumber(&day.tasks),
            ..day
        }
    }

    fn renumber(&self, tasks: &[usize]) -> Vec<usize> {
        let mut new: Vec<usize> = tasks.iter().map(|task| self.place[*task]).collect();
        new.sort_unstable();
        new
    }

    fn task(&self, index: usize) -> Task {
        let (task, placed) = (&self.found.tasks[index], &self.found.placed[index]);
        let site = self.site;
        let team = placed.team.map(|team| &site.teams[team]);
        let hours = match team {
            Some(_) => task.spec.work / f64::from(placed.people.max(1)),
            None => site.time(placed.end - placed.start),
        };
        Task {
            id: format!("T{}", self.place[index] + 1),
            what: task.what.clone(),
            kind: task.kind,
            part: task.part.clone(),
            crew: team.map_or_else(String::new, |team| team.id.clone()),
            machine: task.spec.machine.clone(),
            people: placed.people,
            hours,
            after: self.renumber(&task.spec.after),
            start: site.time(placed.start),
            end: site.time(placed.end),
            from: clock(self.job, site, placed.start, false),
            to: clock(self.job, site, placed.end, true),
            stretches: task.stretches.clone(),
            steps: task.steps.clone(),
        }
    }

    /// The hold points: services found before any digging, and tests before any filling.
    fn holds(&self) -> Vec<Hold> {
        let tasks = &self.found.tasks;
        let of_kind = |kinds: &[TaskKind]| -> Vec<usize> {
            (0..tasks.len())
                .filter(|task| kinds.contains(&tasks[*task].kind))
                .collect()
        };
        let mut holds = Vec::new();
        let mut hold = |what: String, until: &[usize], held: &[usize]| {
            if !until.is_empty() && !held.is_empty() {
                holds.push(Hold {
                    what,
                    until: self.renumber(until),
                    holds: self.renumber(held),
                });
            }
        };
        let digs = of_kind(&[TaskKind::Dig]);
        let holes = of_kind(&[TaskKind::TestHole]);
        let what = "crossed services are exposed by hand before anything is dug";
        hold(what.to_owned(), &holes, &digs);
        for fill in of_kind(&[TaskKind::Fill]) {
            let what = format!(
                "{}: only when all in the trench is inspected and tested",
                tasks[fill].what
            );
            hold(what, &tasks[fill].spec.after, &[fill]);
        }
        holds
    }
}
