//! The shortest way between two places around polygons.

use crate::plane::{Walls, Ways};
use geo::{Coord, MultiPolygon, Polygon};

/// Length in metres of the shortest way from one place to another inside a boundary and outside
/// obstacles, edges and corners allowed; `None` if there is none. For many ways in one scene,
/// [`Ways`] does the common part of the work once.
pub fn shortest_path(
    boundary: &Polygon,
    obstacles: &MultiPolygon,
    from: Coord,
    to: Coord,
) -> Option<f64> {
    let walls = Walls::new(Some(boundary), &obstacles.0).ok()?;
    Ways::new(walls).length(from, to)
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
        assert!((found.unwrap() - expected).abs() < 1e-12 * expected);
    }
}
