//! Whether the outline of a polygon crosses or touches itself, and where.

use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Line};

/// Two edges of a ring that meet where they should not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Crossing {
    /// The edges, counted from 1 in the order of the ring.
    pub edges: (usize, usize),
    /// A place where they meet.
    pub at: Coord,
}

/// The first crossing of a closed ring (first place = last) that has no place twice in a row.
///
/// The validation of `geo` says only that there is one, and lets pass a ring that touches itself in a
/// vertex or runs back on itself. Compares only edges whose spans in x overlap.
pub(crate) fn crossing(ring: &[Coord]) -> Option<Crossing> {
    let edges: Vec<Line> = ring.windows(2).map(|w| Line::new(w[0], w[1])).collect();
    let mut order: Vec<usize> = (0..edges.len()).collect();
    let left = |i: usize| edges[i].start.x.min(edges[i].end.x);
    let right = |i: usize| edges[i].start.x.max(edges[i].end.x);
    order.sort_by(|&a, &b| left(a).total_cmp(&left(b)).then(a.cmp(&b)));
    order.iter().enumerate().find_map(|(k, &i)| {
        let overlapping = order[k + 1..].iter().take_while(|&&j| left(j) <= right(i));
        overlapping
            .filter_map(|&j| meeting(&edges, i.min(j), i.max(j)))
            .next()
    })
}

fn meeting(edges: &[Line], i: usize, j: usize) -> Option<Crossing> {
    let (a, b) = (edges[i], edges[j]);
    if a.start.y.max(a.end.y) < b.start.y.min(b.end.y)
        || b.start.y.max(b.end.y) < a.start.y.min(a.end.y)
    {
        return None;
    }
    let neighbours = j == i + 1 || (i == 0 && j + 1 == edges.len());
    let at = match line_intersection(a, b)? {
        LineIntersection::Collinear { intersection } => {
            if neighbours && intersection.start == intersection.end {
                return None;
            }
            intersection.end
        }
        LineIntersection::SinglePoint { .. } if neighbours => return None,
        LineIntersection::SinglePoint { intersection, .. } => intersection,
    };
    Some(Crossing {
        edges: (i + 1, j + 1),
        at,
    })
}

#[cfg(test)]
mod tests {
    use super::crossing;
    use geo::Coord;

    fn edges(ring: &[(f64, f64)]) -> Option<(usize, usize)> {
        let ring: Vec<Coord> = ring.iter().map(|&c| c.into()).collect();
        crossing(&ring).map(|c| c.edges)
    }

    #[test]
    fn a_square_and_a_triangle_do_not_cross_themselves() {
        assert_eq!(
            edges(&[(0., 0.), (4., 0.), (4., 4.), (0., 4.), (0., 0.)]),
            None
        );
        assert_eq!(edges(&[(0., 0.), (4., 0.), (1., 3.), (0., 0.)]), None);
        // A vertex in the middle of a straight side.
        assert_eq!(
            edges(&[(0., 0.), (2., 0.), (4., 0.), (1., 3.), (0., 0.)]),
            None
        );
    }

    #[test]
    fn a_bow_tie_crosses_in_its_middle() {
        let tie = [(0., 0.), (4., 4.), (4., 0.), (0., 4.), (0., 0.)];
        let ring: Vec<Coord> = tie.iter().map(|&c| c.into()).collect();
        let found = crossing(&ring).unwrap();
        assert_eq!(found.edges, (1, 3));
        assert_eq!(found.at, Coord { x: 2., y: 2. });
    }

    #[test]
    fn touching_itself_and_running_back_are_crossings_too() {
        let eight = [
            (0., 0.),
            (2., 2.),
            (4., 0.),
            (4., 4.),
            (2., 2.),
            (0., 4.),
            (0., 0.),
        ];
        assert!(edges(&eight).is_some());
        let spike = [(0., 0.), (4., 0.), (4., 6.), (4., 4.), (0., 4.), (0., 0.)];
        assert!(edges(&spike).is_some());
        let flat = [(0., 0.), (4., 0.), (2., 0.), (0., 0.)];
        assert!(edges(&flat).is_some());
    }
}
