//! Plans made at once: best fit decreasing, and fillings by prices that learn from what was left
//! over (sequential value correction: E. Mukhacheva, G. Belov, V. Kartak and A. Mukhacheva,
//! "Linear one-dimensional cutting-packing problems", Pesquisa Operacional 20, 2000).

use crate::dice::Dice;
use crate::instance::{Instance, Pattern, Plan};
use crate::knapsack::{Goods, Knapsack};
use crate::lp::Rest;
use crate::watch::Watch;
use std::collections::BTreeSet;

/// Each piece, the largest first, into the stock begun that has the least room for it; a new one,
/// where none has, of the kind that costs least for its room. Nothing if the stocks run out.
pub(crate) fn best_fit(inst: &Instance, rest: &Rest) -> Option<Plan> {
    let mut left = rest.most.clone();
    let mut open: Vec<(usize, Vec<(u32, u32)>)> = Vec::new();
    let mut room: BTreeSet<(u64, usize)> = BTreeSet::new();
    for (at, size) in inst.size.iter().enumerate() {
        for _ in 0..rest.demand[at] {
            let found = room.range((*size, 0)..).next().copied();
            let (had, bin) = match found {
                Some(place) => {
                    room.remove(&place);
                    place
                }
                None => {
                    let kinds = (0..inst.kinds.len())
                        .filter(|kind| left[*kind] > 0 && inst.kinds[*kind].room >= *size);
                    let rate =
                        |kind: usize| inst.kinds[kind].cost as f64 / inst.kinds[kind].room as f64;
                    let kind = kinds.min_by(|a, b| rate(*a).total_cmp(&rate(*b)))?;
                    left[kind] -= 1;
                    open.push((kind, Vec::new()));
                    (inst.kinds[kind].room, open.len() - 1)
                }
            };
            let rows = &mut open[bin].1;
            match rows.last_mut() {
                Some((row, count)) if *row == at as u32 => *count += 1,
                _ => rows.push((at as u32, 1)),
            }
            room.insert((had - size, bin));
        }
    }
    let plan = open
        .into_iter()
        .map(|(kind, rows)| (Pattern { kind, rows }, 1))
        .collect();
    Some(fitted(inst, &rest.most, plan))
}

/// Each filling moved to the cheapest stock that holds it, as far as there are any.
pub(crate) fn fitted(inst: &Instance, most: &[u64], plan: Plan) -> Plan {
    if inst.kinds.len() < 2 {
        return plan;
    }
    let mut left = most.to_vec();
    for (pattern, times) in &plan {
        left[pattern.kind] -= times;
    }
    let mut out: Plan = Vec::new();
    for (pattern, times) in plan {
        for _ in 0..times {
            let rows = pattern.rows.iter();
            let length: u64 = rows
                .map(|(row, count)| inst.size[*row as usize] * u64::from(*count))
                .sum();
            left[pattern.kind] += 1;
            let kinds = (0..inst.kinds.len())
                .filter(|kind| left[*kind] > 0 && inst.kinds[*kind].room >= length);
            let kind = kinds
                .min_by_key(|kind| inst.kinds[*kind].cost)
                .unwrap_or(pattern.kind);
            left[kind] -= 1;
            let rows = pattern.rows.clone();
            out.push((Pattern { kind, rows }, 1));
        }
    }
    out
}

/// Prices of the pieces, kept from one plan to the next.
pub(crate) struct Prices {
    price: Vec<f64>,
}

impl Prices {
    pub(crate) fn new(inst: &Instance) -> Prices {
        Prices {
            price: inst.size.iter().map(|size| *size as f64).collect(),
        }
    }

    pub(crate) fn from(worth: &[f64], inst: &Instance) -> Prices {
        let room = inst.kinds.first().map_or(1, |kind| kind.room) as f64;
        let sizes = worth.iter().zip(&inst.size);
        Prices {
            price: sizes
                .map(|(w, s)| (w * room).max(0.2 * *s as f64))
                .collect(),
        }
    }

    /// Fills stock after stock with what is worth most, and corrects the prices by what each
    /// filling leaves over. Nothing if stocks or time run out, or a cost of `below` is not to be
    /// had.
    pub(crate) fn plan(
        &mut self,
        inst: &Instance,
        rest: &Rest,
        knapsack: &mut Knapsack,
        dice: &mut Dice,
        watch: &mut Watch,
        below: i128,
    ) -> Option<Plan> {
        let most_at_first = rest.most.clone();
        let mut rest = rest.clone();
        let mut plan = Vec::new();
        let mut cost = 0;
        let power = 1.0 + dice.below(60) as f64 / 1000.0;
        while !rest.is_done() {
            let rows: Vec<usize> = (0..inst.rows()).filter(|at| rest.demand[*at] > 0).collect();
            let kinds: Vec<usize> = (0..inst.kinds.len())
                .filter(|kind| rest.most[*kind] > 0)
                .collect();
            let size: Vec<u64> = rows.iter().map(|at| inst.size[*at]).collect();
            let most: Vec<u64> = rows.iter().map(|at| rest.demand[*at]).collect();
            let worth: Vec<f64> = rows.iter().map(|at| self.price[*at]).collect();
            let rooms: Vec<u64> = kinds.iter().map(|kind| inst.kinds[*kind].room).collect();
            let goods = Goods {
                size: &size,
                most: &most,
                worth: &worth,
            };
            let before = knapsack.work;
            let fillings = knapsack.fill(&goods, &rooms, &vec![0.0; rooms.len()]);
            watch.spend((knapsack.work - before) / 8);
            if watch.is_out() {
                return None;
            }
            let rate = |at: usize| fillings[at].worth / inst.kinds[kinds[at]].cost as f64;
            let chosen = (0..kinds.len()).max_by(|a, b| rate(*a).total_cmp(&rate(*b)))?;
            let filling = &fillings[chosen];
            if filling.rows.is_empty() {
                return None;
            }
            let kind = kinds[chosen];
            let rows: Vec<(u32, u32)> = filling
                .rows
                .iter()
                .map(|(row, count)| (rows[*row as usize] as u32, *count))
                .collect();
            self.correct(inst, kind, &rows, &rest, power, dice);
            let pattern = Pattern { kind, rows };
            rest.cut(&pattern, 1);
            cost += inst.kinds[kind].cost;
            if cost >= below && inst.kinds.len() == 1 {
                return None;
            }
            plan.push((pattern, 1));
        }
        Some(fitted(inst, &most_at_first, plan))
    }

    fn correct(
        &mut self,
        inst: &Instance,
        kind: usize,
        rows: &[(u32, u32)],
        rest: &Rest,
        power: f64,
        dice: &mut Dice,
    ) {
        let room = inst.kinds[kind].room as f64;
        let used: f64 = rows
            .iter()
            .map(|(row, count)| inst.size[*row as usize] as f64 * f64::from(*count))
            .sum();
        let weight = room / used;
        for (row, count) in rows {
            let at = *row as usize;
            let left = (rest.demand[at] + inst.demand[at]) as f64 / f64::from(*count);
            let slow = (1.0 + dice.below(1000) as f64 / 1000.0) * left;
            let fresh = (inst.size[at] as f64).powf(power) * weight;
            self.price[at] = (slow * self.price[at] + fresh) / (slow + 1.0);
        }
    }
}
