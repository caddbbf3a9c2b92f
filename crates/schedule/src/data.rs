//! A problem as the search sees it: times in units of their greatest common divisor, demands of
//! several resources side by side in one word, earliest starts and tails by longest ways.

use crate::problem::Problem;

/// A time that is never reached.
pub(crate) const NEVER: i32 = 1_000_000_000;

/// Resources in one word: 16 bits each, of which the highest stays free to show what falls short.
pub(crate) const LANES: usize = 4;

pub(crate) struct Data {
    pub(crate) tasks: usize,
    /// What one unit of time here is in the problem.
    pub(crate) unit: i64,
    pub(crate) duration: Vec<i32>,
    /// Earliest start by longest ways.
    pub(crate) head: Vec<i32>,
    /// Longest way from the start of a task to the end of all; never below the duration.
    pub(crate) tail: Vec<i32>,
    /// Latest start that deadlines leave.
    pub(crate) last: Vec<i32>,
    /// Every lag, by the task before: task after, least.
    pub(crate) next: Vec<Vec<(u32, i32)>>,
    /// Every lag, by the task after: task before, least.
    pub(crate) prev: Vec<Vec<(u32, i32)>>,
    /// The lags that are not negative: generated schedules keep these by their order.
    pub(crate) ahead: Vec<Vec<(u32, i32)>>,
    pub(crate) behind: Vec<Vec<(u32, i32)>>,
    /// The tasks in an order that the lags of `ahead` allow; empty if there is none.
    pub(crate) order: Vec<u32>,
    /// Whether every schedule generated along such an order keeps all lags and deadlines.
    pub(crate) sure: bool,
    /// Whether no task starts before those end that `ahead` has before it.
    pub(crate) plain: bool,
    /// Words of demand for each task.
    pub(crate) words: usize,
    pub(crate) packed: Vec<u64>,
    /// By resource: the tasks that need it and how much.
    pub(crate) users: Vec<Vec<(u32, i32)>>,
    /// By resource: from when on, how much; the first from 0.
    pub(crate) steps: Vec<Vec<(i32, i32)>>,
    pub(crate) weight: Vec<i64>,
    /// If there is a schedule there is one that ends by then.
    pub(crate) horizon: i32,
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}

impl Data {
    /// Nothing if the lags and deadlines alone leave no schedule.
    pub(crate) fn new(problem: &Problem) -> Option<Data> {
        let tasks = problem.tasks.len();
        let times = problem
            .tasks
            .iter()
            .flat_map(|task| [task.duration, task.release, task.deadline.unwrap_or(0)].into_iter());
        let changes = problem.resources.iter().flat_map(|r| &r.changes);
        let unit = times
            .chain(changes.map(|change| change.0))
            .chain(problem.lags.iter().map(|lag| lag.least))
            .fold(0, gcd)
            .max(1);
        let scaled = |time: i64| (time / unit) as i32;
        let duration: Vec<i32> = problem.tasks.iter().map(|t| scaled(t.duration)).collect();
        let mut next = vec![Vec::new(); tasks];
        for lag in &problem.lags {
            if lag.before == lag.after {
                if lag.least > 0 {
                    return None;
                }
                continue;
            }
            next[lag.before].push((lag.after as u32, scaled(lag.least)));
        }
        for list in &mut next {
            // Of several lags between the same two tasks only the strictest counts.
            list.sort_unstable_by_key(|(task, least)| (*task, -*least));
            list.dedup_by_key(|(task, _)| *task);
        }
        let prev = turned(&next);
        let head = longest(
            problem.tasks.iter().map(|t| scaled(t.release)).collect(),
            &next,
        )?;
        let tail = longest(duration.clone(), &prev)?;
        let free = problem.tasks.iter().zip(&duration).map(|(task, duration)| {
            task.deadline
                .map_or(NEVER, |deadline| scaled(deadline) - duration)
        });
        // The latest start is a longest way too, counted backward.
        let last = longest(free.map(|last| -last).collect(), &prev)?;
        let last: Vec<i32> = last.into_iter().map(|last| -last).collect();
        if head.iter().zip(&last).any(|(head, last)| head > last) {
            return None;
        }
        let (ahead, order, all_kept) = along(&next);
        let behind = turned(&ahead);
        let plain = (0..tasks).all(|at| ahead[at].iter().all(|lag| lag.1 >= duration[at]));
        let sure = all_kept && problem.tasks.iter().all(|task| task.deadline.is_none());
        let steps: Vec<Vec<(i32, i32)>> = problem
            .resources
            .iter()
            .map(|resource| {
                let mut steps = vec![(0, resource.capacity as i32)];
                for (time, capacity) in &resource.changes {
                    let time = scaled(*time);
                    if steps.last().is_some_and(|step| step.0 == time) {
                        steps.pop();
                    }
                    steps.push((time, *capacity as i32));
                }
                steps
            })
            .collect();
        let words = problem.resources.len().div_ceil(LANES);
        let mut packed = vec![0u64; tasks * words];
        let mut users = vec![Vec::new(); problem.resources.len()];
        for (at, task) in problem.tasks.iter().enumerate() {
            for (resource, demand) in task.demands.iter().enumerate() {
                if *demand > 0 && task.duration > 0 {
                    packed[at * words + resource / LANES] |= lane(*demand as i32, resource);
                    users[resource].push((at as u32, *demand as i32));
                }
            }
        }
        let longest_out = (0..tasks).map(|at| {
            let lags = next[at].iter().map(|(_, least)| *least);
            lags.max().unwrap_or(0).max(duration[at])
        });
        let horizon = longest_out.sum::<i32>()
            + steps.iter().map(|s| s[s.len() - 1].0).max().unwrap_or(0)
            + head.iter().copied().max().unwrap_or(0);
        Some(Data {
            tasks,
            unit,
            duration,
            head,
            tail,
            last,
            next,
            prev,
            ahead,
            behind,
            order,
            sure,
            plain,
            words,
            packed,
            users,
            steps,
            weight: problem.tasks.iter().map(|task| task.weight).collect(),
            horizon,
        })
    }

    /// When the last task ends.
    pub(crate) fn makespan(&self, starts: &[i32]) -> i32 {
        let ends = starts.iter().zip(&self.duration).map(|(s, d)| s + d);
        ends.max().unwrap_or(0)
    }

    /// The weighted sum of starts.
    pub(crate) fn cost(&self, starts: &[i32]) -> i64 {
        let parts = starts.iter().zip(&self.weight);
        parts.map(|(s, w)| i64::from(*s) * w).sum()
    }

    /// Whether lags and deadlines hold; resources are not looked at.
    pub(crate) fn keeps_lags(&self, starts: &[i32]) -> bool {
        (0..self.tasks).all(|at| {
            let mut lags = self.next[at].iter();
            starts[at] >= self.head[at]
                && starts[at] <= self.last[at]
                && lags.all(|(after, least)| starts[*after as usize] >= starts[at] + least)
        })
    }
}

/// An amount in the place of its resource.
pub(crate) fn lane(amount: i32, resource: usize) -> u64 {
    (amount as u64) << (16 * (resource % LANES))
}

fn turned(next: &[Vec<(u32, i32)>]) -> Vec<Vec<(u32, i32)>> {
    let mut prev = vec![Vec::new(); next.len()];
    for (before, list) in next.iter().enumerate() {
        for (after, least) in list {
            prev[*after as usize].push((before as u32, *least));
        }
    }
    prev
}

/// Raises the values along the lags until all are kept; nothing if a cycle raises without end.
fn longest(mut values: Vec<i32>, next: &[Vec<(u32, i32)>]) -> Option<Vec<i32>> {
    for _ in 0..=values.len() {
        let mut raised = false;
        for before in 0..next.len() {
            for (after, least) in &next[before] {
                let value = values[before] + least;
                if values[*after as usize] < value {
                    values[*after as usize] = value;
                    raised = true;
                }
            }
        }
        if !raised {
            return Some(values);
        }
    }
    None
}

type Lags = Vec<Vec<(u32, i32)>>;

/// The lags that hold back, or none if they have a cycle; an order; whether that is all.
fn along(next: &Lags) -> (Lags, Vec<u32>, bool) {
    let back = |list: &Vec<(u32, i32)>| list.iter().filter(|lag| lag.1 >= 0).copied().collect();
    let ahead: Lags = next.iter().map(back).collect();
    let all = next.iter().flatten().all(|lag| lag.1 >= 0);
    let order = sorted(&ahead);
    if order.len() == next.len() {
        (ahead, order, all)
    } else {
        (ahead, Vec::new(), false)
    }
}

/// Tasks before those that they hold back; shorter than all if there is a cycle.
fn sorted(next: &Lags) -> Vec<u32> {
    let mut open = vec![0; next.len()];
    for (after, _) in next.iter().flatten() {
        open[*after as usize] += 1;
    }
    let mut order: Vec<u32> = (0..next.len() as u32)
        .filter(|at| open[*at as usize] == 0)
        .collect();
    let mut done = 0;
    while done < order.len() {
        for (after, _) in &next[order[done] as usize] {
            open[*after as usize] -= 1;
            if open[*after as usize] == 0 {
                order.push(*after);
            }
        }
        done += 1;
    }
    order
}
