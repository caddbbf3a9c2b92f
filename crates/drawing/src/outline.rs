//! Shapes of the job as points on the sheet.

use crate::sheet::{Frame, View};
use crate::svg::{Point, closed_path};
use geo::{Centroid, Contains, InteriorPoint, LineString, Polygon};
use job::Place;

pub fn points(view: &View, line: &LineString) -> Vec<Point> {
    line.coords().map(|&c| view.point(Place::from(c))).collect()
}

pub fn path_points(view: &View, path: &[Place]) -> Vec<Point> {
    path.iter().map(|&place| view.point(place)).collect()
}

/// Path data of a polygon with its holes; to be filled by the even-odd rule.
pub fn polygon(view: &View, polygon: &Polygon) -> String {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .map(|ring| closed_path(&points(view, ring)))
        .collect()
}

/// A point well inside a polygon: its centroid where that lies inside.
pub fn inner_point(view: &View, polygon: &Polygon) -> Option<Point> {
    polygon
        .centroid()
        .filter(|middle| polygon.contains(middle))
        .or_else(|| polygon.interior_point())
        .map(|point| view.point(Place::new(point.x(), point.y())))
}

/// Whether any of a line may lie in a frame; may say so of a line that just passes it.
pub fn may_reach(frame: Frame, points: &[Point]) -> bool {
    let outside = |far: &dyn Fn(&Point) -> bool| points.iter().all(far);
    !(outside(&|p| p.x < frame.x)
        || outside(&|p| p.x > frame.right())
        || outside(&|p| p.y < frame.y)
        || outside(&|p| p.y > frame.bottom()))
}

/// The pieces of a line that lie in a frame and in none of the holes.
pub fn pieces(points: &[Point], frame: Frame, holes: &[Frame]) -> Vec<Vec<Point>> {
    let mut pieces: Vec<Vec<Point>> = Vec::new();
    for pair in points.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let mut spans: Vec<(f64, f64)> = frame.span(from, to).into_iter().collect();
        for hole in holes.iter().filter_map(|hole| hole.span(from, to)) {
            spans = spans
                .into_iter()
                .flat_map(|(a, b)| [(a, b.min(hole.0)), (a.max(hole.1), b)])
                .filter(|(a, b)| b - a > 1e-9)
                .collect();
        }
        for (a, b) in spans {
            let (start, end) = (from.toward(to, a), from.toward(to, b));
            let goes_on = |piece: &&mut Vec<Point>| {
                piece.last().is_some_and(|last| last.distance(start) < 1e-6)
            };
            match pieces.last_mut().filter(goes_on) {
                Some(piece) => piece.push(end),
                None => pieces.push(vec![start, end]),
            }
        }
    }
    pieces
}

pub fn length(points: &[Point]) -> f64 {
    points.windows(2).map(|w| w[0].distance(w[1])).sum()
}

/// The point at a distance along a line, and the line's direction there in radians.
pub fn along(points: &[Point], distance: f64) -> Option<(Point, f64)> {
    let mut left = distance.max(0.0);
    let mut last = None;
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let piece = a.distance(b);
        if piece <= 0.0 {
            continue;
        }
        let direction = (b.y - a.y).atan2(b.x - a.x);
        if left <= piece {
            return Some((a.toward(b, left / piece), direction));
        }
        left -= piece;
        last = Some((b, direction));
    }
    last
}

/// A direction as degrees between −90 and 90, so that words along it stand upright.
pub fn upright(direction: f64) -> f64 {
    let mut turn = direction.to_degrees() % 180.0;
    if turn > 90.0 {
        turn -= 180.0;
    } else if turn <= -90.0 {
        turn += 180.0;
    }
    // A vertical line is read from the right.
    if turn > 89.9 { -90.0 } else { turn }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_falls_into_pieces_around_a_hole() {
        let at = Point::new;
        let line = [at(0.0, 5.0), at(10.0, 5.0), at(10.0, 30.0)];
        let frame = Frame::about(at(10.0, 10.0), 20.0, 20.0);
        let hole = Frame::about(at(5.0, 5.0), 2.0, 2.0);
        let pieces = pieces(&line, frame, &[hole]);
        let lengths: Vec<f64> = pieces.iter().map(|piece| length(piece)).collect();
        assert_eq!(pieces.len(), 2);
        assert!((lengths[0] - 4.0).abs() < 1e-9 && (lengths[1] - 19.0).abs() < 1e-9);
    }
}
