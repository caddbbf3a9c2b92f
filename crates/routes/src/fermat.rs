//! The junction that joins several places with the least weighted length.

use crate::plane::junction_of;
use geo::Coord;

/// A junction this near to a place, in metres, is no gain: one joins at the place.
const AT_PLACE: f64 = 1e-3;

/// The place with the least sum of weighted distances to the given places in metres (see
/// [`junction_of`]); `None` if it lies within a millimetre of one of them (so that no junction is
/// gained) or if there are fewer than three.
pub fn junction(places: &[(Coord, f64)]) -> Option<Coord> {
    let at = junction_of(places)?;
    let near = |p: &Coord| (*p - at).x.hypot((*p - at).y) < AT_PLACE;
    (!places.iter().any(|(place, _)| near(place))).then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    #[test]
    fn three_corners_of_an_even_triangle_meet_in_its_middle() {
        let corners = [(0.0, 0.0), (2.0, 0.0), (1.0, 3f64.sqrt())];
        let places = corners.map(|(x, y)| (coord! {x: x, y: y}, 1.0));
        let at = junction(&places).unwrap();
        let off = at - coord! {x: 1.0, y: 3f64.sqrt() / 3.0};
        assert!(off.x.hypot(off.y) < 1e-9);
    }

    #[test]
    fn a_wide_angle_gains_no_junction() {
        let places = [(0.0, 0.0), (5.0, 0.5), (10.0, 0.0)].map(|(x, y)| (coord! {x: x, y: y}, 1.0));
        assert!(junction(&places).is_none());
    }
}
