//! On which side of a line a place lies, decided without rounding.

use geo::Coord;
use std::cmp::Ordering;

/// The side of the line from `a` to `b` on which `p` lies: `Greater` is left, `Equal` is on it.
///
/// Source: J. R. Shewchuk, "Adaptive precision floating-point arithmetic and fast robust geometric
/// predicates", Discrete & Computational Geometry 18 (1997), 305–363 (from memory).
pub(crate) fn side(a: Coord, b: Coord, p: Coord) -> Ordering {
    let place = |c: Coord| robust::Coord { x: c.x, y: c.y };
    let turn = robust::orient2d(place(a), place(b), place(p));
    if turn > 0.0 {
        Ordering::Greater
    } else if turn < 0.0 {
        Ordering::Less
    } else {
        Ordering::Equal
    }
}

/// Whether `p`, which lies on the line through `a` and `b`, lies between them or on one of them.
pub(crate) fn between(a: Coord, b: Coord, p: Coord) -> bool {
    let within = |low: f64, high: f64, value: f64| low.min(high) <= value && value <= low.max(high);
    within(a.x, b.x, p.x) && within(a.y, b.y, p.y)
}

/// How far along from `a` to `b` a place on their line lies, as a share.
pub(crate) fn share(a: Coord, b: Coord, p: Coord) -> f64 {
    if (b.x - a.x).abs() >= (b.y - a.y).abs() {
        (p.x - a.x) / (b.x - a.x)
    } else {
        (p.y - a.y) / (b.y - a.y)
    }
}

/// Distance; the plain formula, which is faster than `hypot` and exact enough for any plan.
pub(crate) fn far(a: Coord, b: Coord) -> f64 {
    let (dx, dy) = (a.x - b.x, a.y - b.y);
    (dx * dx + dy * dy).sqrt()
}

pub(crate) fn dot(a: Coord, b: Coord) -> f64 {
    a.x * b.x + a.y * b.y
}

pub(crate) fn cross(a: Coord, b: Coord) -> f64 {
    a.x * b.y - a.y * b.x
}

/// A rectangle along the axes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    pub low: Coord,
    pub high: Coord,
}

impl Frame {
    pub fn of(places: impl IntoIterator<Item = Coord>) -> Frame {
        let none = Frame {
            low: Coord {
                x: f64::INFINITY,
                y: f64::INFINITY,
            },
            high: Coord {
                x: f64::NEG_INFINITY,
                y: f64::NEG_INFINITY,
            },
        };
        places.into_iter().fold(none, |frame, p| Frame {
            low: Coord {
                x: frame.low.x.min(p.x),
                y: frame.low.y.min(p.y),
            },
            high: Coord {
                x: frame.high.x.max(p.x),
                y: frame.high.y.max(p.y),
            },
        })
    }

    pub fn meets(&self, other: &Frame) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
    }

    pub fn holds(&self, p: Coord) -> bool {
        self.low.x <= p.x && p.x <= self.high.x && self.low.y <= p.y && p.y <= self.high.y
    }
}
