//! Shapes of the job as points on the sheet.

use crate::sheet::View;
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
