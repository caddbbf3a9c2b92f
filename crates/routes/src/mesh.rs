//! Neighbourhoods of places by Delaunay triangulation.

use geo::Coord;
use spade::{DelaunayTriangulation, HasPosition, Point2, Triangulation};

struct Numbered {
    at: Point2<f64>,
    number: usize,
}

impl HasPosition for Numbered {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.at
    }
}

fn triangulated(places: &[Coord]) -> DelaunayTriangulation<Numbered> {
    let vertices = places
        .iter()
        .enumerate()
        .map(|(number, p)| Numbered {
            at: Point2::new(p.x, p.y),
            number,
        })
        .collect();
    // Fails only on non-finite or absurdly large coordinates, which a checked job has none of.
    DelaunayTriangulation::bulk_load(vertices).unwrap_or_default()
}

/// The triangles of the Delaunay triangulation, as indices into the places, in ascending order.
pub fn triangles(places: &[Coord]) -> Vec<[usize; 3]> {
    let mesh = triangulated(places);
    let mut found: Vec<[usize; 3]> = mesh
        .inner_faces()
        .map(|face| {
            let mut corners = face.vertices().map(|v| v.data().number);
            corners.sort_unstable();
            corners
        })
        .collect();
    found.sort_unstable();
    found
}

/// Pairs of places at most `rings` steps apart in the Delaunay triangulation, lower index first, in
/// ascending order.
pub fn neighbours(places: &[Coord], rings: usize) -> Vec<(usize, usize)> {
    let mesh = triangulated(places);
    let mut beside: Vec<Vec<usize>> = vec![Vec::new(); places.len()];
    for edge in mesh.undirected_edges() {
        let [a, b] = edge.vertices().map(|v| v.data().number);
        beside[a].push(b);
        beside[b].push(a);
    }
    beside.iter_mut().for_each(|list| list.sort_unstable());
    let mut pairs = Vec::new();
    let mut seen = vec![usize::MAX; places.len()];
    for start in 0..places.len() {
        seen[start] = start;
        let mut ring = vec![start];
        for _ in 0..rings {
            let mut next = Vec::new();
            for here in &ring {
                for other in &beside[*here] {
                    if seen[*other] != start {
                        seen[*other] = start;
                        next.push(*other);
                    }
                }
            }
            pairs.extend(next.iter().filter(|o| **o > start).map(|o| (start, *o)));
            ring = next;
        }
    }
    pairs.sort_unstable();
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    #[test]
    fn two_rings_reach_over_one_place_in_a_row() {
        let row: Vec<Coord> = (0..5).map(|i| coord! {x: f64::from(i), y: 0.0}).collect();
        assert_eq!(neighbours(&row, 1), [(0, 1), (1, 2), (2, 3), (3, 4)]);
        assert!(neighbours(&row, 2).contains(&(0, 2)));
        assert!(triangles(&row).is_empty());
    }
}
