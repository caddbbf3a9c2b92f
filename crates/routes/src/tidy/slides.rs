//! Changes of where trenches turn and meet, and bends left out.

use super::Desk;
use super::joins::{onto, slanted};
use super::mend::mend;
use crate::candidates::{cross, length};
use crate::fermat;
use geo::Coord;

/// Steps of the search around a place, in metres: about the width of a trench, and a tenth of it.
const STEPS: [f64; 2] = [0.3, 0.03];
/// A place is not moved by less than this, in metres: a rod on site is set no finer.
const LEAST_MOVE: f64 = 5e-3;
/// A metre is dearer than the cheapest by at least this share where the ground is worth a search.
const DEARER: f64 = 1.01;
/// Bends left out at once.
const MOST_BENDS: usize = 12;

impl Desk<'_, '_, '_> {
    /// Leaves out bends: straight on from where the chain through this spot began, as far as pays.
    pub(super) fn straighten(&mut self, spot: u32) -> bool {
        if !self.is_bend(spot) {
            return false;
        }
        let chain = self.chain(spot);
        let middle = chain.iter().position(|s| *s == spot).unwrap_or(0);
        for gap in (2..chain.len()).rev() {
            let first = middle.saturating_sub(gap - 1);
            let last = (middle.saturating_sub(1)).min(chain.len() - 1 - gap);
            for i in first..=last.max(first) {
                if i + gap < chain.len() && self.cut_across(&chain[i..=i + gap], None) {
                    return true;
                }
            }
        }
        // Two bends become one where the trenches before and behind them meet.
        for i in middle.saturating_sub(2)..middle {
            if i + 3 < chain.len() {
                let p = [i, i + 1, i + 2, i + 3].map(|k| self.draft.at(chain[k]));
                if let Some(meet) = meeting(p[0], p[1], p[3], p[2])
                    && self.cut_across(&chain[i..=i + 3], Some(meet))
                {
                    return true;
                }
            }
        }
        false
    }

    fn is_bend(&self, spot: u32) -> bool {
        let arms = self.draft.arms(spot);
        self.draft.is_free(spot)
            && arms.len() == 2
            && arms.iter().all(|t| self.draft.trench(*t).sleeve.is_none())
    }

    /// The spots in a row around a bend, up to the next that is none.
    fn chain(&self, spot: u32) -> Vec<u32> {
        let mut chain = vec![spot];
        for side in 0..2 {
            let (mut trench, mut here) = (self.draft.arms(spot)[side], spot);
            for _ in 0..MOST_BENDS {
                here = self.draft.beyond(trench, here);
                if chain.contains(&here) {
                    break;
                }
                chain.push(here);
                if !self.is_bend(here) {
                    break;
                }
                let arms = self.draft.arms(here);
                trench = if arms[0] == trench { arms[1] } else { arms[0] };
            }
            chain.reverse();
        }
        chain
    }

    fn cut_across(&mut self, chain: &[u32], over: Option<Coord>) -> bool {
        let trenches: Vec<u32> = chain
            .windows(2)
            .filter_map(|p| self.draft.between(p[0], p[1]))
            .collect();
        if trenches.len() + 1 != chain.len() {
            return false;
        }
        let carries = self.draft.trench(trenches[0]).carries.clone();
        self.draft.begin();
        for t in trenches {
            self.draft.remove(t, &self.pricer);
        }
        let (mut from, to) = (chain[0], chain[chain.len() - 1]);
        if let Some(place) = over {
            let bend = self.draft.add_spot(place);
            self.draft.link(from, bend, &carries, &self.pricer);
            from = bend;
        }
        let joins = self.draft.between(from, to).is_some();
        self.draft.link(from, to, &carries, &self.pricer);
        if joins {
            mend(self.draft, &carries, &self.pricer);
        }
        self.settle(0.0)
    }

    /// Moves a free spot to the best of the places offered.
    pub(super) fn slide(&mut self, spot: u32) -> bool {
        let arms = self.draft.arms(spot);
        let sleeved = arms.iter().any(|t| self.draft.trench(*t).sleeve.is_some());
        if !self.draft.is_free(spot) || arms.len() < 2 || sleeved {
            return false;
        }
        let mut moved = false;
        for place in self.offers(spot) {
            moved |= self.move_to(spot, place);
        }
        for step in STEPS {
            if self.is_varied(spot) {
                moved |= self.search_around(spot, step);
            }
        }
        moved
    }

    fn move_to(&mut self, spot: u32, place: Coord) -> bool {
        if length(place - self.draft.at(spot)) < LEAST_MOVE {
            return false;
        }
        self.draft.begin();
        self.draft.shift(spot, place, &self.pricer);
        self.settle(0.0)
    }

    fn search_around(&mut self, spot: u32, step: f64) -> bool {
        let at = self.draft.at(spot);
        let around = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
        let mut moved = false;
        for (x, y) in around {
            let mut to = at + Coord { x, y } * step;
            // As long as it pays in this direction, so that a border is reached in one go.
            for _ in 0..8 {
                if !self.move_to(spot, to) {
                    break;
                }
                moved = true;
                to = self.draft.at(spot) + Coord { x, y } * step;
            }
        }
        moved
    }

    /// Whether trenches at a spot lie in ground that costs more than the cheapest.
    fn is_varied(&self, spot: u32) -> bool {
        let least = self.pricer.least() * DEARER;
        let arms = self.draft.arms(spot).iter();
        let mut arms = arms.map(|t| self.draft.trench(*t));
        arms.any(|t| t.dig > least * t.length)
    }

    /// Places where the trenches at a spot might better meet.
    fn offers(&self, spot: u32) -> Vec<Coord> {
        let at = self.draft.at(spot);
        let arms = self.draft.arms(spot);
        let far: Vec<u32> = arms.iter().map(|t| self.draft.beyond(*t, spot)).collect();
        let ends: Vec<Coord> = far.iter().map(|s| self.draft.at(*s)).collect();
        let weights = arms.iter().map(|t| self.draft.weight(*t, &self.pricer));
        let weighted: Vec<(Coord, f64)> = ends.iter().copied().zip(weights).collect();
        let mut places = Vec::new();
        if let Some(best) = fermat::junction(&weighted) {
            places.extend([best, (best + at) / 2.0]);
        }
        for i in 0..ends.len() {
            for j in i + 1..ends.len() {
                // Straight from one to the other, with the third square to it or slanting.
                places.extend(onto(ends[i], ends[j], at));
                for k in (0..ends.len()).filter(|k| *k != i && *k != j) {
                    places.extend(onto(ends[i], ends[j], ends[k]));
                    places.extend(slanted(ends[i], ends[j], ends[k]));
                    places.extend(slanted(ends[j], ends[i], ends[k]));
                }
            }
        }
        self.straight_on(spot, &far, &mut places);
        places
    }

    /// Places at which a trench at a spot runs straight on from the one behind it.
    fn straight_on(&self, spot: u32, far: &[u32], places: &mut Vec<Coord>) {
        let at = self.draft.at(spot);
        for near in far {
            let turn = self.draft.at(*near);
            for trench in self.draft.arms(*near) {
                let behind = self.draft.beyond(*trench, *near);
                if behind == spot {
                    continue;
                }
                let behind = self.draft.at(behind);
                places.extend(onto(turn, turn + (turn - behind) * 100.0, at));
                for other in far.iter().filter(|o| *o != near) {
                    places.extend(meeting(behind, turn, self.draft.at(*other), at));
                }
            }
        }
    }
}

/// Where the way from `a` over `b` and on meets that from `c` over `d` and on, if it does.
fn meeting(a: Coord, b: Coord, c: Coord, d: Coord) -> Option<Coord> {
    let (u, v) = (b - a, d - c);
    let across = cross(u, v);
    if across.abs() < 1e-6 * length(u) * length(v) {
        return None;
    }
    let t = cross(c - a, v) / across;
    let s = cross(c - a, u) / across;
    (t > 1.0 && s > 0.0).then(|| a + u * t)
}
