//! Lines with fewer places.

use geo::{LineString, Simplify};

use crate::Xy;
use crate::limits::MOST_PLACES_IN_LINE;

/// A line is thinned piece by piece, so that the work grows with its length and not with its square.
const PIECE: usize = 128;

/// The line without places that lie nearer than `tolerance` to it (Douglas and Peucker, by pieces).
pub(crate) fn thinned(places: &[Xy], tolerance: f64) -> Vec<Xy> {
    if places.len() < 3 || tolerance <= 0.0 {
        return places.to_vec();
    }
    let mut kept: Vec<Xy> = Vec::new();
    let mut start = 0;
    while start + 1 < places.len() {
        let end = (start + PIECE).min(places.len() - 1);
        let piece: LineString = places[start..=end]
            .iter()
            .copied()
            .map(geo::Coord::from)
            .collect();
        let simple = piece.simplify(tolerance);
        let fresh = usize::from(start > 0);
        kept.extend(simple.0.iter().skip(fresh).map(|c| (c.x, c.y)));
        start = end;
    }
    kept
}

/// The line with no more places than a job file may have, and how far it is off at most.
pub(crate) fn within_limit(places: &[Xy], tolerance: f64) -> (Vec<Xy>, f64) {
    let reach = places
        .iter()
        .fold(0.0_f64, |reach, p| reach.max(p.0.abs()).max(p.1.abs()));
    let mut tolerance = tolerance.max(reach * 1e-9).max(1e-9);
    let mut kept = places.to_vec();
    let mut off = 0.0;
    while kept.len() > MOST_PLACES_IN_LINE {
        off += tolerance;
        kept = thinned(&kept, tolerance);
        if kept.len() > MOST_PLACES_IN_LINE && tolerance > reach {
            let step = kept.len().div_ceil(MOST_PLACES_IN_LINE - 1);
            let last = kept.last().copied();
            kept = kept.into_iter().step_by(step).collect();
            kept.extend(last);
            break;
        }
        tolerance *= 10.0;
    }
    (kept, off)
}
