//! Tasks in order of precedence, working days, machines per day.
//!
//! Takes what is dug, laid and set and gives the tasks with their times, the working days with the
//! machines on site and the trench that stands open at evening, and the labour. Tasks are started in the
//! order of the work as soon as people and machine are free (list scheduling); machines go first, so
//! that their days of hire stand together.
//!
//! What always holds: no task starts before those that it follows have ended, so no trench is filled
//! before every pipe in it is tested (pipe that is pulled in is buried as it is laid); never are more
//! people at work than the crew has; a machine does one task at a time; the labour is the sum of people
//! times hours over the tasks.
//!
//! # Words
//! - *part*: what is tested at one go: the supply with its wire, a circuit, a cable.
//! - *work*: people times hours.
//!
//! Does no I/O and knows no calendar.

mod days;
mod labour;
pub mod list;
mod parts;
mod results;
mod tasks;

pub use results::*;

use digging::Digging;
use hydraulics::Hydraulics;
use job::Job;
use list::{Placed, Spec};
use quantity::Duration;
use routes::Network;
use takeoff::Takeoff;
use working::Ledger;

/// Plans the crew's days and puts the working of labour, days and notice into the ledger.
///
/// Sizes and material do not bear on the times; they are taken so that all stages are called alike.
pub fn schedule(
    job: &Job,
    network: &Network,
    _water: &Hydraulics,
    digging: &Digging,
    _takeoff: &Takeoff,
    ledger: &mut Ledger,
) -> Schedule {
    let crew = crew_size(job, digging);
    let plan = tasks::of(job, network, digging, crew);
    let specs: Vec<Spec> = plan.iter().map(|task| task.spec.clone()).collect();
    let day = Duration::h(job.practice.day.hours.value.to_one());
    let placed = days::with_short_hire(job, &specs, crew, day);
    let schedule = in_order(job, network, plan, placed, crew, day);
    labour::put_workings(job, digging, &schedule, ledger);
    schedule
}

/// The practice's crew, or more if a machine needs more.
fn crew_size(job: &Job, digging: &Digging) -> u32 {
    let at_digs = digging.digs.iter().map(|dig| dig.crew).max();
    job.practice.day.crew.value.max(at_digs.unwrap_or(0)).max(1)
}

/// The tasks by their start, with the days that they make.
fn in_order(
    job: &Job,
    network: &Network,
    plan: Vec<tasks::Planned>,
    placed: Vec<Placed>,
    crew: u32,
    day: Duration,
) -> Schedule {
    let days = days::of(network, &plan, &placed, day);
    let mut order: Vec<usize> = (0..plan.len()).collect();
    order.sort_by(|a, b| placed[*a].start.total_cmp(&placed[*b].start).then(a.cmp(b)));
    let mut place = vec![0; plan.len()];
    for (new, old) in order.iter().enumerate() {
        place[*old] = new;
    }
    let renumber = |indices: &[usize]| {
        let mut new: Vec<usize> = indices.iter().map(|index| place[*index]).collect();
        new.sort_unstable();
        new
    };
    let tasks: Vec<Task> = order
        .iter()
        .enumerate()
        .map(|(new, &old)| Task {
            id: format!("T{}", new + 1),
            what: plan[old].what.clone(),
            kind: plan[old].kind,
            part: plan[old].part.clone(),
            machine: plan[old].spec.machine.clone(),
            people: placed[old].people,
            hours: placed[old].hours,
            after: renumber(&plan[old].spec.after),
            start: placed[old].start,
        })
        .collect();
    let labour = tasks.iter().map(|t| t.hours * f64::from(t.people)).sum();
    let days = days
        .into_iter()
        .map(|one| WorkDay {
            tasks: renumber(&one.tasks),
            ..one
        })
        .collect();
    Schedule {
        tasks,
        days,
        notice_days: job.practice.utility.notice_days.value,
        crew,
        labour,
    }
}
