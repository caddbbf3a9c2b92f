//! Edges by the squares of a lattice, so that a straight way meets the few that lie near it in the order
//! in which it passes them.

use crate::free::distance;
use geo::algorithm::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Line, coord};

/// About how many squares there are to an edge.
const SQUARES: f64 = 2.0;

/// The least side of a square in metres.
const LEAST_SIDE: f64 = 1e-3;

/// An edge counts for the squares that come within this share of a square's side.
const MARGIN: f64 = 1e-6;

/// Edges of polygons, each with the index of its own; one without length is left out.
#[derive(Debug, Clone)]
pub(crate) struct Rim {
    corner: Coord,
    side: f64,
    columns: usize,
    rows: usize,
    /// Where the edges of a square begin in `filed`, row by row.
    starts: Vec<u32>,
    filed: Vec<u32>,
    edges: Vec<(Line, u32)>,
}

/// A square of the lattice, and how far the way has come where it enters the square's rank.
struct Square {
    begins: f64,
    at: usize,
}

impl Rim {
    pub fn new(mut edges: Vec<(Line, u32)>) -> Self {
        edges.retain(|(edge, _)| edge.start != edge.end);
        let mut ends = edges.iter().flat_map(|(e, _)| [e.start, e.end]);
        let first = ends.next().unwrap_or_default();
        let (low, high) = ends.fold((first, first), |(low, high), end| {
            let low = coord! {x: low.x.min(end.x), y: low.y.min(end.y)};
            (low, coord! {x: high.x.max(end.x), y: high.y.max(end.y)})
        });
        let (wide, tall) = (high.x - low.x, high.y - low.y);
        let most = SQUARES * edges.len() as f64;
        let even = (wide * tall / most).sqrt();
        let side = even.max(wide.max(tall) / most).max(LEAST_SIDE);
        let squares = |length: f64| (length / side) as usize + 1;
        let mut rim = Self {
            corner: low,
            side,
            columns: if edges.is_empty() { 0 } else { squares(wide) },
            rows: squares(tall),
            starts: Vec::new(),
            filed: Vec::new(),
            edges,
        };
        rim.file();
        rim
    }

    fn file(&mut self) {
        let numbered = (0u32..).zip(&self.edges);
        let mut by_square: Vec<(usize, u32)> = numbered
            .flat_map(|(i, (edge, _))| self.squares(*edge).map(move |square| (square.at, i)))
            .collect();
        by_square.sort_unstable();
        let mut starts = vec![0; self.columns * self.rows + 1];
        for (square, _) in &by_square {
            starts[square + 1] += 1;
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        self.starts = starts;
        self.filed = by_square.into_iter().map(|(_, edge)| edge).collect();
    }

    /// The squares that a line passes through, rank by rank in its direction.
    fn squares(&self, line: Line) -> impl Iterator<Item = Square> + use<> {
        let [a, b] = [line.start, line.end].map(|p| (p - self.corner) / self.side);
        let steep = (b.y - a.y).abs() > (b.x - a.x).abs();
        let (a, b) = if steep {
            (coord! {x: a.y, y: a.x}, coord! {x: b.y, y: b.x})
        } else {
            (a, b)
        };
        let columns = self.columns;
        let (ranks, files) = if steep {
            (self.rows, columns)
        } else {
            (columns, self.rows)
        };
        let (first, last) = (within(a.x.min(b.x), ranks), within(a.x.max(b.x), ranks));
        // No rank across is wider than it is long: without length across there is none along.
        let wide = b.x - a.x;
        let rise = if wide.abs() > 0.0 {
            (b.y - a.y) / wide
        } else {
            0.0
        };
        let height = move |x: f64| a.y + (x.clamp(a.x.min(b.x), a.x.max(b.x)) - a.x) * rise;
        let count = if columns == 0 {
            0
        } else {
            last.1 + 1 - first.0
        };
        let scale = distance(line.start, line.end) / wide.abs();
        (0..count).flat_map(move |i| {
            let rank = if a.x <= b.x { first.0 + i } else { last.1 - i };
            let border = if a.x <= b.x { rank } else { rank + 1 };
            let begins = if i == 0 {
                0.0
            } else {
                (border as f64 - a.x).abs() * scale
            };
            let ends = [rank as f64 - MARGIN, rank as f64 + 1.0 + MARGIN].map(height);
            let low = within(ends[0].min(ends[1]), files).0;
            let high = within(ends[0].max(ends[1]), files).1;
            (low..high + 1).map(move |file| Square {
                begins,
                at: if steep {
                    rank * columns + file
                } else {
                    file * columns + rank
                },
            })
        })
    }

    fn edges_in(&self, square: usize) -> impl Iterator<Item = &(Line, u32)> {
        let range = self.starts[square] as usize..self.starts[square + 1] as usize;
        self.filed[range].iter().map(|i| &self.edges[*i as usize])
    }

    /// How far along a line its first crossing of an edge lies.
    pub fn first(&self, way: Line) -> Option<f64> {
        let mut found = f64::INFINITY;
        for square in self.squares(way) {
            if found < square.begins {
                break;
            }
            let crossings = self.edges_in(square.at);
            let crossings = crossings.filter_map(|(edge, _)| crossing(way, *edge));
            found = crossings
                .map(|at| distance(way.start, at))
                .fold(found, f64::min);
        }
        found.is_finite().then_some(found)
    }

    /// The indices of the edges that a line crosses, those near its start first; one may come again.
    pub fn crossed(&self, way: Line) -> impl Iterator<Item = u32> + '_ {
        self.squares(way)
            .flat_map(|square| self.edges_in(square.at))
            .filter(move |(edge, _)| crossing(way, *edge).is_some())
            .map(|(_, index)| *index)
    }
}

/// The squares on either side of a coordinate, of so many. Two if it is about on a border.
fn within(at: f64, squares: usize) -> (usize, usize) {
    let most = squares.saturating_sub(1) as f64;
    let square = |at: f64| at.floor().clamp(0.0, most) as usize;
    (square(at - MARGIN), square(at + MARGIN))
}

fn crossing(way: Line, edge: Line) -> Option<Coord> {
    Some(match line_intersection(way, edge)? {
        LineIntersection::SinglePoint { intersection, .. } => intersection,
        LineIntersection::Collinear { intersection } => intersection.start,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn place() -> impl Strategy<Value = Coord> {
        // Whole numbers put many lines on the borders of squares.
        let number = prop_oneof![-20.0..20.0_f64, (-20..20_i32).prop_map(f64::from)];
        (number.clone(), number).prop_map(|(x, y)| coord! {x: x, y: y})
    }

    fn some_line() -> impl Strategy<Value = Line> {
        (place(), place()).prop_map(|(a, b)| Line::new(a, b))
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]
        #[test]
        fn the_first_crossing_is_that_of_all_edges(
            edges in prop::collection::vec(some_line(), 0..40),
            way in some_line(),
        ) {
            let numbered: Vec<_> = edges.iter().copied().zip(0u32..).collect();
            let rim = Rim::new(numbered.clone());
            let numbered: Vec<_> = numbered.into_iter().filter(|(e, _)| e.start != e.end).collect();
            let met = |(edge, _): &(Line, u32)| crossing(way, *edge);
            let all = numbered.iter().filter_map(met).map(|at| distance(way.start, at));
            let first = all.min_by(f64::total_cmp);
            match (rim.first(way), first) {
                (Some(a), Some(b)) => prop_assert!((a - b).abs() < 1e-9, "{a} {b}"),
                (a, b) => prop_assert_eq!(a, b),
            }
            let mut crossed: Vec<u32> = rim.crossed(way).collect();
            crossed.sort_unstable();
            crossed.dedup();
            let crossing = numbered.iter().filter(|e| met(e).is_some()).map(|(_, i)| *i);
            prop_assert_eq!(crossed, crossing.collect::<Vec<_>>());
        }
    }
}
