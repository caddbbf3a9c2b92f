//! How high a place is, from spot elevations.

use geo::Coord;
use spade::{DelaunayTriangulation, HasPosition, Point2, Triangulation};

#[derive(Debug, Clone, Copy)]
struct SpotVertex {
    at: Point2<f64>,
    height: f64,
}

impl HasPosition for SpotVertex {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.at
    }
}

/// The lie of the land through spot elevations.
///
/// Natural-neighbour interpolation inside their hull; outside it the height of the nearest place of the
/// hull. Without spots everything lies at height 0; with one or two, or with all in a line, heights run
/// linearly along the line and are level across it.
#[derive(Debug, Clone)]
pub struct Relief {
    mesh: DelaunayTriangulation<SpotVertex>,
    spots: Vec<(Coord, f64)>,
}

impl Relief {
    /// Through spots: place and height in metres. Spots at non-finite places are left out.
    pub fn new(spots: &[(Coord, f64)]) -> Self {
        let mut mesh = DelaunayTriangulation::new();
        let mut kept = Vec::new();
        for (at, height) in spots {
            let vertex = SpotVertex {
                at: Point2::new(at.x, at.y),
                height: *height,
            };
            if mesh.insert(vertex).is_ok() {
                kept.push((*at, *height));
            }
        }
        Self { mesh, spots: kept }
    }

    /// The height of a place in metres.
    pub fn height(&self, place: Coord) -> f64 {
        if self.mesh.num_inner_faces() > 0 {
            let at = Point2::new(place.x, place.y);
            let inside = self
                .mesh
                .natural_neighbor()
                .interpolate(|v| v.data().height, at);
            return inside.unwrap_or_else(|| self.height_at_hull(place));
        }
        self.height_on_line(place)
    }

    /// Rise over run of the steepest way through a place, from heights half a metre around it.
    pub fn slope(&self, place: Coord) -> f64 {
        const REACH: f64 = 0.5;
        let at = |dx: f64, dy: f64| {
            self.height(Coord {
                x: place.x + dx,
                y: place.y + dy,
            })
        };
        let gx = (at(REACH, 0.0) - at(-REACH, 0.0)) / (2.0 * REACH);
        let gy = (at(0.0, REACH) - at(0.0, -REACH)) / (2.0 * REACH);
        gx.hypot(gy)
    }

    fn height_at_hull(&self, place: Coord) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        for edge in self.mesh.convex_hull() {
            let [a, b] = edge.vertices().map(|v| *v.data());
            let found = along(a, b, place);
            if found.0 < best.0 {
                best = found;
            }
        }
        best.1
    }

    fn height_on_line(&self, place: Coord) -> f64 {
        let vertices: Vec<SpotVertex> = self.mesh.vertices().map(|v| *v.data()).collect();
        match vertices.as_slice() {
            [] => 0.0,
            [only] => only.height,
            _ => self
                .mesh
                .undirected_edges()
                .map(|edge| {
                    let [a, b] = edge.vertices().map(|v| *v.data());
                    along(a, b, place)
                })
                .min_by(|a, b| a.0.total_cmp(&b.0))
                .map_or(0.0, |found| found.1),
        }
    }

    /// How many spots it goes through.
    pub fn spots(&self) -> usize {
        self.spots.len()
    }
}

/// Distance from a place to the line between two spots, and the height at its foot there.
fn along(a: SpotVertex, b: SpotVertex, place: Coord) -> (f64, f64) {
    let (dx, dy) = (b.at.x - a.at.x, b.at.y - a.at.y);
    let length2 = dx * dx + dy * dy;
    let t = if length2 > 0.0 {
        (((place.x - a.at.x) * dx + (place.y - a.at.y) * dy) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let off = (a.at.x + dx * t - place.x).hypot(a.at.y + dy * t - place.y);
    (off, a.height + (b.height - a.height) * t)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    #[test]
    fn a_plane_through_the_spots_is_kept_and_levels_off_outside() {
        let plane = |x: f64, y: f64| 3.0 + 0.1 * x - 0.2 * y;
        let corners = [(0., 0.), (10., 0.), (10., 10.), (0., 10.), (4., 6.)];
        let spots: Vec<_> = corners
            .iter()
            .map(|(x, y)| (coord! {x: *x, y: *y}, plane(*x, *y)))
            .collect();
        let relief = Relief::new(&spots);
        assert!((relief.height(coord! {x: 3., y: 5.}) - plane(3., 5.)).abs() < 1e-9);
        assert!((relief.slope(coord! {x: 3., y: 5.}) - 0.1f64.hypot(0.2)).abs() < 1e-6);
        assert!((relief.height(coord! {x: 5., y: -4.}) - plane(5., 0.)).abs() < 1e-9);
    }

    #[test]
    fn few_spots_are_enough() {
        assert!(Relief::new(&[]).height(coord! {x: 1., y: 1.}).abs() < 1e-12);
        let two = Relief::new(&[(coord! {x: 0., y: 0.}, 1.0), (coord! {x: 10., y: 0.}, 2.0)]);
        assert!((two.height(coord! {x: 5., y: 3.}) - 1.5).abs() < 1e-12);
    }
}
