//! Changes of what meets where: junctions made, moved along a trench, drawn together.

use super::Desk;
use super::draft::union;
use super::mend::mend;
use super::pricer::angle;
use crate::candidates::{cross, length};
use crate::fermat;
use geo::Coord;
use std::f64::consts::FRAC_PI_2;

/// Trenches that part at less than this angle might share their beginning.
const PARTING: f64 = FRAC_PI_2;
/// Shares of a trench between two junctions up to this length are tried away, metres.
const LONGEST_DRAWN_IN: f64 = 4.0;

impl Desk<'_, '_, '_> {
    /// Draws a free spot into one beside it.
    pub(super) fn draw_in(&mut self, spot: u32) -> bool {
        if !self.draft.is_free(spot) {
            return false;
        }
        for trench in self.draft.arms(spot).to_vec() {
            let t = self.draft.trench(trench);
            if t.length < LONGEST_DRAWN_IN && t.sleeve.is_none() && self.merge(spot, trench, 0.0) {
                return true;
            }
        }
        false
    }

    /// Takes a trench out and puts its far end, a free spot, in the place of the near one.
    pub(super) fn merge(&mut self, spot: u32, trench: u32, allowed: f64) -> bool {
        let into = self.draft.beyond(trench, spot);
        let arms: Vec<(u32, Vec<u32>)> = self
            .draft
            .arms(spot)
            .iter()
            .filter(|t| **t != trench)
            .map(|t| {
                let carries = self.draft.trench(*t).carries.clone();
                (self.draft.beyond(*t, spot), carries)
            })
            .collect();
        let between = self.draft.trench(trench).carries.clone();
        let all = arms.iter().fold(Vec::new(), |all, (_, c)| union(&all, c));
        let mut rings = self.on(into, &all);
        rings.retain(|line| !between.contains(line));
        self.draft.begin();
        for t in self.draft.arms(spot).to_vec() {
            self.draft.remove(t, &self.pricer);
        }
        for (far, carries) in &arms {
            self.draft.link(into, *far, carries, &self.pricer);
        }
        mend(self.draft, &rings, &self.pricer);
        self.settle(allowed)
    }

    /// Takes one trench at a spot to the far end of another, and what is in it along that one.
    pub(super) fn hang_over(&mut self, spot: u32) -> bool {
        let arms = self.draft.arms(spot).to_vec();
        for moved in &arms {
            for along in &arms {
                if moved != along && self.hang(spot, *moved, *along) {
                    return true;
                }
            }
        }
        false
    }

    fn hang(&mut self, spot: u32, moved: u32, along: u32) -> bool {
        let (m, a) = (self.draft.trench(moved), self.draft.trench(along));
        if m.sleeve.is_some() || a.sleeve.is_some() {
            return false;
        }
        let (x, y) = (
            self.draft.beyond(moved, spot),
            self.draft.beyond(along, spot),
        );
        let (lines, beside) = (m.carries.clone(), a.carries.clone());
        let needed = |line: &u32| {
            let elsewhere = self.draft.arms(spot).iter().any(|t| {
                *t != moved && *t != along && self.draft.trench(*t).carries.contains(line)
            });
            elsewhere || self.draft.ends[*line as usize].contains(&spot)
        };
        let mut left: Vec<u32> = beside
            .iter()
            .copied()
            .filter(|l| !lines.contains(l) || needed(l))
            .collect();
        left.extend(lines.iter().filter(|l| !beside.contains(l)));
        left.sort_unstable();
        let mut rings = self.on(y, &lines);
        rings.retain(|line| !beside.contains(line));
        self.draft.begin();
        self.draft.remove(moved, &self.pricer);
        self.draft.link(x, y, &lines, &self.pricer);
        self.draft.carry(along, left, &self.pricer);
        mend(self.draft, &rings, &self.pricer);
        self.settle(0.0)
    }

    /// Lets two trenches that leave a spot at a sharp angle part farther on.
    pub(super) fn part_later(&mut self, spot: u32) -> bool {
        let arms = self.draft.arms(spot).to_vec();
        let at = self.draft.at(spot);
        for (i, first) in arms.iter().enumerate() {
            for second in &arms[i + 1..] {
                let ends = [*first, *second].map(|t| self.draft.at(self.draft.beyond(t, spot)));
                let angle = angle(ends[0] - at, ends[1] - at);
                if angle < PARTING && self.part_at_best(spot, [*first, *second], ends) {
                    return true;
                }
            }
        }
        false
    }

    fn part_at_best(&mut self, spot: u32, pair: [u32; 2], ends: [Coord; 2]) -> bool {
        if pair.iter().any(|t| self.draft.trench(*t).sleeve.is_some()) {
            return false;
        }
        let at = self.draft.at(spot);
        let weights = pair.map(|t| self.draft.weight(t, &self.pricer));
        let mut places = vec![
            onto(at, ends[0], ends[1]),
            onto(at, ends[1], ends[0]),
            slanted(at, ends[0], ends[1]),
            slanted(at, ends[1], ends[0]),
        ];
        let shared = weights[0].max(weights[1]);
        let corners = [(at, shared), (ends[0], weights[0]), (ends[1], weights[1])];
        places.push(fermat::junction(&corners));
        for place in places.into_iter().flatten() {
            if self.part(spot, pair, place) {
                return true;
            }
        }
        false
    }

    fn part(&mut self, spot: u32, pair: [u32; 2], place: Coord) -> bool {
        let arms = pair.map(|t| {
            let carries = self.draft.trench(t).carries.clone();
            (self.draft.beyond(t, spot), carries)
        });
        self.draft.begin();
        for t in pair {
            self.draft.remove(t, &self.pricer);
        }
        let new = self.draft.add_spot(place);
        let both = union(&arms[0].1, &arms[1].1);
        self.draft.link(spot, new, &both, &self.pricer);
        for (far, carries) in &arms {
            self.draft.link(new, *far, carries, &self.pricer);
        }
        let twice: Vec<u32> = arms[0]
            .1
            .iter()
            .copied()
            .filter(|l| arms[1].1.contains(l))
            .collect();
        mend(self.draft, &twice, &self.pricer);
        self.settle(0.0)
    }

    /// Takes a trench through a spot that lies near it.
    pub(super) fn through(&mut self, trench: u32, spot: u32, allowed: f64) -> bool {
        let t = self.draft.trench(trench).clone();
        let rings = self.on(spot, &t.carries);
        self.draft.begin();
        self.draft.remove(trench, &self.pricer);
        self.draft.link(t.a, spot, &t.carries, &self.pricer);
        self.draft.link(spot, t.b, &t.carries, &self.pricer);
        mend(self.draft, &rings, &self.pricer);
        self.settle(allowed)
    }

    /// Those of some lines that already run to a spot.
    fn on(&self, spot: u32, lines: &[u32]) -> Vec<u32> {
        let runs = |line: &&u32| {
            let mut arms = self.draft.arms(spot).iter();
            arms.any(|t| self.draft.trench(*t).carries.binary_search(line).is_ok())
        };
        lines.iter().filter(runs).copied().collect()
    }

    /// Takes two trenches side by side through the same two spots, and one trench between them.
    pub(super) fn share(&mut self, pair: [u32; 2], spots: [u32; 2], allowed: f64) -> bool {
        let trenches = pair.map(|t| self.draft.trench(t).clone());
        self.draft.begin();
        for t in pair {
            self.draft.remove(t, &self.pricer);
        }
        for t in &trenches {
            let (from, to) = (self.draft.at(t.a), self.draft.at(t.b));
            let along = |spot: u32| {
                let off = self.draft.at(spot) - from;
                off.x * (to - from).x + off.y * (to - from).y
            };
            let [near, far] = if along(spots[0]) <= along(spots[1]) {
                spots
            } else {
                [spots[1], spots[0]]
            };
            let places = [t.a, near, far, t.b];
            for pair in places.windows(2) {
                self.draft.link(pair[0], pair[1], &t.carries, &self.pricer);
            }
        }
        let lines = union(&trenches[0].carries, &trenches[1].carries);
        mend(self.draft, &lines, &self.pricer);
        self.settle(allowed)
    }
}

/// The foot of a place on the way from `from` to `to`, if it lies on it.
pub(super) fn onto(from: Coord, to: Coord, place: Coord) -> Option<Coord> {
    let (along, off) = (to - from, place - from);
    let square = along.x * along.x + along.y * along.y;
    let share = (off.x * along.x + off.y * along.y) / square;
    (share > 0.0 && share < 1.0).then(|| from + along * share)
}

/// Where one leaves the way from `from` to `to` to reach a place at 45°, if that is on it.
pub(super) fn slanted(from: Coord, to: Coord, place: Coord) -> Option<Coord> {
    let along = to - from;
    let long = length(along);
    let off = place - from;
    let share = (off.x * along.x + off.y * along.y) / (long * long);
    let share = share - cross(along, off).abs() / (long * long);
    (share > 0.0 && share < 1.0).then(|| from + along * share)
}
