//! A linear program that grows by rows: least cost of variables `x >= 0` with rows `a x >= b`,
//! costs not negative. Solved by the dual simplex method (C. E. Lemke, "The dual method of solving
//! the linear programming problem", Naval Research Logistics Quarterly 1, 1954), always continuing
//! from the last basis. Only the part of the basis without the rows' own slacks is inverted.

use crate::grow::NONE;
use crate::single::inverse::Inverse;
use crate::single::watch::Watch;

/// A row: the variables with coefficient 1, those with -1, and the right-hand side.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub plus: Vec<u32>,
    pub minus: Vec<u32>,
    pub least: f64,
}

/// The program and its present basis.
#[derive(Clone, Debug)]
pub(crate) struct Simplex {
    cost: Vec<f64>,
    /// Variables that must be 0.
    pub shut: Vec<bool>,
    /// Reduced cost per variable.
    pub reduced: Vec<f64>,
    pub rows: Vec<Row>,
    /// Per variable, the rows it is in, with its coefficient.
    columns: Vec<Vec<(u32, f64)>>,
    /// Basic variables, and per variable its place among them.
    basic: Vec<u32>,
    place: Vec<u32>,
    value: Vec<f64>,
    /// Tight rows, per row its place among them, and their prices.
    tight: Vec<u32>,
    spot: Vec<u32>,
    price: Vec<f64>,
    /// Per row, `a x`.
    left: Vec<f64>,
    /// Steepness of each row and of each basic variable, as last worked out.
    steep: Vec<f64>,
    slope: Vec<f64>,
    inverse: Inverse,
    alpha: Vec<f64>,
    touched: Vec<u32>,
    marked: Vec<bool>,
    since: usize,
    pub pivots: usize,
    pub dense: u64,
    pub full: u64,
}

/// How solving ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Solved {
    Best,
    /// No solution.
    None,
    /// Broken off, or given up because of rounding.
    Broken,
}

#[derive(Clone, Copy, Debug)]
enum Leave {
    Row(u32),
    /// Place of a basic variable, and whether it must rise (1) or fall (-1) to 0.
    Basic(usize, f64),
}

#[derive(Clone, Copy, Debug)]
enum Enter {
    Variable(u32),
    /// Slack of the tight row at this place.
    Slack(usize),
}

const FEASIBLE: f64 = 1e-7;
const PIVOT: f64 = 1e-7;
/// How many broken rows and variables are looked at closely per pivot.
const CLOSER: usize = 12;
/// Pivots between two checks of the rounding.
const CHECK: usize = 100;

impl Simplex {
    /// No rows; `cost` in units in which a typical cost is about 1.
    pub fn new(cost: Vec<f64>, shut: Vec<bool>) -> Simplex {
        let len = cost.len();
        Simplex {
            reduced: cost.clone(),
            cost,
            shut,
            rows: Vec::new(),
            columns: vec![Vec::new(); len],
            basic: Vec::new(),
            place: vec![NONE; len],
            value: Vec::new(),
            tight: Vec::new(),
            spot: Vec::new(),
            price: Vec::new(),
            left: Vec::new(),
            steep: Vec::new(),
            slope: Vec::new(),
            inverse: Inverse::default(),
            alpha: vec![0.0; len],
            touched: Vec::new(),
            marked: vec![false; len],
            since: 0,
            pivots: 0,
            dense: 0,
            full: 0,
        }
    }

    pub fn add(&mut self, row: Row) {
        let id = self.rows.len() as u32;
        for (list, sign) in [(&row.plus, 1.0), (&row.minus, -1.0)] {
            for variable in list {
                self.columns[*variable as usize].push((id, sign));
            }
        }
        self.left.push(self.activity(&row));
        self.spot.push(NONE);
        self.steep.push(1.0);
        self.rows.push(row);
    }

    fn activity(&self, row: &Row) -> f64 {
        let sum = |list: &[u32]| list.iter().map(|v| self.x(*v)).sum::<f64>();
        sum(&row.plus) - sum(&row.minus)
    }

    pub fn x(&self, variable: u32) -> f64 {
        match self.place[variable as usize] {
            NONE => 0.0,
            at => self.value[at as usize],
        }
    }

    /// Variables that may be above 0.
    pub fn support(&self) -> impl Iterator<Item = (u32, f64)> + '_ {
        self.basic.iter().copied().zip(self.value.iter().copied())
    }

    /// Rows with their price.
    pub fn prices(&self) -> impl Iterator<Item = (&Row, f64)> + '_ {
        let rows = self.tight.iter().map(|row| &self.rows[*row as usize]);
        rows.zip(self.price.iter().copied())
    }

    /// The prices that the present basis has at other costs.
    pub fn prices_at(&self, cost: impl Fn(u32) -> f64) -> Vec<f64> {
        let mut prices = vec![0.0; self.tight.len()];
        for (place, variable) in self.basic.iter().enumerate() {
            self.inverse.add_row(place, cost(*variable), &mut prices);
        }
        prices
    }

    pub fn worth(&self) -> f64 {
        self.prices().map(|(row, price)| row.least * price).sum()
    }

    /// Drops rows that are not tight and have some room.
    pub fn drop_loose(&mut self, room: f64) {
        let keep: Vec<bool> = (0..self.rows.len())
            .map(|row| self.spot[row] != NONE || self.left[row] < self.rows[row].least + room)
            .collect();
        let mut number = vec![NONE; self.rows.len()];
        let mut count = 0;
        for (row, keep) in keep.iter().enumerate() {
            if *keep {
                number[row] = count;
                count += 1;
            }
        }
        let mut kept = keep.iter();
        self.rows.retain(|_| *kept.next().unwrap_or(&true));
        let mut kept = keep.iter();
        self.spot.retain(|_| *kept.next().unwrap_or(&true));
        let mut kept = keep.iter();
        self.left.retain(|_| *kept.next().unwrap_or(&true));
        let mut kept = keep.iter();
        self.steep.retain(|_| *kept.next().unwrap_or(&true));
        for row in &mut self.tight {
            *row = number[*row as usize];
        }
        for column in &mut self.columns {
            column.retain_mut(|(row, _)| {
                *row = number[*row as usize];
                *row != NONE
            });
        }
    }

    /// Pivots until no row is broken.
    pub fn solve(&mut self, watch: &mut Watch) -> Solved {
        let mut trouble = 0;
        loop {
            if self.since >= CHECK {
                if !self.refresh() {
                    return Solved::Broken;
                }
                self.since = 0;
            }
            let Some((leave, rho)) = self.leaving(watch) else {
                if self.since == 0 {
                    return Solved::Best;
                }
                self.since = CHECK;
                continue;
            };
            match self.pivot(leave, rho, watch) {
                Some(true) => trouble = 0,
                Some(false) => return Solved::None,
                None => {
                    trouble += 1;
                    self.since = CHECK;
                    if trouble > 3 {
                        return Solved::Broken;
                    }
                }
            }
            if watch.out() {
                return Solved::Broken;
            }
        }
    }

    /// What is broken most for its steepness (J. J. Forrest and D. Goldfarb, "Steepest-edge simplex
    /// algorithms for linear programming", Mathematical Programming 57, 1992). The steepness is
    /// worked out for the few that look worst by the last value known.
    fn leaving(&mut self, watch: &mut Watch) -> Option<(Leave, Vec<f64>)> {
        let mut list: Vec<(f64, Leave)> = Vec::new();
        for (row, left) in self.left.iter().enumerate() {
            let by = self.rows[row].least - left;
            if by > FEASIBLE && self.spot[row] == NONE {
                list.push((by * by / self.steep[row], Leave::Row(row as u32)));
            }
        }
        for (place, value) in self.value.iter().enumerate() {
            let sign = if *value < -FEASIBLE {
                1.0
            } else if *value > FEASIBLE && self.shut[self.basic[place] as usize] {
                -1.0
            } else {
                continue;
            };
            list.push((value * value / self.slope[place], Leave::Basic(place, sign)));
        }
        if list.len() > CLOSER {
            list.select_nth_unstable_by(CLOSER, |a, b| b.0.total_cmp(&a.0));
            list.truncate(CLOSER);
        }
        list.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut best: Option<(f64, Leave, Vec<f64>)> = None;
        for (rough, leave) in list {
            let rho = self.row_of(leave);
            let norm: f64 = rho.iter().map(|entry| entry * entry).sum();
            watch.tick(rho.len() as u64 / 8);
            let rank = match leave {
                Leave::Row(row) => {
                    let steep = &mut self.steep[row as usize];
                    let rank = rough * *steep / (1.0 + norm);
                    *steep = 1.0 + norm;
                    rank
                }
                Leave::Basic(place, _) => {
                    let slope = &mut self.slope[place];
                    let rank = rough * *slope / norm.max(1e-9);
                    *slope = norm.max(1e-9);
                    rank
                }
            };
            if best.as_ref().is_none_or(|best| rank > best.0) {
                best = Some((rank, leave, rho));
            }
        }
        best.map(|(_, leave, rho)| (leave, rho))
    }

    /// One pivot. `Some(false)` if nothing can enter, so that there is no solution; `None` if
    /// rounding makes the pivot worthless.
    fn pivot(&mut self, leave: Leave, rho: Vec<f64>, watch: &mut Watch) -> Option<bool> {
        let sign = match leave {
            Leave::Row(_) => 1.0,
            Leave::Basic(_, sign) => sign,
        };
        self.expand(leave, &rho, watch);
        let Some((enter, ratio)) = self.entering(leave, &rho, sign) else {
            self.clear();
            return Some(false);
        };
        let gap = match leave {
            Leave::Row(row) => self.rows[row as usize].least - self.left[row as usize],
            Leave::Basic(place, _) => -self.value[place],
        };
        let (q, slope) = match enter {
            Enter::Variable(variable) => {
                (self.column_of(variable), self.alpha[variable as usize])
            }
            Enter::Slack(at) => {
                let column = self.inverse.column(at);
                (column.iter().map(|entry| -entry).collect(), rho[at])
            }
        };
        let step = gap / slope;
        if let (Leave::Basic(place, _), Enter::Variable(_)) = (leave, enter)
            && (q[place] + slope).abs() > 1e-6 * (1.0 + slope.abs())
        {
            self.clear();
            return None;
        }
        let filled = |list: &[f64]| list.iter().filter(|entry| entry.abs() > 1e-12).count() as u64;
        self.dense += filled(&q) * filled(&rho);
        self.full += (q.len() * q.len()) as u64;
        watch.tick(filled(&q) * filled(&rho) / 16 + self.rows.len() as u64 / 4);
        self.reprice(ratio * sign, &rho);
        self.clear();
        self.move_by(&q, step);
        self.exchange(leave, enter, &rho, &q, slope, (ratio * sign, step));
        self.since += 1;
        self.pivots += 1;
        Some(true)
    }

    /// How the leaving variable depends on the slacks of the tight rows.
    fn row_of(&self, leave: Leave) -> Vec<f64> {
        match leave {
            Leave::Basic(place, _) => self.inverse.row(place).to_vec(),
            Leave::Row(row) => {
                let mut rho = vec![0.0; self.inverse.size()];
                let row = &self.rows[row as usize];
                for (list, sign) in [(&row.plus, 1.0), (&row.minus, -1.0)] {
                    for variable in list {
                        let place = self.place[*variable as usize];
                        if place != NONE {
                            self.inverse.add_row(place as usize, sign, &mut rho);
                        }
                    }
                }
                rho
            }
        }
    }

    /// How the leaving variable depends on every variable that is not basic.
    fn expand(&mut self, leave: Leave, rho: &[f64], watch: &mut Watch) {
        let Simplex { alpha, touched, marked, rows, tight, .. } = self;
        let mut add = |row: &Row, factor: f64| {
            for (list, sign) in [(&row.plus, factor), (&row.minus, -factor)] {
                for variable in list {
                    let at = *variable as usize;
                    if !std::mem::replace(&mut marked[at], true) {
                        touched.push(*variable);
                    }
                    alpha[at] += sign;
                }
            }
        };
        if let Leave::Row(row) = leave {
            add(&rows[row as usize], 1.0);
        }
        for (at, rho) in rho.iter().enumerate().filter(|(_, rho)| rho.abs() > 1e-11) {
            add(&rows[tight[at] as usize], -rho);
        }
        watch.tick(touched.len() as u64);
    }

    fn clear(&mut self) {
        for variable in self.touched.drain(..) {
            self.alpha[variable as usize] = 0.0;
            self.marked[variable as usize] = false;
        }
    }

    /// What enters: the smallest ratio of reduced cost to slope, among nearly equal ones the
    /// steepest (P. M. J. Harris, "Pivot selection methods of the Devex LP code", Mathematical
    /// Programming 5, 1973).
    fn entering(&self, leave: Leave, rho: &[f64], sign: f64) -> Option<(Enter, f64)> {
        const SLACKEN: f64 = 1e-9;
        let own = |variable: u32| matches!(leave, Leave::Basic(place, _) if self.basic[place] == variable);
        let mut list: Vec<(Enter, f64, f64)> = Vec::new();
        for variable in &self.touched {
            let at = *variable as usize;
            let slope = sign * self.alpha[at];
            if slope > PIVOT && self.place[at] == NONE && !self.shut[at] && !own(*variable) {
                list.push((Enter::Variable(*variable), self.reduced[at].max(0.0), slope));
            }
        }
        for (at, rho) in rho.iter().enumerate() {
            if sign * rho > PIVOT {
                list.push((Enter::Slack(at), self.price[at].max(0.0), sign * rho));
            }
        }
        let bound = (list.iter())
            .map(|(_, reduced, slope)| (reduced + SLACKEN) / slope)
            .fold(f64::INFINITY, f64::min);
        let fit = list.iter().filter(|(_, reduced, slope)| reduced / slope <= bound);
        let best = fit.reduce(|best, other| if other.2 > best.2 { other } else { best })?;
        Some((best.0, best.1 / best.2))
    }

    /// The inverse times the column of a variable.
    fn column_of(&self, variable: u32) -> Vec<f64> {
        let mut q = vec![0.0; self.inverse.size()];
        for (row, sign) in &self.columns[variable as usize] {
            let spot = self.spot[*row as usize];
            if spot != NONE {
                self.inverse.add_column(spot as usize, *sign, &mut q);
            }
        }
        q
    }

    fn reprice(&mut self, ratio: f64, rho: &[f64]) {
        for variable in &self.touched {
            let at = *variable as usize;
            if self.place[at] == NONE {
                self.reduced[at] -= ratio * self.alpha[at];
            }
        }
        for (price, rho) in self.price.iter_mut().zip(rho) {
            *price -= ratio * rho;
        }
    }

    /// Moves the basic variables by `-q * step`.
    fn move_by(&mut self, q: &[f64], step: f64) {
        for (place, q) in q.iter().enumerate().filter(|(_, q)| q.abs() > 1e-13) {
            let change = -q * step;
            self.value[place] += change;
            for (row, sign) in &self.columns[self.basic[place] as usize] {
                self.left[*row as usize] += sign * change;
            }
        }
    }

    fn exchange(
        &mut self,
        leave: Leave,
        enter: Enter,
        rho: &[f64],
        q: &[f64],
        slope: f64,
        (ratio, step): (f64, f64),
    ) {
        match (leave, enter) {
            (Leave::Row(row), Enter::Variable(variable)) => {
                self.inverse.grow(rho, q, slope);
                self.spot[row as usize] = self.tight.len() as u32;
                self.tight.push(row);
                self.price.push(ratio);
                self.place[variable as usize] = self.basic.len() as u32;
                self.basic.push(variable);
                self.value.push(step);
                self.slope.push(1.0);
                self.enter(variable, step);
            }
            (Leave::Row(row), Enter::Slack(at)) => {
                self.inverse.change_row(at, rho);
                self.spot[self.tight[at] as usize] = NONE;
                self.spot[row as usize] = at as u32;
                self.tight[at] = row;
                self.price[at] = ratio;
            }
            (Leave::Basic(place, _), Enter::Variable(variable)) => {
                self.inverse.change_column(place, q);
                self.leave(place, ratio);
                self.place[variable as usize] = place as u32;
                self.basic[place] = variable;
                self.value[place] = step;
                self.enter(variable, step);
            }
            (Leave::Basic(place, _), Enter::Slack(at)) => {
                self.inverse.shrink(at, place);
                self.leave(place, ratio);
                self.spot[self.tight[at] as usize] = NONE;
                self.tight.swap_remove(at);
                self.price.swap_remove(at);
                if let Some(row) = self.tight.get(at) {
                    self.spot[*row as usize] = at as u32;
                }
                self.basic.swap_remove(place);
                self.value.swap_remove(place);
                self.slope.swap_remove(place);
                if let Some(variable) = self.basic.get(place) {
                    self.place[*variable as usize] = place as u32;
                }
            }
        }
    }

    fn enter(&mut self, variable: u32, step: f64) {
        self.reduced[variable as usize] = 0.0;
        for (row, sign) in &self.columns[variable as usize] {
            self.left[*row as usize] += sign * step;
        }
    }

    fn leave(&mut self, place: usize, ratio: f64) {
        let variable = self.basic[place] as usize;
        self.place[variable] = NONE;
        self.reduced[variable] = ratio;
    }

    /// Works out values, prices and reduced costs anew; inverts anew if they were off. False if
    /// that fails.
    fn refresh(&mut self) -> bool {
        if self.recompute() > 1e-7 {
            let columns: Vec<Vec<(u32, f64)>> = (self.basic.iter())
                .map(|variable| {
                    let entries = self.columns[*variable as usize].iter();
                    let tight = entries.map(|(row, sign)| (self.spot[*row as usize], *sign));
                    tight.filter(|(spot, _)| *spot != NONE).collect()
                })
                .collect();
            if !self.inverse.invert(&columns) {
                return false;
            }
            return self.recompute() <= 1e-6;
        }
        true
    }

    /// Values, prices and reduced costs from the inverse; returns how far off the tight rows are.
    fn recompute(&mut self) -> f64 {
        let size = self.tight.len();
        let least: Vec<f64> = self.tight.iter().map(|row| self.rows[*row as usize].least).collect();
        for place in 0..size {
            let row = self.inverse.row(place);
            self.value[place] = row.iter().zip(&least).map(|(entry, b)| entry * b).sum();
        }
        let mut price = vec![0.0; size];
        for place in 0..size {
            self.inverse.add_row(place, self.cost[self.basic[place] as usize], &mut price);
        }
        self.price = price;
        self.left.fill(0.0);
        for place in 0..size {
            for (row, sign) in &self.columns[self.basic[place] as usize] {
                self.left[*row as usize] += sign * self.value[place];
            }
        }
        self.reduced.clone_from(&self.cost);
        for (at, row) in self.tight.iter().enumerate() {
            let row = &self.rows[*row as usize];
            for (list, sign) in [(&row.plus, 1.0), (&row.minus, -1.0)] {
                for variable in list {
                    self.reduced[*variable as usize] -= sign * self.price[at];
                }
            }
        }
        let mut off = 0.0f64;
        for row in &self.tight {
            off = off.max((self.left[*row as usize] - self.rows[*row as usize].least).abs());
        }
        for variable in &self.basic {
            off = off.max(self.reduced[*variable as usize].abs());
        }
        off
    }
}
