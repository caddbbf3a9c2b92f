//! The shortest way between two places around polygons.

use crate::candidates::length;
use geo::{Coord, MultiPolygon, Polygon};
use ground::FreeGround;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// How deep a way may cut into a corner by rounding, in metres.
const SLACK: f64 = 1e-7;

/// Length in metres of the shortest way from one place to another inside a boundary and outside
/// obstacles, edges and corners allowed; `None` if there is none.
pub fn shortest_path(
    boundary: &Polygon,
    obstacles: &MultiPolygon,
    from: Coord,
    to: Coord,
) -> Option<f64> {
    let free = FreeGround::with_slack(&MultiPolygon::new(vec![boundary.clone()]), obstacles, SLACK);
    let mut places = vec![from, to];
    places.extend(free.turning_corners());
    let mut best = vec![f64::INFINITY; places.len()];
    let mut heap = BinaryHeap::from([(Reverse(Far(0.0)), 0usize)]);
    best[0] = 0.0;
    while let Some((Reverse(Far(so_far)), here)) = heap.pop() {
        if here == 1 {
            return Some(so_far);
        }
        if so_far > best[here] {
            continue;
        }
        for (next, place) in places.iter().enumerate() {
            let far = so_far + length(*place - places[here]);
            if far < best[next] && free.is_open(places[here], *place) {
                best[next] = far;
                heap.push((Reverse(Far(far)), next));
            }
        }
    }
    None
}

#[derive(PartialEq)]
struct Far(f64);

impl Eq for Far {}

impl PartialOrd for Far {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Far {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Rect, coord};

    #[test]
    fn the_way_round_a_rectangle_touches_its_corners() {
        let yard = Rect::new(coord! {x: 0., y: 0.}, coord! {x: 20., y: 20.}).to_polygon();
        let house = Rect::new(coord! {x: 8., y: 4.}, coord! {x: 12., y: 16.}).to_polygon();
        let found = shortest_path(
            &yard,
            &MultiPolygon::new(vec![house]),
            coord! {x: 2., y: 10.},
            coord! {x: 18., y: 10.},
        );
        let expected = 2.0 * 6f64.hypot(6.0) + 4.0;
        assert!((found.unwrap() - expected).abs() < 1e-6 * expected);
    }
}
