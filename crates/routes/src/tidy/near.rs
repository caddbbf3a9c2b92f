//! Trenches and junctions that lie too near to each other to be dug apart.

use super::pricer::angle;
use super::{Apart, Desk};
use crate::candidates::{cross, length};
use geo::{Coord, Rect};
use std::f64::consts::PI;
use std::ops::ControlFlow;

/// Trenches at a smaller angle than this run side by side.
const SIDE_BY_SIDE: f64 = PI / 9.0;
/// Side by side for less than this, in metres, is only passing.
const PASSING: f64 = 0.3;
/// So many trenches are held against the others between two looks at whether to stop.
const ASKED: usize = 64;

impl Desk<'_, '_, '_> {
    /// Takes trenches through spots that they pass nearer than `apart`, and lets trenches side by side
    /// share, where that costs at most `allowed` more. Of each pair at least one has the number `from`
    /// or a higher one.
    pub(super) fn draw_together(&mut self, apart: f64, from: u32, allowed: f64) -> ControlFlow<()> {
        let all = 0..self.draft.trenches.len() as u32;
        let there: Vec<u32> = all.filter(|t| self.draft.is_there(*t)).collect();
        let mut boxes: Vec<(Rect, u32)> = there.iter().map(|t| (self.around(*t), *t)).collect();
        boxes.sort_by(|a, b| a.0.min().x.total_cmp(&b.0.min().x).then(a.1.cmp(&b.1)));
        for (i, (bounds, first)) in boxes.iter().enumerate() {
            if i.is_multiple_of(ASKED) {
                (self.ask)()?;
            }
            for (other, second) in &boxes[i + 1..] {
                if other.min().x > bounds.max().x + apart {
                    break;
                }
                let beside = other.min().y <= bounds.max().y + apart
                    && bounds.min().y <= other.max().y + apart;
                let (low, high) = (*first.min(second), *first.max(second));
                let new = high >= from && (self.is_new(low) || self.is_new(high));
                if beside && new && self.are_open(low, high) {
                    self.join_near(low, high, apart, allowed);
                }
            }
        }
        ControlFlow::Continue(())
    }

    fn around(&self, trench: u32) -> Rect {
        let t = self.draft.trench(trench);
        Rect::new(self.draft.at(t.a), self.draft.at(t.b))
    }

    fn are_open(&self, first: u32, second: u32) -> bool {
        let open = |t| self.draft.is_there(t) && self.draft.trench(t).sleeve.is_none();
        open(first) && open(second)
    }

    fn join_near(&mut self, first: u32, second: u32, apart: f64, allowed: f64) {
        let near = self.near_spots(first, second, apart);
        if let [p, q] = near[..] {
            let side_by_side = {
                let along = |t: u32| {
                    let t = self.draft.trench(t);
                    self.draft.at(t.b) - self.draft.at(t.a)
                };
                let angle = angle(along(first), along(second));
                angle.min(PI - angle) < SIDE_BY_SIDE
            };
            let long = length(self.draft.at(p) - self.draft.at(q));
            if side_by_side && long > PASSING && self.share([first, second], [p, q], allowed) {
                return;
            }
        }
        for spot in near {
            for trench in [first, second] {
                let t = self.draft.trench(trench);
                if self.draft.is_there(trench)
                    && t.a != spot
                    && t.b != spot
                    && self.through(trench, spot, allowed)
                {
                    return;
                }
            }
        }
    }

    /// Ends of either trench that lie beside the other one, nearer than `apart`; with a common end, the
    /// same.
    fn near_spots(&self, first: u32, second: u32, apart: f64) -> Vec<u32> {
        let (f, s) = (self.draft.trench(first), self.draft.trench(second));
        let mut found = Vec::new();
        for (spot, other) in [(f.a, s), (f.b, s), (s.a, f), (s.b, f)] {
            let (at, from, to) = (
                self.draft.at(spot),
                self.draft.at(other.a),
                self.draft.at(other.b),
            );
            let is_end = spot == other.a || spot == other.b;
            if (is_end || off(at, from, to).is_some_and(|off| off < apart))
                && !found.contains(&spot)
            {
                found.push(spot);
            }
        }
        found
    }

    /// What the practice asks for, where it costs at most what a trench of that length does, and all of
    /// it no more than at the beginning.
    pub(super) fn as_asked(&mut self, apart: Apart) -> ControlFlow<()> {
        let metre = self.pricer.least();
        self.draw_together(apart.trenches, 0, metre * apart.trenches)?;
        for spot in 0..self.draft.spots.len() as u32 {
            if !self.was_looked_at(spot) {
                continue;
            }
            for trench in self.draft.arms(spot).to_vec() {
                if self.are_crowded(spot, trench, apart.junctions)
                    && self.merge(spot, trench, metre * apart.junctions)
                {
                    break;
                }
            }
        }
        for spot in 0..self.draft.spots.len() as u32 {
            if (spot as usize).is_multiple_of(super::AT_ONCE) {
                (self.ask)()?;
            }
            if !self.draft.arms(spot).is_empty() && self.was_looked_at(spot) {
                let _ = self.straighten(spot) || self.slide(spot);
            }
        }
        ControlFlow::Continue(())
    }

    /// Whether a free junction lies nearer than `apart` to another one or to a component.
    fn are_crowded(&self, spot: u32, trench: u32, apart: f64) -> bool {
        let t = self.draft.trench(trench);
        let other = self.draft.beyond(trench, spot);
        let meets = |s: u32| self.draft.arms(s).len() > 2;
        self.draft.is_free(spot)
            && meets(spot)
            && (meets(other) || !self.draft.is_free(other))
            && t.sleeve.is_none()
            && t.length < apart
    }
}

/// How far a place lies off a straight way, if it lies beside it.
fn off(place: Coord, from: Coord, to: Coord) -> Option<f64> {
    let along = to - from;
    let long = length(along);
    let share = ((place - from).x * along.x + (place - from).y * along.y) / (long * long);
    (share > 0.0 && share < 1.0).then(|| cross(along, place - from).abs() / long)
}
