//! Lower bounds that are found at once: longest ways, the work that a resource has to do between
//! the earliest start of some tasks and the shortest tail of them, and the tasks of which no two
//! ever run together.

use crate::apart::apart;
use crate::data::Data;

/// No schedule is shorter.
pub(crate) fn bound(data: &Data) -> i32 {
    let ways = (0..data.tasks).map(|task| data.head[task] + data.tail[task]);
    let ways = ways.max().unwrap_or(0);
    let work = (0..data.users.len()).map(|resource| work_bound(data, resource));
    let turns = turns_bound(data);
    work.max().unwrap_or(0).max(ways).max(turns)
}

/// Tasks of which no two run together take as long as all of them; the longest such row of tasks
/// is a clique of the most weight, looked for within [`MOST_STEPS`].
fn turns_bound(data: &Data) -> i32 {
    let (open, fixed) = apart(data);
    if open.is_empty() {
        return 0;
    }
    let mut apart = vec![vec![false; data.tasks]; data.tasks];
    for (one, two) in open.into_iter().chain(fixed) {
        apart[one as usize][two as usize] = true;
        apart[two as usize][one as usize] = true;
    }
    let mut order: Vec<usize> = (0..data.tasks)
        .filter(|at| data.duration[*at] > 0)
        .collect();
    order.sort_by_key(|at| std::cmp::Reverse(data.duration[*at]));
    let mut clique = Clique {
        data,
        apart,
        row: Vec::new(),
        best: Vec::new(),
        most: 0,
        left: MOST_STEPS,
    };
    clique.go(0, &order);
    between(data, &clique.best)
}

/// The least end of tasks that run one after another.
fn between(data: &Data, row: &[usize]) -> i32 {
    let mut best = 0;
    for first in row {
        let head = data.head[*first];
        let mut rest: Vec<usize> = row
            .iter()
            .copied()
            .filter(|at| data.head[*at] >= head)
            .collect();
        rest.sort_by_key(|at| std::cmp::Reverse(data.tail[*at] - data.duration[*at]));
        let mut sum = head;
        for at in rest {
            sum += data.duration[at];
            best = best.max(sum + data.tail[at] - data.duration[at]);
        }
    }
    best
}

/// Pairs of tasks that are compared, in eights, with a hundred for each set of tasks.
const MOST_STEPS: usize = 10_000_000;

struct Clique<'a> {
    data: &'a Data,
    apart: Vec<Vec<bool>>,
    row: Vec<usize>,
    best: Vec<usize>,
    most: i32,
    left: usize,
}

impl Clique<'_> {
    fn go(&mut self, sum: i32, open: &[usize]) {
        if sum > self.most {
            self.most = sum;
            self.best.clone_from(&self.row);
        }
        let steps = 100 + open.len() * open.len() / 8;
        self.left = self.left.saturating_sub(steps);
        if self.left == 0 || sum + self.ceiling(open) <= self.most {
            return;
        }
        for (at, task) in open.iter().enumerate() {
            if self.left == 0 {
                return;
            }
            let rest: Vec<usize> = open[at + 1..]
                .iter()
                .copied()
                .filter(|other| self.apart[*task][*other])
                .collect();
            self.row.push(*task);
            self.go(sum + self.data.duration[*task], &rest);
            self.row.pop();
        }
    }

    /// Of tasks that may all run together only one is in a row: sets of such, each with its
    /// longest.
    fn ceiling(&self, open: &[usize]) -> i32 {
        let mut sets: Vec<Vec<usize>> = Vec::new();
        let mut sum = 0;
        for task in open {
            let set = sets
                .iter_mut()
                .find(|set| set.iter().all(|other| !self.apart[*task][*other]));
            match set {
                Some(set) => set.push(*task),
                None => {
                    // The longest come first.
                    sum += self.data.duration[*task];
                    sets.push(vec![*task]);
                }
            }
        }
        sum
    }
}

/// What a resource has to do, counted plainly and, where its capacity never changes, in measures by
/// which no set of tasks that fits at one time has more than the capacity (dual feasible functions:
/// S. P. Fekete and J. Schepers, "New classes of fast lower bounds for bin packing problems",
/// Mathematical Programming 91, 2001).
fn work_bound(data: &Data, resource: usize) -> i32 {
    let users = &data.users[resource];
    let steps = &data.steps[resource];
    let plain: Vec<i64> = users.iter().map(|user| i64::from(user.1)).collect();
    let mut best = measured(data, resource, &plain, steps);
    let [(_, capacity)] = steps[..] else {
        return best;
    };
    let whole = i64::from(capacity);
    let mut demands = plain.clone();
    demands.sort_unstable();
    demands.dedup();
    for small in demands.iter().filter(|demand| **demand * 2 <= whole) {
        // What leaves no room for `small` counts as all, what is smaller as nothing.
        let measure = |demand: &i64| match demand {
            d if *d > whole - small => whole,
            d if d < small => 0,
            d => *d,
        };
        let demands: Vec<i64> = plain.iter().map(measure).collect();
        best = best.max(measured(data, resource, &demands, steps));
    }
    for parts in 1..=MOST_PARTS {
        let measure = |demand: &i64| {
            let times = demand * (parts + 1);
            if times % whole == 0 {
                demand * parts
            } else {
                times / whole * whole
            }
        };
        if whole > 0 {
            let demands: Vec<i64> = plain.iter().map(measure).collect();
            let steps = [(0, capacity * parts as i32)];
            best = best.max(measured(data, resource, &demands, &steps));
        }
    }
    best
}

const MOST_PARTS: i64 = 6;

fn measured(data: &Data, resource: usize, demands: &[i64], steps: &[(i32, i32)]) -> i32 {
    // Head, time that remains after the end, work.
    let mut tasks: Vec<(i32, i32, i64)> = data.users[resource]
        .iter()
        .zip(demands)
        .map(|((task, _), demand)| {
            let at = *task as usize;
            let work = demand * i64::from(data.duration[at]);
            (data.head[at], data.tail[at] - data.duration[at], work)
        })
        .collect();
    let mut heads: Vec<i32> = tasks.iter().map(|task| task.0).collect();
    heads.sort_unstable();
    heads.dedup();
    tasks.sort_unstable_by_key(|task| std::cmp::Reverse(task.1));
    let mut best = 0;
    for head in heads {
        let mut sum = 0;
        for task in tasks.iter().filter(|task| task.0 >= head && task.2 > 0) {
            sum += task.2;
            best = best.max(done_by(steps, head, sum).saturating_add(task.1));
        }
    }
    best
}

/// The first time by which a resource can have done so much work from `from` on; far off if it
/// never can.
fn done_by(steps: &[(i32, i32)], from: i32, work: i64) -> i32 {
    let mut left = work;
    for (at, (start, capacity)) in steps.iter().enumerate() {
        let start = i64::from((*start).max(from));
        let end = steps.get(at + 1).map_or(i64::MAX, |next| i64::from(next.0));
        let capacity = i64::from(*capacity);
        if end <= start || capacity == 0 {
            continue;
        }
        let needed = (left + capacity - 1) / capacity;
        if needed <= end - start {
            return (start + needed).min(i64::from(i32::MAX / 2)) as i32;
        }
        left -= (end - start) * capacity;
    }
    i32::MAX / 2
}
