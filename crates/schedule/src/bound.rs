//! Lower bounds that are found at once: longest ways, and the work that a resource has to do
//! between the earliest start of some tasks and the shortest tail of them.

use crate::data::Data;

/// No schedule is shorter.
pub(crate) fn bound(data: &Data) -> i32 {
    let ways = (0..data.tasks).map(|task| data.head[task] + data.tail[task]);
    let ways = ways.max().unwrap_or(0);
    let work = (0..data.users.len()).map(|resource| work_bound(data, resource));
    work.max().unwrap_or(0).max(ways)
}

fn work_bound(data: &Data, resource: usize) -> i32 {
    // Head, time that remains after the end, work.
    let mut tasks: Vec<(i32, i32, i64)> = data.users[resource]
        .iter()
        .map(|(task, demand)| {
            let at = *task as usize;
            let work = i64::from(*demand) * i64::from(data.duration[at]);
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
        for task in tasks.iter().filter(|task| task.0 >= head) {
            sum += task.2;
            best = best.max(done_by(&data.steps[resource], head, sum).saturating_add(task.1));
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
