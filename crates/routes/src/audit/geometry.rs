//! Plane geometry for the checker, apart from that of the crates under test.

use geo::Polygon;
use job::Place;

/// Distance of a place from a straight part.
pub fn off_part(p: Place, (a, b): (Place, Place)) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let square = dx * dx + dy * dy;
    let share = if square > 0.0 {
        (((p.x - a.x) * dx + (p.y - a.y) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a.toward(b, share))
}

/// How far along the first part the second one crosses it, as a share; nothing if they are parallel
/// or do not meet.
pub fn crossing_share(first: (Place, Place), second: (Place, Place)) -> Option<f64> {
    let (a, b) = first;
    let (c, d) = second;
    let (u, v) = ((b.x - a.x, b.y - a.y), (d.x - c.x, d.y - c.y));
    let across = u.0 * v.1 - u.1 * v.0;
    if across.abs() < 1e-12 {
        return None;
    }
    let w = (c.x - a.x, c.y - a.y);
    let t = (w.0 * v.1 - w.1 * v.0) / across;
    let s = (w.0 * u.1 - w.1 * u.0) / across;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&s)).then_some(t)
}

/// The smaller angle between two straight parts, in radians.
pub fn angle(first: (Place, Place), second: (Place, Place)) -> f64 {
    let bearing = |(a, b): (Place, Place)| (b.y - a.y).atan2(b.x - a.x);
    let between = (bearing(first) - bearing(second)).rem_euclid(std::f64::consts::PI);
    between.min(std::f64::consts::PI - between)
}

/// The angle between two bearings, from 0 to π.
pub fn apart(a: f64, b: f64) -> f64 {
    let turn = (a - b).rem_euclid(std::f64::consts::TAU);
    turn.min(std::f64::consts::TAU - turn)
}

/// All straight parts of a polygon's rings.
pub fn parts(polygon: &Polygon) -> Vec<(Place, Place)> {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .flat_map(|ring| line_parts(&ring.0))
        .collect()
}

/// The straight parts of a line.
pub fn line_parts(coords: &[geo::Coord]) -> Vec<(Place, Place)> {
    let pairs = coords.windows(2);
    pairs
        .map(|pair| (Place::from(pair[0]), Place::from(pair[1])))
        .collect()
}

/// Whether a place lies inside a polygon, by the parity of the sides to its right.
pub fn inside(p: Place, sides: &[(Place, Place)]) -> bool {
    let right = |(a, b): &&(Place, Place)| {
        (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    sides.iter().filter(right).count() % 2 == 1
}

/// Distance from a place to the nearest of some parts.
pub fn off_parts(p: Place, sides: &[(Place, Place)]) -> f64 {
    let each = sides.iter().map(|side| off_part(p, *side));
    each.fold(f64::INFINITY, f64::min)
}

/// Least distance between a straight part and some others; 0 if any of them cross.
pub fn gap(part: (Place, Place), sides: &[(Place, Place)]) -> f64 {
    let between = |side: &(Place, Place)| {
        if crossing_share(part, *side).is_some() {
            return 0.0;
        }
        off_part(part.0, *side)
            .min(off_part(part.1, *side))
            .min(off_part(side.0, part))
            .min(off_part(side.1, part))
    };
    sides.iter().map(between).fold(f64::INFINITY, f64::min)
}

/// Places along a line at most `step` metres apart, its corners among them.
pub fn samples(path: &[Place], step: f64) -> Vec<Place> {
    let mut found = vec![path[0]];
    for pair in path.windows(2) {
        let steps = (pair[0].distance(pair[1]) / step).ceil().max(1.0) as usize;
        found.extend((1..=steps).map(|i| pair[0].toward(pair[1], i as f64 / steps as f64)));
    }
    found
}
