//! Shapes of a file fitted to the geometry that a kind of feature has.

use serde_json::{Map, Value};
use std::collections::BTreeMap;

use crate::Xy;
use crate::shape::Piece;

/// What became of a shape.
pub(crate) enum Fit {
    /// Features of these shapes.
    Ready(Vec<Piece>),
    /// An open line where an area is needed: others may close it.
    Open(Vec<Xy>),
    /// A point of a feature with several.
    Loose(Vec<Xy>),
    /// Nothing can be made of it, and why.
    Not(&'static str),
}

/// Kinds whose line has two places.
const TWO_PLACES: [&str; 3] = ["gate", "sleeve", "baseline"];
/// Obstacles that are areas.
pub(crate) const SOLID: [&str; 3] = ["building", "pool", "boulder"];

/// Fits a shape to a kind with its properties; lengths within `close` metres are none.
pub(crate) fn fit(
    piece: Piece,
    kind: &job::KindParts,
    properties: &Map<String, Value>,
    close: f64,
) -> Fit {
    let sort = properties.get("obstacle").and_then(Value::as_str);
    let may = |name: &str| kind.geometry.contains(&name);
    if matches!(piece, Piece::Nowhere) {
        return if may("null") {
            Fit::Ready(vec![piece])
        } else {
            Fit::Not("it has no place")
        };
    }
    if may("Polygon") && may("LineString") {
        let closed = matches!(&piece, Piece::Area(_) | Piece::Circle(..));
        let solid = sort.is_some_and(|sort| SOLID.contains(&sort));
        if solid || (closed && sort != Some("fence")) {
            return area(piece, close);
        }
        return match piece {
            Piece::Line(places) if sort != Some("fence") && nearly_closed(&places, close) => {
                area(Piece::Line(places), close)
            }
            other => line(other, false, close),
        };
    }
    if may("Polygon") {
        area(piece, close)
    } else if may("LineString") {
        line(piece, TWO_PLACES.contains(&kind.name), close)
    } else if may("MultiPoint") {
        several(piece)
    } else if may("Point") {
        point(piece)
    } else {
        Fit::Not("its kind has no place in the plan")
    }
}

fn area(piece: Piece, close: f64) -> Fit {
    const THIN: &str = "it has fewer than three corners";
    match piece {
        Piece::Area(rings) => {
            let mut rings: Vec<_> = rings.into_iter().map(tidy).collect();
            match rings.first() {
                Some(outer) if outer.len() >= 4 => {
                    rings.retain(|ring| ring.len() >= 4);
                    Fit::Ready(vec![Piece::Area(rings)])
                }
                _ => Fit::Not(THIN),
            }
        }
        Piece::Circle(_, ring) => Fit::Ready(vec![Piece::Area(vec![ring])]),
        Piece::Line(places) => {
            let mut places = tidy(places);
            if nearly_closed(&places, close) {
                close_up(&mut places);
                return area(Piece::Area(vec![places]), close);
            }
            if places.len() < 2 {
                return Fit::Not("it has no length");
            }
            Fit::Open(places)
        }
        _ => Fit::Not("it is a point where an area is needed"),
    }
}

fn line(piece: Piece, two: bool, close: f64) -> Fit {
    let lines = match piece {
        Piece::Line(places) => vec![places],
        Piece::Area(rings) => rings,
        Piece::Circle(_, ring) => vec![ring],
        _ => return Fit::Not("it is a point where a line is needed"),
    };
    let mut ready = Vec::new();
    for places in lines {
        let mut places = tidy(places);
        if places.len() < 2 {
            return Fit::Not("it has no length");
        }
        if two && places.len() > 2 {
            let (from, to) = (places[0], places[places.len() - 1]);
            if from == to || !places.iter().all(|at| off_line(*at, from, to) <= close) {
                return Fit::Not("it has more than two places, and they are not in line");
            }
            places = vec![from, to];
        }
        ready.push(Piece::Line(places));
    }
    Fit::Ready(ready)
}

fn several(piece: Piece) -> Fit {
    match piece {
        Piece::Point(at) | Piece::Circle(at, _) => Fit::Loose(vec![at]),
        Piece::Points(places) if places.len() < 2 => Fit::Loose(places),
        Piece::Points(places) | Piece::Line(places) => {
            Fit::Ready(vec![Piece::Points(tidy(places))])
        }
        _ => Fit::Not("it is an area where points are needed"),
    }
}

fn point(piece: Piece) -> Fit {
    match piece {
        Piece::Point(at) | Piece::Circle(at, _) => Fit::Ready(vec![Piece::Point(at)]),
        Piece::Points(places) => Fit::Ready(places.into_iter().map(Piece::Point).collect()),
        _ => Fit::Not("it is a line or an area where a point or a circle is needed"),
    }
}

/// Without places twice in a row.
fn tidy(mut places: Vec<Xy>) -> Vec<Xy> {
    places.dedup();
    places
}

fn apart(a: Xy, b: Xy) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

fn nearly_closed(places: &[Xy], close: f64) -> bool {
    let ends = places.first().zip(places.last());
    places.len() >= 3 && ends.is_some_and(|(first, last)| apart(*first, *last) <= close)
}

/// Lets the last place be the first; a last place that is not quite the first gives way to it.
fn close_up(places: &mut Vec<Xy>) {
    let first = places[0];
    if places.len() > 3 {
        places.pop();
    }
    if places.last() != Some(&first) {
        places.push(first);
    }
}

fn off_line(at: Xy, from: Xy, to: Xy) -> f64 {
    let length = apart(from, to);
    ((to.0 - from.0) * (from.1 - at.1) - (from.0 - at.0) * (to.1 - from.1)).abs() / length
}

/// Rings made of open lines whose ends meet within `close`, and how many lines are left over.
///
/// Takes each line in turn and goes on from its end to the nearest end of another.
pub(crate) fn joined(lines: Vec<Vec<Xy>>, close: f64) -> (Vec<Vec<Xy>>, usize) {
    let mut ends = Ends::of(&lines, close);
    let mut rings = Vec::new();
    let mut over = 0;
    for first in 0..lines.len() {
        if ends.used[first] {
            continue;
        }
        ends.used[first] = true;
        let mut chain = lines[first].clone();
        let mut members = 1;
        while !nearly_closed(&chain, close) {
            let Some(&end) = chain.last() else { break };
            let Some((next, reversed)) = ends.nearest(&lines, end) else {
                break;
            };
            ends.used[next] = true;
            members += 1;
            if reversed {
                chain.extend(lines[next].iter().rev().skip(1));
            } else {
                chain.extend(lines[next].iter().skip(1));
            }
        }
        if nearly_closed(&chain, close) && chain.len() >= 4 {
            close_up(&mut chain);
            rings.push(chain);
        } else {
            over += members;
        }
    }
    (rings, over)
}

/// The ends of lines by squares of the plane.
struct Ends {
    side: f64,
    squares: BTreeMap<(i64, i64), Vec<(usize, bool)>>,
    used: Vec<bool>,
}

impl Ends {
    /// So many ends in a square are looked at; where more lie together no one could tell what was meant.
    const MOST_IN_SQUARE: usize = 64;

    fn of(lines: &[Vec<Xy>], close: f64) -> Self {
        let mut ends = Self {
            side: close.max(1e-6),
            squares: BTreeMap::new(),
            used: vec![false; lines.len()],
        };
        for (n, line) in lines.iter().enumerate() {
            for (at, reversed) in line
                .first()
                .map(|at| (at, false))
                .into_iter()
                .chain(line.last().map(|at| (at, true)))
            {
                let square = ends.square(*at);
                ends.squares.entry(square).or_default().push((n, reversed));
            }
        }
        ends
    }

    fn square(&self, at: Xy) -> (i64, i64) {
        (
            (at.0 / self.side).floor() as i64,
            (at.1 / self.side).floor() as i64,
        )
    }

    /// The unused line with an end nearest to a place within reach, and whether it runs backward from there.
    fn nearest(&mut self, lines: &[Vec<Xy>], at: Xy) -> Option<(usize, bool)> {
        let (column, row) = self.square(at);
        let mut best: Option<(f64, usize, bool)> = None;
        for across in -1..=1 {
            for up in -1..=1 {
                let square = (column.saturating_add(across), row.saturating_add(up));
                let Some(entries) = self.squares.get_mut(&square) else {
                    continue;
                };
                let mut looked_at = 0;
                while looked_at < entries.len().min(Self::MOST_IN_SQUARE) {
                    let (n, reversed) = entries[looked_at];
                    if self.used[n] {
                        entries.swap_remove(looked_at);
                        continue;
                    }
                    looked_at += 1;
                    let end = if reversed {
                        lines[n].last()
                    } else {
                        lines[n].first()
                    };
                    let far = end.map_or(f64::INFINITY, |end| apart(*end, at));
                    let better =
                        best.is_none_or(|(least, m, _)| far < least || (far <= least && n < m));
                    if far <= self.side && better {
                        best = Some((far, n, reversed));
                    }
                }
            }
        }
        best.map(|(_, n, reversed)| (n, reversed))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_whose_ends_meet_make_a_ring() {
        let lines = vec![
            vec![(0.0, 0.0), (10.0, 0.0)],
            vec![(0.0, 5.0), (10.0, 5.0), (10.02, 0.0)],
            vec![(0.0, 5.03), (0.0, 0.0)],
            vec![(50.0, 50.0), (60.0, 50.0)],
        ];
        let (rings, over) = joined(lines, 0.1);
        assert_eq!((rings.len(), over), (1, 1));
        assert_eq!(rings[0].first(), rings[0].last());
    }

    #[test]
    fn many_ends_at_one_place_do_not_take_forever() {
        let lines: Vec<Vec<Xy>> = (0..300_000)
            .map(|n| vec![(0.0, 0.0), (1.0, f64::from(n))])
            .collect();
        let start = std::time::Instant::now();
        let (_, over) = joined(lines, 0.1);
        assert!(over > 0 && start.elapsed().as_secs() < 20);
    }

    #[test]
    fn a_line_that_nearly_closes_is_closed() {
        let places = vec![(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.05, 0.0)];
        let kind = job::kinds().find(|k| k.name == "boundary").unwrap();
        let Fit::Ready(pieces) = fit(Piece::Line(places), &kind, &Map::new(), 0.1) else {
            panic!("it is not fitted");
        };
        let ring = vec![(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 0.0)];
        assert_eq!(pieces, vec![Piece::Area(vec![ring])]);
    }
}
