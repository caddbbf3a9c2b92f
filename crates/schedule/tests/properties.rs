//! What must hold for every problem, on random ones; small ones are held against trying all.

#![allow(clippy::unwrap_used)]

use schedule::{
    Fault, Lag, Limits, NoSchedule, Problem, ProblemError, Resource, Solution, Task, check, solve,
};
use std::ops::ControlFlow;

/// A fixed sequence of numbers.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, below: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % below
    }
}

fn run(problem: &Problem, work: u64) -> Result<Solution, NoSchedule> {
    let limits = Limits { work, seed: 1 };
    let solution = solve(problem, limits, &|_| ControlFlow::Continue(()))?;
    let found = check(problem, &solution.starts).unwrap_or_else(|f| panic!("{f}: {problem:?}"));
    assert_eq!(found, (solution.makespan, solution.cost));
    assert!(solution.bound <= solution.makespan);
    assert_eq!(solution.optimal, solution.bound == solution.makespan);
    Ok(solution)
}

/// Which parts of the model a problem may use.
#[derive(Clone, Copy)]
struct Parts {
    tasks: u64,
    calendar: bool,
    most: bool,
    times: bool,
    weights: bool,
}

fn problem(numbers: &mut Numbers, parts: Parts) -> Problem {
    let tasks = 2 + numbers.below(parts.tasks - 1) as usize;
    let kinds = 1 + numbers.below(3) as usize;
    let resources: Vec<Resource> = (0..kinds)
        .map(|_| {
            let mut resource = Resource::new(1 + numbers.below(4) as u32);
            if parts.calendar {
                let mut time = 0;
                for _ in 0..numbers.below(4) {
                    time += 1 + numbers.below(4) as i64;
                    resource.changes.push((time, numbers.below(5) as u32));
                }
                resource
                    .changes
                    .push((time + 2, 1 + numbers.below(4) as u32));
            }
            resource
        })
        .collect();
    let last = |resource: &Resource| resource.changes.last().map_or(resource.capacity, |c| c.1);
    let list: Vec<Task> = (0..tasks)
        .map(|_| {
            let demands = resources.iter().map(|resource| {
                let most = u64::from(last(resource)) + 1;
                numbers.below(most) as u32
            });
            let mut task = Task::new(0, demands.collect());
            task.duration = numbers.below(5) as i64;
            if parts.times {
                task.release = (numbers.below(3) * numbers.below(4)) as i64;
                if numbers.below(3) == 0 {
                    task.deadline = Some(task.release + task.duration + numbers.below(9) as i64);
                }
            }
            if parts.weights {
                task.weight = numbers.below(7) as i64 - 3;
            }
            task
        })
        .collect();
    let mut lags = Vec::new();
    for after in 1..tasks {
        for _ in 0..numbers.below(3) {
            let before = numbers.below(after as u64) as usize;
            let least = match numbers.below(4) {
                0 if parts.most => numbers.below(5) as i64 - 2,
                _ => list[before].duration,
            };
            lags.push(Lag::at_least(before, after, least));
            if parts.most && numbers.below(3) == 0 {
                let most = least.max(0) + numbers.below(4) as i64;
                lags.push(Lag::at_most(before, after, most));
            }
        }
    }
    Problem::new(list, resources, lags).unwrap()
}

/// The least makespan by `horizon`, then the least cost, by trying every start of every task.
fn brute(problem: &Problem, horizon: i64) -> Option<(i64, i64)> {
    let mut best = None;
    let mut starts = vec![0; problem.tasks().len()];
    try_all(problem, horizon, 0, &mut starts, &mut best);
    best
}

fn try_all(
    problem: &Problem,
    horizon: i64,
    task: usize,
    starts: &mut Vec<i64>,
    best: &mut Option<(i64, i64)>,
) {
    if task == starts.len() {
        if let Ok(found) = check(problem, starts) {
            *best = Some(best.map_or(found, |best| best.min(found)));
        }
        return;
    }
    let it = &problem.tasks()[task];
    let until = best.map_or(horizon, |best| best.0) - it.duration;
    for start in it.release..=until {
        starts[task] = start;
        let kept = problem.lags().iter().all(|lag| {
            lag.before.max(lag.after) != task || starts[lag.after] >= starts[lag.before] + lag.least
        });
        if kept {
            try_all(problem, horizon, task + 1, starts, best);
        }
    }
}

fn against_brute(seed: u64, cases: usize, parts: Parts) {
    let mut numbers = Numbers(seed);
    let mut none = 0;
    for case in 0..cases {
        let problem = problem(&mut numbers, parts);
        match run(&problem, 40_000_000) {
            Ok(solution) => {
                assert!(solution.optimal, "case {case}: {problem:?} {solution:?}");
                assert!(
                    solution.cost_optimal,
                    "case {case}: {problem:?} {solution:?}"
                );
                let best = brute(&problem, solution.makespan).unwrap();
                assert_eq!(
                    (solution.makespan, solution.cost).0,
                    best.0,
                    "case {case}: {problem:?}"
                );
                if parts.weights {
                    assert_eq!(solution.cost, best.1, "case {case}: {problem:?}");
                }
            }
            Err(error) => {
                assert_eq!(error, NoSchedule::Impossible, "case {case}: {problem:?}");
                assert_eq!(brute(&problem, 14), None, "case {case}: {problem:?}");
                none += 1;
            }
        }
    }
    assert!(none < cases / 2, "{none} of {cases} have no schedule");
}

const PLAIN: Parts = Parts {
    tasks: 6,
    calendar: false,
    most: false,
    times: false,
    weights: false,
};

#[test]
fn plain_problems_come_out_as_by_trying_everything() {
    against_brute(1, 400, PLAIN);
}

#[test]
fn calendars_come_out_as_by_trying_everything() {
    let parts = Parts {
        calendar: true,
        tasks: 5,
        ..PLAIN
    };
    against_brute(2, 300, parts);
}

#[test]
fn greatest_lags_and_deadlines_come_out_as_by_trying_everything() {
    let parts = Parts {
        most: true,
        times: true,
        tasks: 5,
        ..PLAIN
    };
    against_brute(3, 400, parts);
}

#[test]
fn weights_come_second_as_by_trying_everything() {
    let parts = Parts {
        weights: true,
        calendar: true,
        most: true,
        tasks: 5,
        ..PLAIN
    };
    against_brute(4, 300, parts);
}

#[test]
fn thousands_of_schedules_keep_everything() {
    let mut numbers = Numbers(9);
    for case in 0..3000u64 {
        let parts = Parts {
            tasks: 3 + case % 20,
            calendar: case % 2 == 0,
            most: case % 3 == 0,
            times: case % 5 == 0,
            weights: case % 7 == 0,
        };
        let problem = problem(&mut numbers, parts);
        if let Ok(solution) = run(&problem, 100_000)
            && let Ok(more) = run(&problem, 400_000)
        {
            assert!(more.bound >= solution.bound && more.makespan <= solution.makespan);
        }
    }
}

#[test]
fn times_multiplied_give_the_schedule_multiplied() {
    let mut numbers = Numbers(5);
    for _ in 0..60 {
        let parts = Parts {
            tasks: 25,
            calendar: true,
            ..PLAIN
        };
        let problem = problem(&mut numbers, parts);
        let by = 2 + numbers.below(50) as i64;
        let mut tasks = problem.tasks().to_vec();
        tasks.iter_mut().for_each(|task| task.duration *= by);
        let mut resources = problem.resources().to_vec();
        let changes = resources.iter_mut().flat_map(|r| &mut r.changes);
        changes.for_each(|change| change.0 *= by);
        let mut lags = problem.lags().to_vec();
        lags.iter_mut().for_each(|lag| lag.least *= by);
        let larger = Problem::new(tasks, resources, lags).unwrap();
        let (one, other) = (
            run(&problem, 500_000).unwrap(),
            run(&larger, 500_000).unwrap(),
        );
        let starts: Vec<i64> = one.starts.iter().map(|start| start * by).collect();
        assert_eq!((starts, one.bound * by), (other.starts, other.bound));
    }
}

#[test]
fn the_same_work_gives_the_same_answer() {
    let mut numbers = Numbers(6);
    for _ in 0..20 {
        let problem = problem(&mut numbers, Parts { tasks: 40, ..PLAIN });
        assert_eq!(run(&problem, 3_000_000), run(&problem, 3_000_000));
    }
}

#[test]
fn what_cannot_be_is_told() {
    let make = |tasks, lags| Problem::new(tasks, vec![Resource::new(1)], lags);
    let task = |duration| Task::new(duration, vec![1]);
    assert_eq!(
        make(vec![task(-1)], vec![]),
        Err(ProblemError::Negative { task: 0 })
    );
    let far = Lag::at_least(0, 3, 1);
    assert_eq!(
        make(vec![task(1)], vec![far]),
        Err(ProblemError::NoSuchTask { lag: 0 })
    );
    assert_eq!(
        make(vec![Task::new(1, vec![0, 1])], vec![]),
        Err(ProblemError::NoSuchResource { task: 0 })
    );
    assert_eq!(
        make(vec![task(i64::MAX)], vec![]),
        Err(ProblemError::TooLong)
    );
    let circle = vec![Lag::at_least(0, 1, 1), Lag::at_least(1, 0, 0)];
    let circle = make(vec![task(1), task(1)], circle).unwrap();
    assert_eq!(run(&circle, 1_000_000), Err(NoSchedule::Impossible));
    // More than there ever is.
    let much = make(vec![Task::new(1, vec![2])], vec![]).unwrap();
    assert_eq!(run(&much, 1_000_000), Err(NoSchedule::Impossible));
    let none = make(vec![], vec![]).unwrap();
    assert_eq!(
        run(&none, 1_000_000).map(|s| (s.makespan, s.optimal)),
        Ok((0, true))
    );
}

#[test]
fn the_check_sees_what_is_wrong() {
    let mut tasks = vec![Task::new(2, vec![1]), Task::new(2, vec![1])];
    tasks[0].release = 1;
    tasks[1].deadline = Some(7);
    let mut resource = Resource::new(1);
    resource.changes.push((4, 0));
    resource.changes.push((5, 1));
    let lags = vec![Lag::at_most(0, 1, 4)];
    let problem = Problem::new(tasks, vec![resource], lags).unwrap();
    assert_eq!(check(&problem, &[1, 5]), Ok((7, 0)));
    assert_eq!(check(&problem, &[1]), Err(Fault::Count));
    assert_eq!(check(&problem, &[0, 5]), Err(Fault::Early { task: 0 }));
    assert_eq!(check(&problem, &[1, 6]), Err(Fault::Late { task: 1 }));
    assert_eq!(
        check(&problem, &[5, 5]),
        Err(Fault::Overload {
            resource: 0,
            time: 5
        })
    );
    assert_eq!(
        check(&problem, &[3, 5]),
        Err(Fault::Overload {
            resource: 0,
            time: 4
        })
    );
    let run = run(&problem, 1_000_000).unwrap();
    assert!(run.optimal && run.makespan == 4, "{run:?}");
}
