//! Nearest places of two lines in the plane.

use job::Place;
use quantity::{Angle, Length};

/// Places nearer than this are one, metres.
pub(super) const SAME_PLACE: f64 = 1e-6;

/// Where a path comes nearest to a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Nearest {
    /// On the path.
    pub(super) at: Place,
    pub(super) distance: Length,
    /// Between the leg of the path and the part of the line there; 0 for a path of one place.
    pub(super) angle: Angle,
}

/// Where a path that does not cross a line comes nearest to it; of equally near places the first.
/// `None` for an empty path or line.
pub(super) fn nearest(path: &[Place], line: &[Place]) -> Option<Nearest> {
    let mut best: Option<Nearest> = None;
    for (a, b) in legs(path) {
        for (c, d) in legs(line) {
            // Two legs that do not cross are nearest at an end of one of them.
            let ends = [
                (a, foot(a, (c, d))),
                (b, foot(b, (c, d))),
                (foot(c, (a, b)), c),
                (foot(d, (a, b)), d),
            ];
            for (at, other) in ends {
                let distance = Length::m(at.distance(other));
                if best.is_none_or(|best| distance < best.distance) {
                    let angle = angle((a, b), (c, d));
                    best = Some(Nearest {
                        at,
                        distance,
                        angle,
                    });
                }
            }
        }
    }
    best
}

/// The legs of a path; of a single place one leg without length.
fn legs(path: &[Place]) -> Vec<(Place, Place)> {
    match path {
        [one] => vec![(*one, *one)],
        _ => path.windows(2).map(|pair| (pair[0], pair[1])).collect(),
    }
}

/// The place of a leg that is nearest to another place.
fn foot(p: Place, (a, b): (Place, Place)) -> Place {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let square = dx * dx + dy * dy;
    if square <= 0.0 {
        return a;
    }
    let t = ((p.x - a.x) * dx + (p.y - a.y) * dy) / square;
    a.toward(b, t.clamp(0.0, 1.0))
}

/// Between two undirected legs, from 0 to 90°.
fn angle((a, b): (Place, Place), (c, d): (Place, Place)) -> Angle {
    let (ux, uy) = (b.x - a.x, b.y - a.y);
    let (vx, vy) = (d.x - c.x, d.y - c.y);
    let (cross, dot) = (ux * vy - uy * vx, ux * vx + uy * vy);
    Angle::rad(cross.abs().atan2(dot.abs()))
}
