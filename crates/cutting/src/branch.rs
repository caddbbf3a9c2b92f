//! Tries everything that can still be better: stock after stock is filled with the largest piece
//! left and others, as long as what the fillings cost beyond the worth of their pieces, all
//! together, stays below what the best plan costs beyond the bound.

use crate::instance::{Instance, Pattern, Plan};
use crate::lp::{Dual, Rest};
use crate::watch::Watch;
use std::collections::BTreeMap;

/// How a search ended.
pub(crate) enum End {
    /// A better plan.
    Found(Plan),
    /// There is no better plan.
    None,
    /// Neither within the nodes.
    Open,
}

/// Looks for a plan that costs less than `below`.
pub(crate) fn search(
    inst: &Instance,
    rest: &Rest,
    dual: &Dual,
    below: i128,
    nodes: u64,
    watch: &mut Watch,
) -> End {
    let Some(most) = (below - 1).checked_mul(dual.top) else {
        return End::Open;
    };
    let mut search = Search {
        inst,
        dual,
        plan: Vec::new(),
        failed: BTreeMap::new(),
        left: nodes,
        watch,
    };
    let mut rest = rest.clone();
    let found = search.go(&mut rest, most - dual.value);
    if found {
        End::Found(search.plan)
    } else if search.left == 0 {
        End::Open
    } else {
        End::None
    }
}

struct Search<'a, 'b> {
    inst: &'a Instance,
    dual: &'a Dual,
    plan: Plan,
    /// Pieces and stocks left that led nowhere, with the slack that was there.
    failed: BTreeMap<(Vec<u64>, Vec<u64>), i128>,
    left: u64,
    watch: &'a mut Watch<'b>,
}

/// A filling and what it costs beyond the worth of its pieces.
struct Choice {
    over: i128,
    pattern: Pattern,
}

impl Search<'_, '_> {
    fn go(&mut self, rest: &mut Rest, slack: i128) -> bool {
        let Some(first) = rest.demand.iter().position(|demand| *demand > 0) else {
            // The bound counts on every stock of a limited kind that is worth more than it costs.
            let unused = self.dual.beyond.iter().zip(&rest.most);
            let unused: i128 = unused.map(|(over, left)| over * i128::from(*left)).sum();
            return slack >= unused;
        };
        if slack < 0 || self.left == 0 {
            return false;
        }
        self.left -= 1;
        self.watch.spend(50 + rest.demand.len() as u64);
        if self.watch.is_out() {
            self.left = 0;
            return false;
        }
        let key = (rest.demand.clone(), rest.most.clone());
        if self.failed.get(&key).is_some_and(|had| *had >= slack) {
            return false;
        }
        let mut choices = Vec::new();
        for kind in 0..self.inst.kinds.len() {
            if rest.most[kind] > 0 && self.inst.kinds[kind].room >= self.inst.size[first] {
                self.fillings(rest, first, kind, slack, &mut choices);
            }
        }
        choices
            .sort_by(|a: &Choice, b| a.over.cmp(&b.over).then_with(|| a.pattern.cmp(&b.pattern)));
        for choice in choices {
            rest.cut(&choice.pattern, 1);
            let found = self.go(rest, slack - choice.over);
            for (row, count) in &choice.pattern.rows {
                rest.demand[*row as usize] += u64::from(*count);
            }
            rest.most[choice.pattern.kind] += 1;
            if found {
                self.plan.push((choice.pattern, 1));
                return true;
            }
            if self.left == 0 {
                return false;
            }
        }
        self.failed.insert(key, slack);
        false
    }

    /// All fillings of a kind with the piece `first` that leave slack.
    fn fillings(
        &mut self,
        rest: &Rest,
        first: usize,
        kind: usize,
        slack: i128,
        out: &mut Vec<Choice>,
    ) {
        let (inst, dual) = (self.inst, self.dual);
        let price = dual.top * inst.kinds[kind].cost + dual.beyond[kind];
        // What must be worth at least so much, in units of worth.
        let need = (price - slack).div_euclid(dual.bottom);
        let rows: Vec<usize> = (first..inst.rows())
            .filter(|at| rest.demand[*at] > 0 && inst.size[*at] <= inst.kinds[kind].room)
            .collect();
        // The best worth for a length, from each place on.
        let mut rate = vec![0.0f64; rows.len() + 1];
        for at in (0..rows.len()).rev() {
            let own = dual.worth[rows[at]] as f64 / inst.size[rows[at]] as f64;
            rate[at] = rate[at + 1].max(own * (1.0 + 1e-9));
        }
        let mut filler = Filler {
            inst,
            dual,
            rest,
            rows: &rows,
            rate: &rate,
            need,
            counts: vec![0; rows.len()],
            left: &mut self.left,
            out: Vec::new(),
        };
        filler.go(0, inst.kinds[kind].room, 0);
        for (counts, worth) in filler.out {
            let rows = rows.iter().zip(counts).filter(|(_, count)| *count > 0);
            let rows = rows.map(|(row, count)| (*row as u32, count)).collect();
            let over = price - worth * dual.bottom;
            if over <= slack {
                let pattern = Pattern { kind, rows };
                out.push(Choice { over, pattern });
            }
        }
    }
}

struct Filler<'a> {
    inst: &'a Instance,
    dual: &'a Dual,
    rest: &'a Rest,
    rows: &'a [usize],
    rate: &'a [f64],
    need: i128,
    counts: Vec<u32>,
    left: &'a mut u64,
    out: Vec<(Vec<u32>, i128)>,
}

impl Filler<'_> {
    fn go(&mut self, at: usize, room: u64, worth: i128) {
        if *self.left == 0 {
            return;
        }
        if at == self.rows.len() {
            if worth >= self.need {
                self.out.push((self.counts.clone(), worth));
            }
            return;
        }
        let ceiling = (self.rate[at] * room as f64) as i128 + 1;
        if worth + ceiling < self.need {
            return;
        }
        *self.left -= 1;
        let row = self.rows[at];
        let (size, one) = (self.inst.size[row], i128::from(self.dual.worth[row]));
        let most = (room / size).min(self.rest.demand[row]) as u32;
        let least = u32::from(at == 0);
        for count in (least..=most).rev() {
            self.counts[at] = count;
            self.go(
                at + 1,
                room - u64::from(count) * size,
                worth + one * i128::from(count),
            );
        }
        self.counts[at] = 0;
    }
}
