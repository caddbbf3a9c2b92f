//! The steps of one pivot of the dual simplex method.

use crate::grow::NONE;
use crate::single::simplex::{Basic, Simplex};
use crate::single::watch::Watch;

/// A smaller slope is rounding.
const PIVOT: f64 = 1e-6;

impl Simplex {
    /// How the leaving variable depends on every variable that is not basic.
    pub(super) fn expand(&mut self, rho: &[f64], watch: &mut Watch) {
        let mut work = 0;
        for (row, rho) in self
            .rows
            .iter()
            .zip(rho)
            .filter(|(_, rho)| rho.abs() > 1e-12)
        {
            work += row.plus.len();
            for (list, sign) in [(&row.plus, -rho), (&row.minus, *rho)] {
                for variable in list {
                    let at = *variable as usize;
                    if !std::mem::replace(&mut self.marked[at], true) {
                        self.touched.push(*variable);
                    }
                    self.alpha[at] += sign;
                }
            }
        }
        watch.tick(work as u64 / 4);
    }

    pub(super) fn clear(&mut self) {
        for variable in self.touched.drain(..) {
            self.alpha[variable as usize] = 0.0;
            self.marked[variable as usize] = false;
        }
    }

    /// What enters: the smallest ratio of reduced cost to slope, among nearly equal ones the
    /// steepest (P. M. J. Harris, "Pivot selection methods of the Devex LP code", Mathematical
    /// Programming 5, 1973).
    pub(super) fn entering(&self, place: usize, rho: &[f64], sign: f64) -> Option<(Basic, f64)> {
        const SLACKEN: f64 = 1e-9;
        let mut list: Vec<(Basic, f64, f64)> = Vec::new();
        for variable in &self.touched {
            let at = *variable as usize;
            let slope = sign * self.alpha[at];
            if slope > PIVOT && self.place[at] == NONE && !self.shut[at] {
                list.push((Basic::Variable(*variable), self.reduced[at].max(0.0), slope));
            }
        }
        for (row, rho) in rho.iter().enumerate() {
            if sign * rho > PIVOT && self.slack_place[row] == NONE {
                list.push((
                    Basic::Slack(row as u32),
                    self.price[row].max(0.0),
                    sign * rho,
                ));
            }
        }
        list.retain(|entry| entry.0 != self.basic[place]);
        let bound = (list.iter())
            .map(|(_, reduced, slope)| (reduced + SLACKEN) / slope)
            .fold(f64::INFINITY, f64::min);
        let fit = list
            .iter()
            .filter(|(_, reduced, slope)| reduced / slope <= bound);
        let best = fit.reduce(|best, other| if other.2 > best.2 { other } else { best })?;
        Some((best.0, best.1 / best.2))
    }

    pub(super) fn reprice(&mut self, ratio: f64, rho: &[f64]) {
        for variable in &self.touched {
            let at = *variable as usize;
            if self.place[at] == NONE {
                self.reduced[at] -= ratio * self.alpha[at];
            }
        }
        for (row, rho) in rho.iter().enumerate() {
            if self.slack_place[row] == NONE {
                self.price[row] -= ratio * rho;
            }
        }
    }

    pub(super) fn steepen(&mut self, place: usize, rho: &[f64], q: &[f64]) {
        let own: f64 = rho.iter().map(|entry| entry * entry).sum();
        let mut tau = rho.to_vec();
        self.factor.solve(&mut tau, &mut self.room);
        for (at, q_at) in q.iter().enumerate() {
            if q_at.abs() > 1e-12 && at != place {
                let part = q_at / q[place];
                let steep = self.steep[at] - 2.0 * part * tau[at] + part * part * own;
                self.steep[at] = steep.max(1e-4).max(part * part);
            }
        }
        self.steep[place] = (own / (q[place] * q[place])).max(1e-4);
    }

    pub(super) fn exchange(&mut self, place: usize, enter: Basic, ratio: f64, step: f64) {
        match self.basic[place] {
            Basic::Variable(variable) => {
                self.place[variable as usize] = NONE;
                self.reduced[variable as usize] = ratio;
            }
            Basic::Slack(row) => {
                self.slack_place[row as usize] = NONE;
                self.price[row as usize] = ratio;
            }
        }
        match enter {
            Basic::Variable(variable) => {
                self.place[variable as usize] = place as u32;
                self.reduced[variable as usize] = 0.0;
            }
            Basic::Slack(row) => {
                self.slack_place[row as usize] = place as u32;
                self.price[row as usize] = 0.0;
            }
        }
        self.basic[place] = enter;
        self.value[place] = step;
    }
}
