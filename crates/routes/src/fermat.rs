//! The junction that joins several places with the least weighted length.

use crate::candidates::length;
use geo::Coord;

/// Steps of the iteration; each at least halves what is left of the error in ordinary cases.
const STEPS: usize = 60;

/// The place with the least sum of weighted distances to the given places, by Weiszfeld's iteration;
/// `None` if it lies on one of them (so that no junction is gained) or if there are fewer than three.
///
/// Source: E. Weiszfeld, Tôhoku Mathematical Journal 43 (1937), 355–386 (from memory).
pub fn junction(places: &[(Coord, f64)]) -> Option<Coord> {
    if places.len() < 3
        || places
            .iter()
            .any(|(_, weight)| !weight.is_finite() || *weight <= 0.0)
    {
        return None;
    }
    let total: f64 = places.iter().map(|(_, weight)| weight).sum();
    let sum = places
        .iter()
        .fold(Coord::zero(), |sum, (place, weight)| sum + *place * *weight);
    let mut at = sum / total;
    for _ in 0..STEPS {
        let mut pull = Coord::zero();
        let mut share = 0.0;
        for (place, weight) in places {
            let away = length(*place - at);
            if away < 1e-6 {
                return None;
            }
            pull = pull + *place * (weight / away);
            share += weight / away;
        }
        let next = pull / share;
        let moved = length(next - at);
        at = next;
        if moved < 1e-7 {
            break;
        }
    }
    let on_a_place = places.iter().any(|(place, _)| length(*place - at) < 1e-3);
    (!on_a_place && at.x.is_finite() && at.y.is_finite()).then_some(at)
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
        assert!(length(at - coord! {x: 1.0, y: 3f64.sqrt() / 3.0}) < 1e-6);
    }

    #[test]
    fn a_wide_angle_gains_no_junction() {
        let places = [(0.0, 0.0), (5.0, 0.5), (10.0, 0.0)].map(|(x, y)| (coord! {x: x, y: y}, 1.0));
        assert!(junction(&places).is_none());
    }
}
