//! The junction that joins several places with the least weighted length.

use super::exact::{dot, far};
use geo::Coord;

/// Newton's method ends after at most this many steps; it rarely takes ten.
const STEPS: usize = 60;
/// A step this small, as a share of the places' extent, is the last.
const STILL: f64 = 1e-13;

/// The place with the least sum of weighted distances to the given places; `None` if it is one of
/// them (so that no junction is gained), if there are fewer than three, or if a weight is not positive
/// and finite. The sum is convex: Newton's method with halved steps, begun from a step of
/// Weiszfeld's.
///
/// Source: E. Weiszfeld, Tôhoku Mathematical Journal 43 (1937), 355–386; that a place is itself the
/// least one exactly if the others pull at it with no more than its own weight: H. W. Kuhn,
/// Mathematical Programming 4 (1973), 98–107 (both from memory).
///
/// ```
/// use geo::coord;
/// let corners = [(0.0, 0.0), (2.0, 0.0), (1.0, 3f64.sqrt())];
/// let places = corners.map(|(x, y)| (coord! {x: x, y: y}, 1.0));
/// let middle = routes::plane::junction_of(&places).ok_or("lies on a corner")?;
/// assert!((middle.y - 3f64.sqrt() / 3.0).abs() < 1e-9);
/// # Ok::<(), &str>(())
/// ```
pub fn junction_of(places: &[(Coord, f64)]) -> Option<Coord> {
    let valid = |weight: f64| weight.is_finite() && weight > 0.0;
    if places.len() < 3 || !places.iter().all(|(_, weight)| valid(*weight)) {
        return None;
    }
    if (0..places.len()).any(|i| is_least_at(places, i)) {
        return None;
    }
    let total: f64 = places.iter().map(|(_, weight)| weight).sum();
    let sum = places
        .iter()
        .fold(Coord::zero(), |sum, (place, weight)| sum + *place * *weight);
    let mut at = sum / total;
    let extent = places.iter().map(|(p, _)| far(*p, at)).fold(0.0, f64::max);
    let mut value = weighted(places, at);
    for _ in 0..STEPS {
        let Some((next, less)) = improved(places, at, value, extent) else {
            break;
        };
        let moved = far(next, at);
        (at, value) = (next, less);
        if moved <= STILL * extent {
            break;
        }
    }
    let on_a_place = places.iter().any(|(p, _)| far(*p, at) <= 1e-9 * extent);
    (!on_a_place && at.x.is_finite() && at.y.is_finite()).then_some(at)
}

/// The sum of weighted distances from a place.
pub(crate) fn weighted(places: &[(Coord, f64)], at: Coord) -> f64 {
    places.iter().map(|(p, weight)| weight * far(*p, at)).sum()
}

fn is_least_at(places: &[(Coord, f64)], i: usize) -> bool {
    let (here, mut own) = places[i];
    let mut pull = Coord::zero();
    for (j, (place, weight)) in places.iter().enumerate() {
        let away = far(*place, here);
        if j != i && away > 0.0 {
            pull = pull + (*place - here) * (weight / away);
        } else if j != i {
            own += weight;
        }
    }
    pull.x.hypot(pull.y) <= own
}

/// A better place and its sum: by a Newton step if that is one, else by a step of Weiszfeld's.
fn improved(places: &[(Coord, f64)], at: Coord, value: f64, extent: f64) -> Option<(Coord, f64)> {
    let mut slope = Coord::zero();
    let mut share = 0.0;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (place, weight) in places {
        let away = far(*place, at).max(1e-12 * extent);
        let unit = (at - *place) / away;
        let bend = weight / away;
        slope = slope + unit * *weight;
        share += bend;
        xx += bend * unit.y * unit.y;
        xy -= bend * unit.x * unit.y;
        yy += bend * unit.x * unit.x;
    }
    let det = xx * yy - xy * xy;
    let newton = Coord {
        x: -(yy * slope.x - xy * slope.y) / det,
        y: -(xx * slope.y - xy * slope.x) / det,
    };
    let downhill = dot(newton, slope) < 0.0 && newton.x.is_finite() && newton.y.is_finite();
    let tries = [newton, newton * 0.5, newton * 0.25, newton * 0.1];
    let steps = tries.into_iter().filter(|_| downhill);
    let steps = steps.chain(std::iter::once(slope * (-1.0 / share)));
    steps
        .map(|step| (at + step, weighted(places, at + step)))
        .find(|(_, less)| *less < value)
}
