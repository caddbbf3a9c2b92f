//! Bounds that are found at once, and which costs can come about at all.

use crate::instance::Instance;
use crate::lp::Rest;

/// The bound L2 for one kind of stock (S. Martello and P. Toth, "Lower bounds and reduction
/// procedures for the bin packing problem", Discrete Applied Mathematics 28, 1990); for several,
/// the length at the cheapest rate.
pub(crate) fn quick(inst: &Instance, rest: &Rest) -> i128 {
    let parts = || inst.size.iter().zip(&rest.demand);
    let total: i128 = parts().map(|(s, d)| i128::from(*s) * i128::from(*d)).sum();
    if !inst.is_plain() {
        let rates = inst.kinds.iter();
        return rates
            .map(|kind| (total * kind.cost).div_euclid(i128::from(kind.room)))
            .min()
            .unwrap_or(0);
    }
    let room = i128::from(inst.kinds[0].room);
    let mut best = (total + room - 1) / room;
    for small in inst
        .size
        .iter()
        .filter(|size| 2 * i128::from(**size) <= room)
    {
        let small = i128::from(*small);
        let (mut alone, mut half, mut half_sum, mut rest_sum) = (0, 0, 0, 0);
        for (size, demand) in parts() {
            let (size, demand) = (i128::from(*size), i128::from(*demand));
            if size > room - small {
                alone += demand;
            } else if 2 * size > room {
                half += demand;
                half_sum += size * demand;
            } else if size >= small {
                rest_sum += size * demand;
            }
        }
        let beyond = (rest_sum - (half * room - half_sum)).max(0);
        best = best.max(alone + half + (beyond + room - 1) / room);
    }
    best * inst.kinds[0].cost
}

/// The least cost not below `bound` that some choice of stocks has that are long enough for all.
pub(crate) fn attainable(inst: &Instance, bound: i128) -> i128 {
    let parts = inst.size.iter().zip(&inst.demand);
    let total: i128 = parts.map(|(s, d)| i128::from(*s) * i128::from(*d)).sum();
    let mut order: Vec<usize> = (0..inst.kinds.len()).collect();
    order.sort_by_key(|kind| std::cmp::Reverse(inst.kinds[*kind].cost));
    let mut choice = Choice {
        inst,
        order: &order,
        best: i128::MAX,
        left: MOST_CHOICES,
    };
    choice.go(0, bound.max(0), total);
    if choice.left == 0 || choice.best == i128::MAX {
        bound
    } else {
        choice.best
    }
}

const MOST_CHOICES: u32 = 300_000;

struct Choice<'a> {
    inst: &'a Instance,
    order: &'a [usize],
    best: i128,
    left: u32,
}

impl Choice<'_> {
    /// Leaves in `best` the least sum of costs that covers the cost `want` and the length `length`.
    fn go(&mut self, from: usize, want: i128, length: i128) {
        self.add(from, want, length, 0);
    }

    fn add(&mut self, from: usize, want: i128, length: i128, spent: i128) {
        if self.left == 0 {
            return;
        }
        self.left -= 1;
        if want <= 0 && length <= 0 {
            self.best = self.best.min(spent);
            return;
        }
        let Some(kind) = self.order.get(from) else {
            return;
        };
        if spent + want.max(0) >= self.best {
            return;
        }
        let kind = &self.inst.kinds[*kind];
        let room = i128::from(kind.room);
        let most =
            ((want.max(0) + kind.cost - 1) / kind.cost).max((length.max(0) + room - 1) / room);
        let most = most.min(i128::from(kind.most));
        let least = if from + 1 == self.order.len() {
            most
        } else {
            0
        };
        for count in (least..=most).rev() {
            let cost = count * kind.cost;
            self.add(from + 1, want - cost, length - count * room, spent + cost);
        }
    }
}
