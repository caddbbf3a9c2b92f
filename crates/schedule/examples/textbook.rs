//! What to compare with: schedules by one rule of priority, the task that has to start first to
//! finish in time coming first, generated serially and in parallel (R. Kolisch, "Serial and parallel
//! resource-constrained project scheduling methods revisited", EJOR 90, 1996).
//!
//! `cargo run --release -p schedule --example textbook -- FILE`
//!
//! Shares nothing with the library but the reading and the check; capacities without changes only.

use schedule::{Problem, check, text};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let file = std::env::args().nth(1).ok_or("usage: textbook FILE")?;
    let problem = text::read(&std::fs::read_to_string(file)?)?;
    let tail = tails(&problem);
    let mut values = Vec::new();
    for starts in [serial(&problem, &tail), parallel(&problem, &tail)] {
        values.push(check(&problem, &starts)?.0);
    }
    println!("{{\"values\":{values:?}}}");
    Ok(())
}

/// Longest way from the start of each task to the end of all.
fn tails(problem: &Problem) -> Vec<i64> {
    let mut tail: Vec<i64> = problem.tasks().iter().map(|task| task.duration).collect();
    for _ in problem.tasks() {
        for lag in problem.lags() {
            tail[lag.before] = tail[lag.before].max(lag.least + tail[lag.after]);
        }
    }
    tail
}

/// Whether a task fits in at a time, beside those that have a start.
fn fits(problem: &Problem, starts: &[Option<i64>], task: usize, start: i64) -> bool {
    let tasks = problem.tasks();
    (start..start + tasks[task].duration).all(|time| {
        problem
            .resources()
            .iter()
            .enumerate()
            .all(|(at, resource)| {
                let runs = |other: &usize| {
                    starts[*other].is_some_and(|s| s <= time && time < s + tasks[*other].duration)
                };
                let held: u32 = (0..tasks.len())
                    .filter(runs)
                    .map(|o| tasks[o].demands[at])
                    .sum();
                held + tasks[task].demands[at] <= resource.capacity
            })
    })
}

/// The earliest start that the tasks before allow; nothing while one of them has none.
fn from(problem: &Problem, starts: &[Option<i64>], task: usize) -> Option<i64> {
    let mut from = 0;
    for lag in problem.lags().iter().filter(|lag| lag.after == task) {
        from = from.max(starts[lag.before]? + lag.least);
    }
    Some(from)
}

fn serial(problem: &Problem, tail: &[i64]) -> Vec<i64> {
    let mut starts = vec![None; tail.len()];
    for _ in tail {
        let ready = (0..tail.len())
            .filter(|task| starts[*task].is_none() && from(problem, &starts, *task).is_some());
        let Some(task) = ready.min_by_key(|task| (-tail[*task], *task)) else {
            break;
        };
        let from = from(problem, &starts, task).unwrap_or(0);
        starts[task] = (from..).find(|start| fits(problem, &starts, task, *start));
    }
    starts.into_iter().flatten().collect()
}

fn parallel(problem: &Problem, tail: &[i64]) -> Vec<i64> {
    let mut starts = vec![None; tail.len()];
    let mut time = 0;
    while starts.contains(&None) {
        let ready = (0..tail.len()).filter(|task| {
            starts[*task].is_none()
                && from(problem, &starts, *task).is_some_and(|from| from <= time)
                && fits(problem, &starts, *task, time)
        });
        match ready.min_by_key(|task| (-tail[*task], *task)) {
            Some(task) => starts[task] = Some(time),
            None => time += 1,
        }
    }
    starts.into_iter().flatten().collect()
}
