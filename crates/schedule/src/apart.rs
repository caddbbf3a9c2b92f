//! Tasks that never run at the same time.

use crate::data::Data;

/// Two tasks.
pub(crate) type Two = (u32, u32);

/// Two tasks each that never share a moment for want of some resource, and may come in either
/// order; and two each of which the second starts only when the first has ended, by lags alone.
/// None if there are too many.
pub(crate) fn apart(data: &Data) -> (Vec<Two>, Vec<Two>) {
    if data.tasks > MOST_TASKS {
        return (Vec::new(), Vec::new());
    }
    let after = ordered(data);
    let in_order = |one: u32, two: u32| after[one as usize][two as usize];
    let mut apart = Vec::new();
    for (resource, users) in data.users.iter().enumerate() {
        let most = data.steps[resource].iter().map(|step| step.1).max();
        let most = most.unwrap_or(0);
        for (at, (one, demand)) in users.iter().enumerate() {
            for (two, other) in &users[at + 1..] {
                if demand + other > most && !in_order(*one, *two) && !in_order(*two, *one) {
                    apart.push((*one, *two));
                }
            }
        }
        if apart.len() > MOST_PAIRS {
            return (Vec::new(), Vec::new());
        }
    }
    apart.sort_unstable();
    apart.dedup();
    let tasks = 0..data.tasks as u32;
    let follow = tasks.clone().flat_map(|one| {
        let after = &after;
        let those = tasks.clone();
        those
            .filter(move |two| after[one as usize][*two as usize])
            .map(move |two| (one, two))
    });
    (apart, follow.collect())
}

/// By task: which others start only when it has ended, by lags alone.
fn ordered(data: &Data) -> Vec<Vec<bool>> {
    let mut after = vec![vec![false; data.tasks]; data.tasks];
    for task in data.order.iter().rev() {
        let at = *task as usize;
        let mut own = vec![false; data.tasks];
        for (next, least) in &data.ahead[at] {
            if *least >= data.duration[at] {
                own[*next as usize] = true;
                for (own, further) in own.iter_mut().zip(&after[*next as usize]) {
                    *own |= further;
                }
            }
        }
        after[at] = own;
    }
    after
}

/// More tasks than this make too many pairs.
const MOST_TASKS: usize = 2000;

/// More pairs than this are not worth their memory.
const MOST_PAIRS: usize = 50_000;
