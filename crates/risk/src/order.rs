//! The order of the plan's tasks, run again with other times.
//!
//! People and machines go from task to task as in the plan: who hands them on to whom is found once,
//! and a task starts as soon as those that it follows and those that it has people or machine from are
//! done (earliest starts on a network of flows of resources, C. Artigues, P. Michelon and S. Reusser,
//! European Journal of Operational Research 149 (2003) 249–267; from memory). So the limits of people and machines hold
//! whatever the times, and nothing has to be searched for in a trial.

use crew::{CrewOnSite, Task};
use job::{Job, MethodId};

/// Moments nearer together than this are one, seconds.
const SAME_MOMENT: f64 = 1.0;

/// How a task waits for those before it.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Wait {
    /// It starts when they are done, but for a hair of rounding.
    Done(f64),
    /// Not before this either: a machine that comes on a certain morning.
    NotBefore(f64),
}

/// The tasks in an order in which each comes after those before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Task, how it waits, and where in `before` its own end.
    steps: Vec<(usize, Wait, usize)>,
    before: Vec<usize>,
}

/// People of a crew who are free from some time on, and the task they come from; `None` is their arrival.
struct Free<'a> {
    crew: &'a str,
    from: f64,
    task: Option<usize>,
    people: u32,
}

impl Order {
    /// From the tasks of a plan that these crews do.
    pub fn of(job: &Job, tasks: &[Task], crews: &[CrewOnSite]) -> Self {
        let start = |task: usize| tasks[task].start.to_s();
        let end = |task: usize| tasks[task].end.to_s();
        let mut sequence: Vec<usize> = (0..tasks.len()).collect();
        sequence.sort_by(|a, b| start(*a).total_cmp(&start(*b)).then(a.cmp(b)));
        let mut order = Self {
            steps: Vec::new(),
            before: Vec::new(),
        };
        let mut begun = vec![false; tasks.len()];
        let arrives = |crew: &'_ CrewOnSite| (crew.id.clone(), crew.people);
        let arrivals: Vec<(String, u32)> = crews.iter().map(arrives).collect();
        let mut free: Vec<Free> = arrivals
            .iter()
            .map(|(crew, people)| Free {
                crew,
                from: 0.0,
                task: None,
                people: *people,
            })
            .collect();
        for &task in &sequence {
            let after = tasks[task].after.iter().copied();
            let mut before: Vec<usize> = after
                .filter(|earlier| begun.get(*earlier) == Some(&true))
                .collect();
            before.extend(last_with_machine(job, tasks, &sequence, &begun, task));
            let Task { people, crew, .. } = &tasks[task];
            let people = *people;
            let from = take(&mut free, (crew, people), start(task), &before);
            before.extend(from);
            before.sort_unstable();
            before.dedup();
            free.push(Free {
                crew,
                from: end(task),
                task: Some(task),
                people,
            });
            begun[task] = true;
            let done = before
                .iter()
                .map(|earlier| end(*earlier))
                .fold(0.0, f64::max);
            let gap = start(task) - done;
            let wait = if gap > SAME_MOMENT {
                Wait::NotBefore(start(task))
            } else {
                Wait::Done(gap)
            };
            order.before.extend(before);
            order.steps.push((task, wait, order.before.len()));
        }
        order
    }

    /// Start and end of each task with other times, seconds; both are indexed by task.
    pub fn run(&self, times: &[f64], starts: &mut [f64], ends: &mut [f64]) {
        let mut from = 0;
        for &(task, wait, to) in &self.steps {
            let before = &self.before[from..to];
            let done = before
                .iter()
                .map(|earlier| ends[*earlier])
                .fold(0.0, f64::max);
            let start = match wait {
                Wait::Done(gap) => (done + gap).max(0.0),
                Wait::NotBefore(time) => done.max(time),
            };
            starts[task] = start;
            ends[task] = start + times[task];
            from = to;
        }
    }
}

/// The task that had this one's machine last.
fn last_with_machine(
    job: &Job,
    tasks: &[Task],
    sequence: &[usize],
    begun: &[bool],
    task: usize,
) -> Option<usize> {
    let machine = tasks[task].machine.as_ref()?;
    let carrier = |id: &MethodId| job.prices.method.get(id)?.carrier.as_ref();
    let earlier = sequence.iter().rev().copied().filter(|other| begun[*other]);
    earlier.into_iter().find(|other| {
        tasks[*other].machine.as_ref().is_some_and(|had| {
            had == machine || (carrier(had).is_some() && carrier(had) == carrier(machine))
        })
    })
}

/// Takes people from the tasks that are done: first from those that are waited for anyhow, then from
/// those that were done first. Gives the tasks that they come from.
fn take(
    free: &mut Vec<Free>,
    (crew, people): (&str, u32),
    at: f64,
    before: &[usize],
) -> Vec<usize> {
    free.sort_by(|a, b| {
        let apart = |one: &Free| one.task.is_some_and(|task| !before.contains(&task));
        let key = apart(a).cmp(&apart(b));
        key.then(a.from.total_cmp(&b.from))
            .then(a.task.cmp(&b.task))
    });
    let mut wanted = people;
    let mut from = Vec::new();
    let there = |one: &&mut Free| one.crew == crew && one.from <= at + SAME_MOMENT;
    for one in free.iter_mut().filter(there) {
        let taken = one.people.min(wanted);
        if taken > 0 {
            one.people -= taken;
            wanted -= taken;
            from.extend(one.task);
        }
    }
    free.retain(|one| one.people > 0);
    from
}
