//! Looks over a schedule without the help of what made it.

use crate::{Schedule, Task, TaskKind};
use job::Job;
use job::prices::MethodKind;
use quantity::Duration;
use routes::{LineKind, Network, StretchId};
use std::collections::BTreeMap;

/// Moments nearer together than this are one.
const HAIR: f64 = 1e-3;

/// Everything that is wrong with a schedule, in words; empty if nothing is.
pub fn faults(job: &Job, network: &Network, schedule: &Schedule) -> Vec<String> {
    let mut faults = Vec::new();
    precedence(schedule, &mut faults);
    crews(schedule, &mut faults);
    machines(job, schedule, &mut faults);
    covered(job, network, schedule, &mut faults);
    one_day(job, schedule, &mut faults);
    faults
}

fn is_before(a: Duration, b: Duration) -> bool {
    a.to_s() <= b.to_s() + HAIR
}

fn precedence(schedule: &Schedule, faults: &mut Vec<String>) {
    let dug = |task: &&Task| matches!(task.kind, TaskKind::Dig | TaskKind::Sleeve);
    for task in &schedule.tasks {
        for &before in &task.after {
            if !is_before(schedule.tasks[before].end, task.start) {
                faults.push(format!(
                    "{} begins before {} has ended",
                    task.id, schedule.tasks[before].id
                ));
            }
        }
        if !is_before(task.start + task.hours, task.end) {
            faults.push(format!("{} ends before its work is done", task.id));
        }
    }
    let found = |task: &&Task| matches!(task.kind, TaskKind::Mark | TaskKind::TestHole);
    for before in schedule.tasks.iter().filter(found) {
        for dig in schedule.tasks.iter().filter(dug) {
            if !is_before(before.end, dig.start) {
                faults.push(format!("{} digs before {} has ended", dig.id, before.id));
            }
        }
    }
}

fn most_at_once(spans: &[(f64, f64, u32)]) -> u32 {
    let at = |moment: f64| -> u32 {
        let there = spans
            .iter()
            .filter(|s| s.0 <= moment + HAIR && s.1 > moment + HAIR);
        there.map(|s| s.2).sum()
    };
    spans.iter().map(|span| at(span.0)).max().unwrap_or(0)
}

fn crews(schedule: &Schedule, faults: &mut Vec<String>) {
    for crew in &schedule.crews {
        let at_work = schedule.tasks.iter().filter(|task| task.crew == crew.id);
        let spans: Vec<(f64, f64, u32)> = at_work
            .map(|task| (task.start.to_s(), task.end.to_s(), task.people))
            .collect();
        let most = most_at_once(&spans);
        if most > crew.people {
            faults.push(format!(
                "{most} of {} people of {} are at work",
                crew.people, crew.label
            ));
        }
    }
    for task in schedule.tasks.iter().filter(|task| !task.kind.is_wait()) {
        if task.people == 0 || !schedule.crews.iter().any(|crew| crew.id == task.crew) {
            faults.push(format!("nobody does {}", task.id));
        }
    }
}

fn machines(job: &Job, schedule: &Schedule, faults: &mut Vec<String>) {
    let mut spans: BTreeMap<String, Vec<(f64, f64, u32)>> = BTreeMap::new();
    for task in &schedule.tasks {
        let Some(machine) = &task.machine else {
            continue;
        };
        let span = (task.start.to_s(), task.end.to_s(), 1);
        spans
            .entry(format!("method {machine}"))
            .or_default()
            .push(span);
        let method = job.prices.method.get(machine);
        if let Some(carrier) = method.and_then(|method| method.carrier.as_ref()) {
            spans
                .entry(format!("carrier {carrier}"))
                .or_default()
                .push(span);
        }
    }
    for (machine, spans) in spans {
        if most_at_once(&spans) > 1 {
            faults.push(format!("{machine} is at two tasks at once"));
        }
    }
}

/// Nothing is covered before all lines in the trench are laid and inspected, and their pipe tested and
/// held.
fn covered(job: &Job, network: &Network, schedule: &Schedule, faults: &mut Vec<String>) {
    let parts = parts(network);
    for fill in schedule
        .tasks
        .iter()
        .filter(|task| task.kind == TaskKind::Fill)
    {
        for stretch in &fill.stretches {
            for &line in &network.stretch(*stretch).carries {
                let part = &parts[line];
                for task in schedule.tasks.iter().filter(|task| task.part == *part) {
                    let first = matches!(
                        task.kind,
                        TaskKind::Dig
                            | TaskKind::Lay
                            | TaskKind::Wire
                            | TaskKind::Inspect
                            | TaskKind::Flush
                            | TaskKind::Test
                            | TaskKind::Hold
                    );
                    if first && !is_before(task.end, fill.start) {
                        faults.push(format!(
                            "{} covers {part} before {} has ended",
                            fill.id, task.id
                        ));
                    }
                }
                let tested = |kind| {
                    let mut of_part = schedule.tasks.iter().filter(|task| task.part == *part);
                    of_part.any(|task| task.kind == kind)
                };
                let is_pipe = network.lines[line].kind.is_pipe();
                if !tested(TaskKind::Inspect) || (is_pipe && !tested(TaskKind::Test)) {
                    faults.push(format!("{} covers {part}, which is never tested", fill.id));
                }
            }
        }
    }
    every_trench_is_filled(job, network, schedule, faults);
}

/// The part that a line is tested with.
fn parts(network: &Network) -> Vec<String> {
    let lines = network.lines.iter();
    lines
        .map(|line| match line.kind {
            LineKind::Service | LineKind::Main | LineKind::Wire => "main".to_owned(),
            LineKind::Lateral(_) | LineKind::Cable(_) => line.name.clone(),
        })
        .collect()
}

fn every_trench_is_filled(
    job: &Job,
    network: &Network,
    schedule: &Schedule,
    faults: &mut Vec<String>,
) {
    let at = |kind: TaskKind| {
        let mut count = vec![0; network.stretches.len()];
        let tasks = schedule.tasks.iter().filter(|task| task.kind == kind);
        for StretchId(stretch) in tasks.flat_map(|task| &task.stretches) {
            count[*stretch as usize] += 1;
        }
        count
    };
    let (dug, filled) = (at(TaskKind::Dig), at(TaskKind::Fill));
    let sleeves = at(TaskKind::Sleeve);
    for stretch in 0..network.stretches.len() {
        if dug[stretch] + sleeves[stretch] != 1 {
            faults.push(format!(
                "stretch {stretch} is dug {} times",
                dug[stretch] + sleeves[stretch]
            ));
        }
        if filled[stretch] > dug[stretch] {
            faults.push(format!("stretch {stretch} is filled and not dug"));
        }
    }
    for task in schedule
        .tasks
        .iter()
        .filter(|task| task.kind == TaskKind::Dig)
    {
        let method = task
            .machine
            .as_ref()
            .and_then(|id| job.prices.method.get(id));
        let opens = method.is_some_and(|method| method.kind == MethodKind::Trench);
        for StretchId(stretch) in task.stretches.iter().filter(|_| opens) {
            if filled[*stretch as usize] != 1 {
                faults.push(format!("{} leaves stretch {stretch} open", task.id));
            }
        }
    }
}

/// A test and the hold after it lie on one day, if a day is long enough.
fn one_day(job: &Job, schedule: &Schedule, faults: &mut Vec<String>) {
    let day = Duration::h(job.practice.day.hours.value.to_one());
    for hold in schedule
        .tasks
        .iter()
        .filter(|task| task.kind == TaskKind::Hold)
    {
        let tests = hold.after.iter().map(|&test| &schedule.tasks[test]);
        for test in tests.filter(|test| test.kind == TaskKind::Test) {
            let whole = hold.end - test.start;
            let apart = hold.start - test.end;
            if apart.to_s().abs() > HAIR {
                faults.push(format!("{} does not follow {} at once", hold.id, test.id));
            }
            if is_before(whole, day) && test.from.day != hold.to.day {
                faults.push(format!("{} is broken off by a night", test.id));
            }
        }
    }
}
