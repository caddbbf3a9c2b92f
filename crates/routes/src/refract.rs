//! Places where a trench might bend at the border between a dear and a cheap kind of ground.

use crate::candidates::length;
use crate::roadmap::Roadmap;
use geo::Coord;

/// Grounds whose prices differ by less than this share are not worth a bend.
const LEAST_DIFFERENCE: f64 = 0.1;
/// How far to either side of the straight way a bend is tried, as shares of its length.
const ASIDE: [f64; 2] = [0.08, 0.25];
/// Trenches shorter than this are left straight, in metres.
const SHORTEST: f64 = 1.0;

/// Bends to try for a used edge, on the borders that it crosses.
pub fn bends(map: &Roadmap<'_>, edge: u32) -> Vec<Coord> {
    let e = &map.edges[edge as usize];
    if e.sleeve.is_some() || e.length < SHORTEST {
        return Vec::new();
    }
    let (a, b) = (map.nodes[e.a as usize], map.nodes[e.b as usize]);
    let along = (b - a) / e.length;
    let aside = Coord {
        x: -along.y,
        y: along.x,
    };
    let mut found: Vec<Coord> = Vec::new();
    for metres in map.borders_on(edge, LEAST_DIFFERENCE) {
        let border = a + along * metres;
        for share in ASIDE.iter().flat_map(|s| [*s, -*s]) {
            let off = share * e.length;
            let place = border + aside * off;
            let foot = map.border_foot(place, off.abs());
            found.extend(foot.filter(|foot| length(*foot - border) > 0.25 * off.abs()));
        }
    }
    found
}
