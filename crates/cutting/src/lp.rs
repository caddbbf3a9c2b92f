//! The linear relaxation over patterns (Gilmore and Gomory, "A linear programming approach to the
//! cutting-stock problem", Operations Research 9, 1961): a revised simplex whose columns are made
//! when needed, by filling stocks with what the prices of the moment make worth most.

use crate::instance::{Instance, Pattern};
use crate::knapsack::{Filling, Goods, Knapsack, most_worth};
use crate::pool::Pool;
use crate::watch::Watch;

/// What is still to be cut, and how many of each kind of stock are left.
#[derive(Clone, Debug)]
pub(crate) struct Rest {
    pub(crate) demand: Vec<u64>,
    pub(crate) most: Vec<u64>,
}

impl Rest {
    pub(crate) fn of(inst: &Instance) -> Rest {
        Rest {
            demand: inst.demand.clone(),
            most: inst.kinds.iter().map(|kind| kind.most).collect(),
        }
    }

    pub(crate) fn is_done(&self) -> bool {
        self.demand.iter().all(|demand| *demand == 0)
    }

    /// How often a pattern can still be cut.
    pub(crate) fn times(&self, pattern: &Pattern) -> u64 {
        let rows = pattern.rows.iter();
        rows.map(|(row, count)| self.demand[*row as usize] / u64::from(*count))
            .fold(self.most[pattern.kind], u64::min)
    }

    pub(crate) fn cut(&mut self, pattern: &Pattern, times: u64) {
        for (row, count) in &pattern.rows {
            self.demand[*row as usize] -= u64::from(*count) * times;
        }
        self.most[pattern.kind] -= times;
    }
}

/// What fills a place of the basis.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Column {
    /// Number in the pool.
    Pattern(usize),
    /// More pieces than wanted, or fewer stocks than there are.
    Slack(usize),
    /// Pieces from nowhere, at a high price.
    Nowhere(usize),
}

/// What the relaxation came to.
pub(crate) struct Relaxed {
    /// In the unit of the dearest kind.
    pub(crate) value: f64,
    /// Pattern and how often, above zero only.
    pub(crate) used: Vec<(usize, f64)>,
    /// Worth of a piece of each size.
    pub(crate) worth: Vec<f64>,
    /// Whether some pieces came from nowhere.
    pub(crate) short: bool,
}

pub(crate) struct Simplex<'a> {
    inst: &'a Instance,
    /// Sizes that are still wanted.
    rows: Vec<usize>,
    /// By size: its row.
    row_of: Vec<usize>,
    /// Kinds that have a row of their own, because they are limited.
    limits: Vec<usize>,
    size: usize,
    basis: Vec<Column>,
    inverse: Vec<f64>,
    x: Vec<f64>,
    dual: Vec<f64>,
    /// Costs are in units of the dearest kind.
    scale: f64,
    rest: &'a Rest,
}

const NONE: usize = usize::MAX;
const EPS: f64 = 1e-9;
/// A piece from nowhere costs as much as so many of the dearest stock.
const NOWHERE: f64 = 4.0;
const REFACTOR: usize = 150;

impl<'a> Simplex<'a> {
    pub(crate) fn new(inst: &'a Instance, rest: &'a Rest) -> Simplex<'a> {
        let rows: Vec<usize> = (0..inst.rows()).filter(|at| rest.demand[*at] > 0).collect();
        let mut row_of = vec![NONE; inst.rows()];
        rows.iter()
            .enumerate()
            .for_each(|(row, at)| row_of[*at] = row);
        let limits: Vec<usize> = (0..inst.kinds.len())
            .filter(|kind| inst.kinds[*kind].limited)
            .collect();
        let size = rows.len() + limits.len();
        let scale = inst.kinds.iter().map(|kind| kind.cost).max().unwrap_or(1) as f64;
        let mut inverse = vec![0.0; size * size];
        (0..size).for_each(|at| inverse[at * size + at] = 1.0);
        let pieces = rows.iter().map(|at| rest.demand[*at] as f64);
        let stocks = limits.iter().map(|kind| rest.most[*kind] as f64);
        let basis = (0..size).map(|at| {
            if at < rows.len() {
                Column::Nowhere(at)
            } else {
                Column::Slack(at)
            }
        });
        Simplex {
            inst,
            x: pieces.chain(stocks).collect(),
            basis: basis.collect(),
            row_of,
            limits,
            size,
            inverse,
            dual: vec![0.0; size],
            scale,
            rows,
            rest,
        }
    }

    fn cost(&self, column: Column, pool: &Pool) -> f64 {
        match column {
            Column::Pattern(at) => self.inst.kinds[pool.get(at).kind].cost as f64 / self.scale,
            Column::Slack(_) => 0.0,
            Column::Nowhere(_) => NOWHERE,
        }
    }

    fn entries(&self, column: Column, pool: &Pool, out: &mut Vec<(usize, f64)>) {
        out.clear();
        match column {
            Column::Pattern(at) => {
                let pattern = pool.get(at);
                let rows = pattern.rows.iter();
                out.extend(rows.map(|(at, count)| (self.row_of[*at as usize], f64::from(*count))));
                let limit = self.limits.iter().position(|kind| *kind == pattern.kind);
                out.extend(limit.map(|limit| (self.rows.len() + limit, 1.0)));
            }
            Column::Slack(row) if row < self.rows.len() => out.push((row, -1.0)),
            Column::Slack(row) | Column::Nowhere(row) => out.push((row, 1.0)),
        }
    }

    fn reprice(&mut self, pool: &Pool) {
        self.dual.fill(0.0);
        for at in 0..self.size {
            let cost = self.cost(self.basis[at], pool);
            if cost != 0.0 {
                let row = &self.inverse[at * self.size..][..self.size];
                for (dual, entry) in self.dual.iter_mut().zip(row) {
                    *dual += cost * entry;
                }
            }
        }
    }

    /// Puts a column into the basis. False if that leads nowhere.
    fn enter(&mut self, column: Column, pool: &Pool, entries: &mut Vec<(usize, f64)>) -> bool {
        self.entries(column, pool, entries);
        let size = self.size;
        let mut up = vec![0.0; size];
        for (at, up) in up.iter_mut().enumerate() {
            let row = &self.inverse[at * size..][..size];
            *up = entries.iter().map(|(e, value)| row[*e] * value).sum();
        }
        let mut out = NONE;
        let mut least = f64::INFINITY;
        for (at, up_at) in up.iter().copied().enumerate() {
            if up_at > 1e-7 {
                let ratio = self.x[at].max(0.0) / up_at;
                let better = ratio < least - 1e-10
                    || ratio <= least + 1e-10 && out != NONE && up_at > up[out];
                if better {
                    least = least.min(ratio);
                    out = at;
                }
            }
        }
        if out == NONE {
            return false;
        }
        let step = self.x[out].max(0.0) / up[out];
        let pivot = 1.0 / up[out];
        let mut lead = self.inverse[out * size..][..size].to_vec();
        lead.iter_mut().for_each(|entry| *entry *= pivot);
        for (at, by) in up.iter().copied().enumerate() {
            if at != out && by.abs() > 1e-12 {
                let row = &mut self.inverse[at * size..][..size];
                for (entry, lead) in row.iter_mut().zip(&lead) {
                    *entry -= by * lead;
                }
                self.x[at] -= step * by;
            }
        }
        self.inverse[out * size..][..size].copy_from_slice(&lead);
        self.x[out] = step;
        self.basis[out] = column;
        true
    }

    /// Makes the inverse anew from the columns, against what rounding has added up to.
    fn refactor(&mut self, pool: &Pool) {
        let size = self.size;
        let mut entries = Vec::new();
        let mut matrix = vec![0.0; size * size];
        for at in 0..size {
            self.entries(self.basis[at], pool, &mut entries);
            for (row, value) in &entries {
                matrix[row * size + at] = *value;
            }
        }
        let Some(inverse) = inverted(matrix, size) else {
            return;
        };
        self.inverse = inverse;
        let rest = self.rest;
        let pieces = self.rows.iter().map(|at| rest.demand[*at] as f64);
        let stocks = self.limits.iter().map(|kind| rest.most[*kind] as f64);
        let right: Vec<f64> = pieces.chain(stocks).collect();
        for at in 0..size {
            let row = &self.inverse[at * size..][..size];
            self.x[at] = row.iter().zip(&right).map(|(a, b)| a * b).sum();
        }
    }

    fn value(&self, pool: &Pool) -> f64 {
        let parts = self.x.iter().zip(&self.basis);
        parts.map(|(x, column)| x * self.cost(*column, pool)).sum()
    }

    /// Solves the relaxation, or stops when its value can no longer tell anything new: `enough`
    /// is asked with a lower bound and the value.
    pub(crate) fn solve(
        mut self,
        pool: &mut Pool,
        knapsack: &mut Knapsack,
        watch: &mut Watch,
        enough: &dyn Fn(f64, f64) -> bool,
    ) -> Relaxed {
        let mut entries = Vec::new();
        let mut usable: Vec<usize> = (0..pool.len())
            .filter(|at| self.rest.times(pool.get(*at)) > 0)
            .collect();
        for turn in 1.. {
            self.reprice(pool);
            watch.spend((self.size * self.size / 4 + usable.len()) as u64);
            if watch.is_out() {
                break;
            }
            let column = self
                .slack()
                .or_else(|| self.pooled(pool, &usable))
                .or_else(|| {
                    let (fillings, value) = (self.fill(knapsack, watch), self.value(pool));
                    self.admit(fillings, value, pool, &mut usable, enough)
                });
            let Some(column) = column else {
                break;
            };
            if !self.enter(column, pool, &mut entries) {
                break;
            }
            if turn % REFACTOR == 0 {
                self.refactor(pool);
            }
            if turn > 200 + 60 * self.size {
                break;
            }
        }
        self.answer(pool)
    }

    fn slack(&self) -> Option<Column> {
        let pieces = self.rows.len();
        let gain = |row: usize| {
            if row < pieces {
                -self.dual[row]
            } else {
                self.dual[row]
            }
        };
        let best = (0..self.size).max_by(|a, b| gain(*a).total_cmp(&gain(*b)))?;
        (gain(best) > EPS).then_some(Column::Slack(best))
    }

    fn pooled(&self, pool: &Pool, usable: &[usize]) -> Option<Column> {
        let (mut best, mut gain) = (NONE, 1e-7);
        for at in usable {
            let pattern = pool.get(*at);
            let worth: f64 = pattern
                .rows
                .iter()
                .map(|(row, count)| self.dual[self.row_of[*row as usize]] * f64::from(*count))
                .sum();
            let by = worth - self.floor(pattern.kind);
            if by > gain {
                (best, gain) = (*at, by);
            }
        }
        (best != NONE).then_some(Column::Pattern(best))
    }

    /// What a filling of a kind must be worth to pay.
    fn floor(&self, kind: usize) -> f64 {
        let limit = self.limits.iter().position(|limit| *limit == kind);
        let dual = limit.map_or(0.0, |limit| self.dual[self.rows.len() + limit]);
        self.inst.kinds[kind].cost as f64 / self.scale - dual
    }

    fn fill(&self, knapsack: &mut Knapsack, watch: &mut Watch) -> Vec<Filling> {
        let size: Vec<u64> = self.rows.iter().map(|at| self.inst.size[*at]).collect();
        let most: Vec<u64> = self.rows.iter().map(|at| self.rest.demand[*at]).collect();
        let rooms: Vec<u64> = self.inst.kinds.iter().map(|kind| kind.room).collect();
        let floors: Vec<f64> = (0..rooms.len())
            .map(|kind| self.floor(kind) + 1e-8)
            .collect();
        let goods = Goods {
            size: &size,
            most: &most,
            worth: &self.dual[..self.rows.len()],
        };
        let before = knapsack.work;
        let fillings = knapsack.fill(&goods, &rooms, &floors);
        watch.spend((knapsack.work - before) / 8);
        fillings
    }

    /// Takes the fillings that pay into the pool, and gives the best of them.
    fn admit(
        &self,
        fillings: Vec<Filling>,
        value: f64,
        pool: &mut Pool,
        usable: &mut Vec<usize>,
        enough: &dyn Fn(f64, f64) -> bool,
    ) -> Option<Column> {
        if self.limits.is_empty() && fillings.iter().all(|filling| filling.most) {
            // The prices, made so much smaller that no filling pays, bound from below (Farley,
            // "A note on bounding a class of linear programming problems", 1990).
            let over = fillings
                .iter()
                .enumerate()
                .map(|(kind, f)| f.worth / self.floor(kind));
            let over = over.fold(1.0, f64::max);
            if enough(value / over, value) {
                return None;
            }
        }
        let (mut best, mut gain) = (NONE, EPS * 10.0);
        for (kind, filling) in fillings.into_iter().enumerate() {
            let by = filling.worth - self.floor(kind);
            if by <= EPS * 10.0 || self.rest.most[kind] == 0 {
                continue;
            }
            let rows = filling.rows.iter();
            let rows = rows.map(|(row, count)| (self.rows[*row as usize] as u32, *count));
            let pattern = Pattern {
                kind,
                rows: rows.collect(),
            };
            let (at, new) = pool.add(pattern);
            if new {
                usable.push(at);
            }
            if by > gain {
                (best, gain) = (at, by);
            }
        }
        (best != NONE).then_some(Column::Pattern(best))
    }

    fn answer(self, pool: &Pool) -> Relaxed {
        let mut worth = vec![0.0; self.inst.rows()];
        for (row, at) in self.rows.iter().enumerate() {
            worth[*at] = self.dual[row].max(0.0);
        }
        let mut used = Vec::new();
        let mut short = false;
        for (column, x) in self.basis.iter().zip(&self.x) {
            match column {
                Column::Pattern(at) if *x > 1e-7 => used.push((*at, *x)),
                Column::Nowhere(_) if *x > 1e-6 => short = true,
                _ => {}
            }
        }
        Relaxed {
            value: self.value(pool),
            used,
            worth,
            short,
        }
    }
}

/// Gauss and Jordan with row pivots; nothing if there is no inverse.
fn inverted(mut matrix: Vec<f64>, size: usize) -> Option<Vec<f64>> {
    let mut inverse = vec![0.0; size * size];
    (0..size).for_each(|at| inverse[at * size + at] = 1.0);
    for at in 0..size {
        let lead = (at..size).max_by(|a, b| {
            let entry = |row: usize| matrix[row * size + at].abs();
            entry(*a).total_cmp(&entry(*b))
        })?;
        if matrix[lead * size + at].abs() < 1e-9 {
            return None;
        }
        if lead != at {
            for column in 0..size {
                matrix.swap(lead * size + column, at * size + column);
                inverse.swap(lead * size + column, at * size + column);
            }
        }
        let by = 1.0 / matrix[at * size + at];
        for column in 0..size {
            matrix[at * size + column] *= by;
            inverse[at * size + column] *= by;
        }
        let (m, i) = (
            matrix[at * size..][..size].to_vec(),
            inverse[at * size..][..size].to_vec(),
        );
        for row in 0..size {
            let by = matrix[row * size + at];
            if row != at && by != 0.0 {
                for column in 0..size {
                    matrix[row * size + column] -= by * m[column];
                    inverse[row * size + column] -= by * i[column];
                }
            }
        }
    }
    Some(inverse)
}

/// Worths in whole numbers, and what they prove.
pub(crate) struct Dual {
    /// By size.
    pub(crate) worth: Vec<u64>,
    /// One unit of cost is `top / bottom` of worth.
    pub(crate) top: i128,
    pub(crate) bottom: i128,
    /// By kind: by how much the best filling is worth more than it costs, times `bottom`; 0 for
    /// kinds without end.
    pub(crate) beyond: Vec<i128>,
    /// `top` times a cost that no plan is below.
    pub(crate) value: i128,
}

impl Dual {
    /// No plan costs less.
    pub(crate) fn bound(&self) -> i128 {
        (self.value.max(0) + self.top - 1) / self.top
    }
}

/// What no plan for the whole can cost less than, given what each size is worth: the worths are
/// rounded to whole numbers and all fillings tried in whole numbers, so that no rounding of the
/// simplex can make it too large.
pub(crate) fn proven(inst: &Instance, worth: &[f64], spent: &mut u64) -> Dual {
    let whole: Vec<u64> = worth
        .iter()
        .map(|worth| (worth.clamp(0.0, 2.0 * NOWHERE) * WHOLE) as u64)
        .collect();
    let rooms: Vec<u64> = inst.kinds.iter().map(|kind| kind.room).collect();
    let most = most_worth(&inst.size, &inst.demand, &whole, &rooms, spent);
    let kinds = || inst.kinds.iter().zip(&most);
    // As little worth for a unit of cost as the kinds without end allow.
    let dearest = inst.kinds.iter().map(|kind| kind.cost).max().unwrap_or(1);
    let (mut top, mut bottom) = (WHOLE as i128, dearest);
    for (kind, most) in kinds().filter(|(kind, _)| !kind.limited) {
        if i128::from(*most) * bottom > top * kind.cost {
            (top, bottom) = (i128::from(*most), kind.cost);
        }
    }
    let parts = whole.iter().zip(&inst.demand);
    let sum: i128 = parts.map(|(w, d)| i128::from(*w) * i128::from(*d)).sum();
    let mut value = sum * bottom;
    let mut beyond = vec![0; most.len()];
    for (at, (kind, most)) in kinds().enumerate() {
        let over = i128::from(*most) * bottom - top * kind.cost;
        if kind.limited && over > 0 {
            beyond[at] = over;
            // Too large for the type means that the estimate was of no use.
            let all = over.checked_mul(i128::from(kind.most));
            value = all.and_then(|all| value.checked_sub(all)).unwrap_or(0);
        }
    }
    Dual {
        worth: whole,
        top,
        bottom,
        beyond,
        value,
    }
}

/// Into how many parts the cost of the dearest kind is divided.
const WHOLE: f64 = 4_294_967_296.0;
