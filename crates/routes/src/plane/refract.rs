//! Where a line crosses the border between two costs.

use super::exact::{dot, far};
use geo::Coord;

/// Halvings of the border; after them the place is known to one part in 10^15.
const HALVINGS: usize = 52;

/// The place on the border from `border.0` to `border.1` at which a line from `a` to `b` crosses it
/// at least cost, if each unit of length costs `unit_a` before it and `unit_b` behind it. Unless it
/// is an end of the border, the sines of the angles between the two parts and the border's normal are to
/// each other as `unit_b` is to `unit_a`.
///
/// The cost is convex along the border, so the sign of its slope is halved down. Source: the law of
/// refraction as a condition of least cost (J. S. B. Mitchell and C. H. Papadimitriou, "The
/// weighted region problem", Journal of the ACM 38 (1991), 18–73, from memory).
pub fn refraction(
    border: (Coord, Coord),
    (a, unit_a): (Coord, f64),
    (b, unit_b): (Coord, f64),
) -> Coord {
    let along = border.1 - border.0;
    let pull = |from: Coord, unit: f64, at: Coord| {
        let away = far(from, at);
        if away > 0.0 {
            unit * dot(at - from, along) / away
        } else {
            0.0
        }
    };
    let rises = |share: f64| {
        let at = border.0 + along * share;
        pull(a, unit_a, at) + pull(b, unit_b, at) > 0.0
    };
    if rises(0.0) {
        return border.0;
    }
    if !rises(1.0) {
        return border.1;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if rises(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    border.0 + along * (0.5 * (low + high))
}
