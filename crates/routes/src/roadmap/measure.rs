//! What a straight trench goes through, and whether it may run.

use super::{End, Roadmap, Through};
use crate::candidates::length;
use crate::corridors::Corridors;
use crate::memory::{Measured, Memory};
use geo::Coord;
use ground::{Class, Ground, Span};
use std::sync::Arc;

/// Within a clearance a trench is at most this many times as long as the shortest way out of it.
pub(super) const SLANT: f64 = 1.5;
/// Lengths within a clearance are told this exactly, in metres.
const ON_THE_RIM: f64 = 1e-3;

/// What a straight trench would go through, its classes not numbered yet.
#[derive(Debug)]
pub(super) struct Raw {
    pub length: f64,
    pub spans: Vec<Span>,
    pub crossings: usize,
}

impl Roadmap<'_> {
    /// Whether a straight trench may run between two ends: in open ground, or out of a clearance
    /// in which one of them stands and into no other. Within it a trench may be `slant` times as
    /// long as the shortest way out.
    pub(super) fn may_run(&self, a: &End, b: &End, slant: f64) -> bool {
        let (from, to) = (a.at, b.at);
        if a.is_held() && b.is_held() {
            return self.ground.is_open(from, to);
        }
        let barred = |end: &End| !end.is_held() && !end.may_be_tucked;
        if barred(a) || barred(b) || !self.ground.bare().is_open(from, to) {
            return false;
        }
        let long = length(to - from);
        let most = |end: &End| slant * end.way_out + ON_THE_RIM;
        match self.ground.open().rim_crossings(from, to).as_slice() {
            [] => long <= most(a) + most(b),
            [out] if b.is_held() => out * long <= most(a),
            [back] if a.is_held() => (1.0 - back) * long <= most(b),
            [out, back] if !a.is_held() && !b.is_held() => {
                out * long <= most(a) && (1.0 - back) * long <= most(b)
            }
            _ => false,
        }
    }

    /// What a straight trench goes through; `None` where the rules for buried services forbid it.
    pub(super) fn measure(&self, a: &End, b: &End) -> Option<Raw> {
        let (from, to) = (a.at, b.at);
        let length = length(to - from);
        if length < 1e-6 {
            return None;
        }
        let crossings = self.ground.crossings(from, to);
        if crossings.iter().any(|c| c.angle < self.crossing_angle) {
            return None;
        }
        let spans = self.ground.spans(from, to);
        let in_zone = |end: &End| {
            end.is_site && {
                let class = self.ground.class_at(end.at);
                self.ground.is_in_tolerance(&class)
            }
        };
        let along: f64 = spans
            .iter()
            .filter(|s| self.ground.is_in_tolerance(&s.class))
            .map(|s| (s.to - s.from) * length)
            .sum();
        let allowed: f64 = if along > 0.0 {
            self.run_allowed(&crossings)
        } else {
            0.0
        };
        if along > allowed && !in_zone(a) && !in_zone(b) {
            return None;
        }
        Some(Raw {
            length,
            spans,
            crossings: crossings.len(),
        })
    }

    /// How long a trench may lie in tolerance zones, given the services that it crosses.
    pub(super) fn run_allowed(&self, crossings: &[ground::Crosses]) -> f64 {
        let crossed: f64 = crossings
            .iter()
            .map(|c| self.tolerance_run[c.utility])
            .sum();
        // Brushing a zone's rim without crossing is allowed for as long as a square crossing takes.
        crossed.max(self.tolerance_run.iter().copied().fold(0.0, f64::max))
    }

    /// Length and cost of digging of a straight trench that is not on the map, by the latest prices;
    /// nothing where it may not run. `unknown` prices ground that the map has not met.
    pub fn trial(
        &self,
        a: &End,
        b: &End,
        memory: &mut Memory,
        mut unknown: impl FnMut(u32, &Class, Coord) -> f64,
    ) -> Option<(f64, f64)> {
        let (a, b) = if a.key() <= b.key() { (a, b) } else { (b, a) };
        let key = Memory::key(a, b);
        let way = memory.get(&key).unwrap_or_else(|| {
            let may_run = self.may_run(a, b, SLANT);
            let raw = may_run.then(|| self.measure(a, b)).flatten();
            let way = raw.map(|raw| Arc::new(numbered(&self.corridors, memory, a.at, b.at, raw)));
            memory.put(key, way.clone());
            way
        })?;
        let unit = |(part, at): &(Through, Coord)| match self.unit(part.class) {
            Some(unit) => unit * part.counted(),
            None => unknown(part.class, memory.class(part.class), *at) * part.counted(),
        };
        let dig: f64 = way.parts.iter().map(unit).sum();
        let dig = dig + self.crossing * way.crossings as f64;
        Some((way.length, dig.max(0.0)))
    }

    pub(super) fn numbered(&mut self, from: Coord, to: Coord, raw: Raw) -> Measured {
        numbered(&self.corridors, &mut self.memory, from, to, raw)
    }
}

/// What a way goes through, with the memory's numbers for its classes.
fn numbered(
    corridors: &Corridors,
    memory: &mut Memory,
    from: Coord,
    to: Coord,
    raw: Raw,
) -> Measured {
    let long = length(to - from);
    let favoured = corridors.along(from, to);
    let part = |span: Span| {
        let (begin, end) = (span.from, span.to);
        let shares = favoured
            .iter()
            .map(|part| part.favour * part.overlap(begin, end));
        let through = Through {
            class: memory.number(span.class),
            metres: (end - begin) * long,
            favoured: shares.sum::<f64>() * long,
        };
        (through, from + (to - from) * ((begin + end) / 2.0))
    };
    Measured {
        length: raw.length,
        parts: raw.spans.into_iter().map(part).collect(),
        crossings: raw.crossings,
    }
}

/// Metres from a place to the open ground; 0 in it.
pub(super) fn way_out(ground: &Ground, at: Coord) -> f64 {
    if ground.open().holds(at) {
        return 0.0;
    }
    // Within a clearance the way out has some length, even where rounding makes it none.
    exit(ground, at).map_or(f64::INFINITY, |exit| {
        length(exit - at).max(f64::MIN_POSITIVE)
    })
}

/// The place of open ground nearest to one within a clearance with nothing solid between them.
pub(super) fn exit(ground: &Ground, at: Coord) -> Option<Coord> {
    let unobstructed = |foot| ground.bare().is_open(at, foot);
    ground.open().nearest(at, unobstructed)
}
