//! What can be cut at once without losing the optimum; one kind of stock without end only
//! (S. Martello and P. Toth, "Knapsack problems", 1990, chapter 8).

use crate::instance::{Instance, Pattern, Plan};
use crate::lp::Rest;

/// Takes out of `rest` what is sure.
pub(crate) fn reduce(inst: &Instance, rest: &mut Rest) -> Plan {
    let mut plan = Vec::new();
    if !inst.is_plain() {
        return plan;
    }
    let room = inst.kinds[0].room;
    // Two that fill a stock exactly: whatever else either was with takes the place of the other.
    let (mut long, mut short) = (0, inst.rows());
    while long < short && short > 0 {
        let sum = inst.size[long] + inst.size[short - 1];
        if sum == room {
            let same = long == short - 1;
            let (a, b) = (rest.demand[long], rest.demand[short - 1]);
            let times = if same { a / 2 } else { a.min(b) };
            cut(rest, &mut plan, pair(long, short - 1), times);
        }
        if sum >= room {
            long += 1;
        }
        if sum <= room {
            short -= 1;
        }
    }
    while largest(inst, rest, &mut plan) {}
    plan
}

fn pair(one: usize, two: usize) -> Vec<(u32, u32)> {
    if one == two {
        vec![(one as u32, 2)]
    } else {
        vec![(one as u32, 1), (two as u32, 1)]
    }
}

fn cut(rest: &mut Rest, plan: &mut Plan, rows: Vec<(u32, u32)>, times: u64) {
    if times > 0 {
        let pattern = Pattern { kind: 0, rows };
        rest.cut(&pattern, times);
        plan.push((pattern, times));
    }
}

/// The largest piece, if at most one other fits beside it: it takes the largest that does.
fn largest(inst: &Instance, rest: &mut Rest, plan: &mut Plan) -> bool {
    let room = inst.kinds[0].room;
    let Some(top) = (0..inst.rows()).find(|at| rest.demand[*at] > 0) else {
        return false;
    };
    let free = room - inst.size[top];
    let mut left = rest.demand.clone();
    left[top] -= 1;
    let mut small = (0..inst.rows()).rev().flat_map(|at| {
        let count = left[at].min(2) as usize;
        std::iter::repeat_n(inst.size[at], count)
    });
    let (first, second) = (small.next(), small.next());
    if first.is_some_and(|first| second.is_some_and(|second| first + second <= free)) {
        return false;
    }
    let fits = (0..inst.rows()).find(|at| left[*at] > 0 && inst.size[*at] <= free);
    match fits {
        None => cut(rest, plan, vec![(top as u32, 1)], 1),
        Some(other) => cut(rest, plan, pair(top, other), 1),
    }
    true
}
