//! Looks at a tree again, by other means than those that found it.

use super::{Surface, Tree};
use geo::{Contains, Coord, Point, Polygon};
use std::fmt;

/// What is wrong with a tree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TreeFault {
    /// A place to be joined is not the one asked for.
    Place(usize),
    /// A place to be joined hangs together with the first one by no parts.
    Apart(usize),
    /// A part runs through an obstacle, or beyond the boundary, at this place.
    Enters(Coord),
    /// Its parts cost something else than it says, by sampling.
    Cost {
        /// What was sampled.
        sampled: f64,
        /// What it says.
        said: f64,
    },
}

impl fmt::Display for TreeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TreeFault::Place(place) => write!(f, "place {place} is not the one asked for"),
            TreeFault::Apart(place) => write!(f, "place {place} is joined to nothing"),
            TreeFault::Enters(at) => write!(f, "enters an obstacle at {} {}", at.x, at.y),
            TreeFault::Cost { sampled, said } => {
                write!(f, "costs {sampled} by sampling, not {said}")
            }
        }
    }
}

impl std::error::Error for TreeFault {}

/// So many samples on each part.
const SAMPLES: usize = 400;
/// A sample this near to an outline, in the unit of the coordinates, is on it.
const ON_EDGE: f64 = 1e-5;

/// Share of the cost that may lie in ground too narrow to be met by a step.
const SLIVERS: f64 = 1e-5;

/// Checks that a tree joins the places, stays out of the obstacles and costs what it says, by
/// walking it in small steps: each part is sampled at 400 places. Where a step lies on an outline the
/// cheaper ground counts. The cost may differ by what one step costs for each change of ground, and by
/// a hundred-thousandth for slivers of ground that lie between two steps.
///
/// # Errors
///
/// The first fault found.
///
/// # Panics
///
/// If a part names a place that the tree has not.
pub fn check_tree(
    boundary: Option<&Polygon>,
    obstacles: &[Polygon],
    (surfaces, base): (&[Surface], f64),
    joined: &[Coord],
    tree: &Tree,
) -> Result<(), TreeFault> {
    check_joined(joined, tree)?;
    let inside = |polygon: &Polygon, p: Coord| polygon.contains(&Point::from(p));
    let mut sampled = 0.0;
    let mut slack = SLIVERS * tree.cost;
    for (a, b) in &tree.parts {
        let (from, to) = (tree.places[*a], tree.places[*b]);
        let long = (to.x - from.x).hypot(to.y - from.y);
        let step = long / SAMPLES as f64;
        let aside = (to - from) * (ON_EDGE / long.max(f64::MIN_POSITIVE));
        let aside = Coord {
            x: -aside.y,
            y: aside.x,
        };
        let mut last = f64::NAN;
        for i in 0..SAMPLES {
            let at = from + (to - from) * ((i as f64 + 0.5) / SAMPLES as f64);
            // A step on an outline is outside on at least one side.
            let open = |p: Coord| {
                !obstacles.iter().any(|o| inside(o, p)) && boundary.is_none_or(|o| inside(o, p))
            };
            let sides = [at, at + aside, at - aside]
                .into_iter()
                .filter(|p| open(*p));
            let units = sides.map(|p| {
                let mut above = surfaces.iter().rev();
                let on_top = above.find(|s| inside(&s.polygon, p));
                on_top.map_or(base, |s| s.cost)
            });
            let unit = units.fold(f64::INFINITY, f64::min);
            if !unit.is_finite() {
                return Err(TreeFault::Enters(at));
            }
            sampled += unit * step;
            if (unit - last).abs() > 0.0 {
                slack += step * unit.max(last);
            }
            last = unit;
        }
    }
    let said = tree.cost;
    if (sampled - said).abs() > slack {
        return Err(TreeFault::Cost { sampled, said });
    }
    Ok(())
}

fn check_joined(joined: &[Coord], tree: &Tree) -> Result<(), TreeFault> {
    let mut reached = vec![false; tree.places.len()];
    for (number, place) in joined.iter().enumerate() {
        if tree.places.get(number) != Some(place) {
            return Err(TreeFault::Place(number));
        }
    }
    if let Some(first) = reached.first_mut() {
        *first = true;
    }
    // As many sweeps as there are parts reach everything that can be reached.
    for _ in 0..=tree.parts.len() {
        for (a, b) in &tree.parts {
            if reached[*a] || reached[*b] {
                (reached[*a], reached[*b]) = (true, true);
            }
        }
    }
    let apart = reached[..joined.len()].iter().position(|r| !r);
    apart.map_or(Ok(()), |place| Err(TreeFault::Apart(place)))
}
