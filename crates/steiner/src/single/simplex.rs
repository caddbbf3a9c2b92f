//! A linear program that grows by rows: least cost of variables `x >= 0` with rows `a x >= b`,
//! costs not negative. Solved by the dual simplex method (C. E. Lemke, "The dual method of solving
//! the linear programming problem", Naval Research Logistics Quarterly 1, 1954), always continuing
//! from the last basis.

use crate::grow::NONE;
use crate::single::factor::Factor;
use crate::single::watch::Watch;

/// A row: the variables with coefficient 1, those with -1, and the right-hand side.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub plus: Vec<u32>,
    pub minus: Vec<u32>,
    pub least: f64,
}

/// What is basic at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Basic {
    Variable(u32),
    /// How far a row is above its right-hand side.
    Slack(u32),
}

/// The program and its present basis.
#[derive(Clone, Debug)]
pub(crate) struct Simplex {
    pub cost: Vec<f64>,
    /// Variables that must be 0.
    pub shut: Vec<bool>,
    /// Reduced cost per variable.
    pub(super) reduced: Vec<f64>,
    pub rows: Vec<Row>,
    /// Per row, its reduced cost: 0 unless the row is tight.
    pub(super) price: Vec<f64>,
    /// Per variable, the rows it is in, with its coefficient.
    columns: Vec<Vec<(u32, f64)>>,
    /// As many places as rows.
    pub(super) basic: Vec<Basic>,
    pub(super) value: Vec<f64>,
    pub(super) steep: Vec<f64>,
    /// Place of each variable and of each row's slack.
    pub(super) place: Vec<u32>,
    pub(super) slack_place: Vec<u32>,
    pub(super) factor: Factor,
    /// Rows were added or dropped since the basis was last taken apart.
    stale: bool,
    pub(super) alpha: Vec<f64>,
    pub(super) touched: Vec<u32>,
    pub(super) marked: Vec<bool>,
    pub(super) room: Vec<f64>,
    since: usize,
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

const FEASIBLE: f64 = 1e-7;
/// Pivots after which the basis is taken apart anew.
const CHECK: usize = 80;

impl Simplex {
    /// No rows; `cost` in units in which a typical cost is about 1.
    pub fn new(cost: Vec<f64>, shut: Vec<bool>) -> Simplex {
        let len = cost.len();
        Simplex {
            reduced: cost.clone(),
            cost,
            shut,
            rows: Vec::new(),
            price: Vec::new(),
            columns: vec![Vec::new(); len],
            basic: Vec::new(),
            value: Vec::new(),
            steep: Vec::new(),
            place: vec![NONE; len],
            slack_place: Vec::new(),
            factor: Factor::default(),
            stale: false,
            alpha: vec![0.0; len],
            touched: Vec::new(),
            marked: vec![false; len],
            room: Vec::new(),
            since: 0,
        }
    }

    pub fn add(&mut self, row: Row) {
        let id = self.rows.len() as u32;
        for (list, sign) in [(&row.plus, 1.0), (&row.minus, -1.0)] {
            for variable in list {
                self.columns[*variable as usize].push((id, sign));
            }
        }
        self.slack_place.push(self.basic.len() as u32);
        self.basic.push(Basic::Slack(id));
        self.value.push(0.0);
        self.steep.push(1.0);
        self.price.push(0.0);
        self.rows.push(row);
        self.stale = true;
    }

    /// Adds a row that is tight from the start, with a variable basic in its place. All such rows
    /// together must give prices and reduced costs that are not negative.
    pub fn add_tight(&mut self, row: Row, variable: u32) {
        let place = self.basic.len();
        self.add(row);
        self.basic[place] = Basic::Variable(variable);
        self.slack_place[place] = NONE;
        self.place[variable as usize] = place as u32;
    }

    pub fn x(&self, variable: u32) -> f64 {
        match self.place[variable as usize] {
            NONE => 0.0,
            at => self.value[at as usize],
        }
    }

    /// Variables that may be above 0.
    pub fn support(&self) -> impl Iterator<Item = (u32, f64)> + '_ {
        let places = self.basic.iter().zip(&self.value);
        places.filter_map(|(basic, value)| match basic {
            Basic::Variable(variable) => Some((*variable, *value)),
            Basic::Slack(_) => None,
        })
    }

    /// The price of each row that the present basis has at other costs.
    pub fn prices_at(&mut self, cost: impl Fn(u32) -> f64) -> Vec<f64> {
        if self.stale && !self.refresh() {
            return vec![0.0; self.rows.len()];
        }
        let mut prices: Vec<f64> = (self.basic.iter())
            .map(|basic| match basic {
                Basic::Variable(variable) => cost(*variable),
                Basic::Slack(_) => 0.0,
            })
            .collect();
        self.factor.solve_left(&mut prices, &mut self.room);
        prices
    }

    /// Drops rows that have some room.
    pub fn drop_loose(&mut self, room: f64) {
        let keep: Vec<bool> = (self.slack_place.iter())
            .map(|place| *place == NONE || self.value[*place as usize] < room)
            .collect();
        let mut number = vec![NONE; self.rows.len()];
        let mut count = 0;
        for (row, keep) in keep.iter().enumerate() {
            if *keep {
                number[row] = count;
                count += 1;
            }
        }
        let stays = |basic: &Basic| match basic {
            Basic::Variable(_) => true,
            Basic::Slack(row) => keep[*row as usize],
        };
        let places: Vec<usize> = (0..self.basic.len())
            .filter(|at| stays(&self.basic[*at]))
            .collect();
        self.value = places.iter().map(|at| self.value[*at]).collect();
        self.steep = places.iter().map(|at| self.steep[*at]).collect();
        self.basic = places.iter().map(|at| self.basic[*at]).collect();
        for basic in &mut self.basic {
            if let Basic::Slack(row) = basic {
                *row = number[*row as usize];
            }
        }
        let mut kept = keep.iter();
        self.rows.retain(|_| *kept.next().unwrap_or(&true));
        let mut kept = keep.iter();
        self.price.retain(|_| *kept.next().unwrap_or(&true));
        self.slack_place = vec![NONE; self.rows.len()];
        self.place.fill(NONE);
        for (at, basic) in self.basic.iter().enumerate() {
            match basic {
                Basic::Variable(variable) => self.place[*variable as usize] = at as u32,
                Basic::Slack(row) => self.slack_place[*row as usize] = at as u32,
            }
        }
        for column in &mut self.columns {
            column.retain_mut(|(row, _)| {
                *row = number[*row as usize];
                *row != NONE
            });
        }
        self.stale = true;
    }

    /// Pivots until no row is broken.
    pub fn solve(&mut self, watch: &mut Watch) -> Solved {
        let mut trouble = 0;
        self.stale = true;
        loop {
            if self.stale || self.since >= CHECK || self.factor.weight > 3 * self.factor.size {
                watch.tick(self.factor.size as u64);
                if !self.refresh() {
                    return Solved::Broken;
                }
            }
            let Some(place) = self.leaving() else {
                if self.since == 0 {
                    return Solved::Best;
                }
                self.stale = true;
                continue;
            };
            match self.pivot(place, watch) {
                Some(true) => trouble = 0,
                Some(false) => return Solved::None,
                None => {
                    trouble += 1;
                    self.stale = true;
                    self.steep[place] *= 1e6;
                    if trouble > 5 {
                        return Solved::Broken;
                    }
                }
            }
            if watch.out() {
                return Solved::Broken;
            }
        }
    }

    /// How far a place is out of its bounds: below 0, or above it where shut.
    fn off(&self, place: usize) -> f64 {
        let value = self.value[place];
        match self.basic[place] {
            Basic::Variable(variable) if self.shut[variable as usize] => value,
            _ => value.min(0.0),
        }
    }

    /// The place that is off most for its steepness (J. J. Forrest and D. Goldfarb, "Steepest-edge
    /// simplex algorithms for linear programming", Mathematical Programming 57, 1992).
    fn leaving(&self) -> Option<usize> {
        let mut best = (0.0, None);
        for place in 0..self.basic.len() {
            let off = self.off(place);
            if off.abs() > FEASIBLE {
                let rank = off * off / self.steep[place];
                if rank > best.0 {
                    best = (rank, Some(place));
                }
            }
        }
        best.1
    }

    /// One pivot. `Some(false)` if nothing can enter, so that there is no solution; `None` if
    /// rounding makes the pivot worthless.
    fn pivot(&mut self, place: usize, watch: &mut Watch) -> Option<bool> {
        let size = self.basic.len();
        let off = self.off(place);
        let sign = if off < 0.0 { 1.0 } else { -1.0 };
        let mut rho = vec![0.0; size];
        rho[place] = 1.0;
        self.factor.solve_left(&mut rho, &mut self.room);
        self.expand(&rho, watch);
        let Some((enter, ratio)) = self.entering(place, &rho, sign) else {
            self.clear();
            return Some(false);
        };
        let mut q = vec![0.0; size];
        let slope = match enter {
            Basic::Variable(variable) => {
                for (row, sign) in &self.columns[variable as usize] {
                    q[*row as usize] = *sign;
                }
                self.alpha[variable as usize]
            }
            Basic::Slack(row) => {
                q[row as usize] = -1.0;
                rho[row as usize]
            }
        };
        self.factor.solve(&mut q, &mut self.room);
        watch.tick((self.factor.size + self.factor.weight + size) as u64 / 2);
        if (q[place] + slope).abs() > 1e-7 * (1.0 + slope.abs()) {
            self.clear();
            return None;
        }
        self.reprice(ratio * sign, &rho);
        self.clear();
        self.steepen(place, &rho, &q);
        let step = off / q[place];
        for (value, q) in self.value.iter_mut().zip(&q) {
            *value -= step * q;
        }
        self.exchange(place, enter, ratio * sign, step);
        self.factor.change(place as u32, &q);
        self.since += 1;
        Some(true)
    }

    /// Takes the basis apart anew and works out values, prices and reduced costs. False if the
    /// basis is singular.
    fn refresh(&mut self) -> bool {
        let columns: Vec<Vec<(u32, f64)>> = (self.basic.iter())
            .map(|basic| match basic {
                Basic::Variable(variable) => self.columns[*variable as usize].clone(),
                Basic::Slack(row) => vec![(*row, -1.0)],
            })
            .collect();
        let Some(factor) = Factor::new(&columns) else {
            return false;
        };
        self.factor = factor;
        self.stale = false;
        self.since = 0;
        let mut value: Vec<f64> = self.rows.iter().map(|row| row.least).collect();
        self.factor.solve(&mut value, &mut self.room);
        self.value = value;
        let cost = std::mem::take(&mut self.cost);
        self.price = self.prices_at(|variable| cost[variable as usize]);
        self.cost = cost;
        self.reduced.clone_from(&self.cost);
        for (row, price) in self
            .rows
            .iter()
            .zip(&self.price)
            .filter(|(_, price)| **price != 0.0)
        {
            for (list, sign) in [(&row.plus, 1.0), (&row.minus, -1.0)] {
                for variable in list {
                    self.reduced[*variable as usize] -= sign * price;
                }
            }
        }
        true
    }
}
