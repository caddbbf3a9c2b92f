//! Turned rectangles, and a grid to find what is near.

use crate::svg::Point;
use std::collections::BTreeMap;

/// A rectangle turned about its middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plate {
    pub middle: Point,
    half_width: f64,
    half_height: f64,
    cos: f64,
    sin: f64,
}

impl Plate {
    /// From its middle, half its width and height, and its turn in radians clockwise.
    pub fn new(middle: Point, half_width: f64, half_height: f64, turn: f64) -> Self {
        Self {
            middle,
            half_width,
            half_height,
            cos: turn.cos(),
            sin: turn.sin(),
        }
    }

    /// Half the width and height of the upright rectangle around it.
    pub fn reach(&self) -> (f64, f64) {
        let (c, s) = (self.cos.abs(), self.sin.abs());
        (
            self.half_width * c + self.half_height * s,
            self.half_width * s + self.half_height * c,
        )
    }

    /// Whether two boxes share more than an edge: no side of either separates them.
    pub fn overlaps(&self, other: &Self) -> bool {
        let axes = [
            (self.cos, self.sin),
            (-self.sin, self.cos),
            (other.cos, other.sin),
            (-other.sin, other.cos),
        ];
        axes.iter().all(|&axis| {
            let apart = (other.middle.x - self.middle.x) * axis.0
                + (other.middle.y - self.middle.y) * axis.1;
            apart.abs() < self.shadow(axis) + other.shadow(axis) - 1e-9
        })
    }

    /// Half the length of its shadow on an axis.
    fn shadow(&self, (x, y): (f64, f64)) -> f64 {
        self.half_width * (self.cos * x + self.sin * y).abs()
            + self.half_height * (self.cos * y - self.sin * x).abs()
    }

    /// How much of a line lies in the box (Liang and Barsky's clipping, in the box's own axes).
    pub fn covers(&self, from: Point, to: Point) -> f64 {
        let (a, b) = (self.own(from), self.own(to));
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let mut span = (0.0_f64, 1.0_f64);
        let sides = [
            (-dx, a.0 + self.half_width),
            (dx, self.half_width - a.0),
            (-dy, a.1 + self.half_height),
            (dy, self.half_height - a.1),
        ];
        for (toward, room) in sides {
            if toward.abs() < 1e-12 {
                if room < 0.0 {
                    return 0.0;
                }
            } else if toward < 0.0 {
                span.0 = span.0.max(room / toward);
            } else {
                span.1 = span.1.min(room / toward);
            }
        }
        (span.1 - span.0).max(0.0) * dx.hypot(dy)
    }

    fn own(&self, p: Point) -> (f64, f64) {
        let (dx, dy) = (p.x - self.middle.x, p.y - self.middle.y);
        (dx * self.cos + dy * self.sin, dy * self.cos - dx * self.sin)
    }
}

/// Things by the cells of a grid that they reach.
pub struct Grid<T> {
    things: Vec<T>,
    cells: BTreeMap<(i32, i32), Vec<usize>>,
}

impl<T> Default for Grid<T> {
    fn default() -> Self {
        Self {
            things: Vec::new(),
            cells: BTreeMap::new(),
        }
    }
}

/// Width of a cell, about that of a label.
const CELL: f64 = 12.0;
/// Nothing is looked for farther than so many cells from the sheet's corner.
const FAR: f64 = 200.0;

impl<T> Grid<T> {
    pub fn add(&mut self, thing: T, middle: Point, half_width: f64, half_height: f64) {
        let place = self.things.len();
        self.things.push(thing);
        for cell in cells(middle, half_width, half_height) {
            self.cells.entry(cell).or_default().push(place);
        }
    }

    /// Everything that may reach a rectangle, once each.
    pub fn near(
        &self,
        middle: Point,
        half_width: f64,
        half_height: f64,
    ) -> impl Iterator<Item = &T> {
        let mut places: Vec<usize> = cells(middle, half_width, half_height)
            .filter_map(|cell| self.cells.get(&cell))
            .flatten()
            .copied()
            .collect();
        places.sort_unstable();
        places.dedup();
        places.into_iter().map(|place| &self.things[place])
    }
}

fn cells(middle: Point, w: f64, h: f64) -> impl Iterator<Item = (i32, i32)> {
    let cell = |v: f64| (v / CELL).floor().clamp(-FAR, FAR) as i32;
    let (x0, x1) = (cell(middle.x - w), cell(middle.x + w));
    let (y0, y1) = (cell(middle.y - h), cell(middle.y + h));
    (x0..=x1).flat_map(move |x| (y0..=y1).map(move |y| (x, y)))
}
