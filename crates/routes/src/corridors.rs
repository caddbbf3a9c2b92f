//! Strips in which people want trenches: there, a metre counts cheaper when ways are compared.

use crate::candidates::cross;
use geo::{BoundingRect, Contains, Coord, Line, LinesIter, Point, Polygon, Rect};
use ground::grow;
use job::Job;

/// A trench within a corridor keeps this far from its edge, in metres.
const INSIDE: f64 = 0.02;

/// The corridors of a job.
#[derive(Debug, Clone)]
pub struct Corridors(Vec<Corridor>);

#[derive(Debug, Clone)]
struct Corridor {
    polygon: Polygon,
    around: Rect,
    favour: f64,
}

/// A part of a straight line in a corridor, as shares of the line.
#[derive(Debug, Clone, Copy)]
pub struct Favoured {
    from: f64,
    to: f64,
    /// The part of each metre that does not count.
    pub favour: f64,
}

impl Favoured {
    /// How much of it lies between two shares of the line.
    pub fn overlap(&self, from: f64, to: f64) -> f64 {
        (self.to.min(to) - self.from.max(from)).max(0.0)
    }
}

impl Corridors {
    /// Those of a job.
    pub fn new(job: &Job) -> Self {
        let corridors = job.decisions.corridors.iter().filter_map(|corridor| {
            Some(Corridor {
                polygon: corridor.polygon.clone(),
                around: corridor.polygon.bounding_rect()?,
                favour: corridor.favour.to_one(),
            })
        });
        Self(corridors.collect())
    }

    /// The parts of a straight line that they favour. Where corridors overlap, the one that favours
    /// most counts, so that no metre counts less than nothing.
    pub fn along(&self, from: Coord, to: Coord) -> Vec<Favoured> {
        let line = Line::new(from, to);
        let near: Vec<&Corridor> = self.0.iter().filter(|c| c.is_near(line)).collect();
        if near.is_empty() {
            return Vec::new();
        }
        let mut shares = vec![0.0, 1.0];
        for corridor in &near {
            shares.extend(
                corridor
                    .polygon
                    .lines_iter()
                    .filter_map(|edge| share(line, edge)),
            );
        }
        shares.sort_by(f64::total_cmp);
        let parts = shares.windows(2).filter_map(|pair| {
            let middle = Point::from(from + (to - from) * ((pair[0] + pair[1]) / 2.0));
            let inside = near
                .iter()
                .filter(|corridor| corridor.polygon.contains(&middle));
            let favour = inside.map(|corridor| corridor.favour).fold(0.0, f64::max);
            (favour > 0.0 && pair[1] > pair[0]).then_some(Favoured {
                from: pair[0],
                to: pair[1],
                favour,
            })
        });
        parts.collect()
    }

    /// The lines just inside the edges of the corridors, along which trenches may run.
    pub fn rims(&self) -> Vec<Line> {
        let inner = self
            .0
            .iter()
            .flat_map(|corridor| grow(&corridor.polygon, -INSIDE));
        inner
            .flat_map(|polygon| polygon.lines_iter().collect::<Vec<_>>())
            .collect()
    }
}

impl Corridor {
    fn is_near(&self, line: Line) -> bool {
        let (low, high) = (self.around.min(), self.around.max());
        line.start.x.max(line.end.x) >= low.x
            && line.start.x.min(line.end.x) <= high.x
            && line.start.y.max(line.end.y) >= low.y
            && line.start.y.min(line.end.y) <= high.y
    }
}

/// Where along a line an edge crosses it; nothing if it does not, or runs along it.
fn share(line: Line, edge: Line) -> Option<f64> {
    let (u, v) = (line.end - line.start, edge.end - edge.start);
    let across = cross(u, v);
    if across == 0.0 {
        return None;
    }
    let to = edge.start - line.start;
    let (along, at) = (cross(to, v) / across, cross(to, u) / across);
    ((0.0..=1.0).contains(&along) && (0.0..=1.0).contains(&at)).then_some(along)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    fn corridor(left: f64, right: f64, favour: f64) -> Corridor {
        let around = Rect::new(coord! {x: left, y: -1.0}, coord! {x: right, y: 1.0});
        Corridor {
            polygon: around.to_polygon(),
            around,
            favour,
        }
    }

    #[test]
    fn a_line_is_favoured_where_it_lies_in_a_corridor_and_once_where_two_overlap() {
        let corridors = Corridors(vec![corridor(2.0, 6.0, 0.2), corridor(4.0, 8.0, 0.5)]);
        let parts = corridors.along(coord! {x: 0.0, y: 0.0}, coord! {x: 10.0, y: 0.0});
        let favoured: f64 = parts.iter().map(|p| p.favour * p.overlap(0.0, 1.0)).sum();
        assert!((favoured - (0.2 * 0.2 + 0.4 * 0.5)).abs() < 1e-12);
        let aside = corridors.along(coord! {x: 0.0, y: 2.0}, coord! {x: 10.0, y: 2.0});
        assert!(aside.is_empty());
    }
}
