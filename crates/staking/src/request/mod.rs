//! The area that is white-lined and named in the locate request.
//!
//! Around all trenches lies a margin. The area is a rectangle along the baseline with all of that
//! inside, from whose corners rectangles without trench are cut while that is worth two more corners:
//! few corners are told in few words and marked with few lines. What would reach over the property line
//! is cut off there. Buildings may lie inside; nothing is dug in them.
//!
//! ```text
//!    A───────────B
//!    │ ═══╦══════│        ═ trench
//!    │    ║  D───C        cut off: no trench, and large
//!    F────────E
//! ```

mod corners;
mod outline;
mod results;
#[cfg(test)]
mod tests;

pub use results::*;

use crate::{Baseline, FixedPoint};
use geo::{
    Area as _, BooleanOps, Contains, Coord, Distance, Euclidean, Intersects, LineString, Point,
    Polygon,
};
use job::{Job, Place};
use outline::Axes;
use quantity::{Area, Length};
use routes::StretchId;
use working::{Ledger, Working};

/// Nearer than this is the same place, metres: cutting polygons moves corners by far less.
const SAME: f64 = 0.002;

/// The deepest cut of a plan and the stretch that has it.
pub type Deepest = Option<(StretchId, Length)>;

/// What the locate request names for trenches along paths, with its workings.
pub fn of(
    job: &Job,
    paths: &[&[Place]],
    (baseline, fixed): (Option<&Baseline>, &[FixedPoint]),
    deepest: Deepest,
    ledger: &mut Ledger,
) -> LocateRequest {
    let axes = Axes::along(baseline);
    let compass = corners::Compass::new(job, &axes);
    let named = corners::Named::new(job, fixed, &axes, &compass);
    let margin = job.practice.staking.dig_area_margin.value;
    let mut names = corners::names();
    let areas: Vec<DigArea> = rings(job, paths, &axes, margin)
        .into_iter()
        .map(|ring| named.area(&ring, &mut names))
        .collect();
    let request = LocateRequest {
        area: areas.iter().map(|area| area.area).sum(),
        margin,
        north: compass.north(baseline),
        deepest: deepest.map_or(Length::ZERO, |(_, depth)| depth),
        deepest_at: deepest.map(|(stretch, _)| stretch),
        areas,
    };
    put(job, fixed, &request, ledger);
    request
}

/// The outlines, clockwise as the plan is seen; the largest first.
fn rings(job: &Job, paths: &[&[Place]], axes: &Axes, margin: Length) -> Vec<Vec<Place>> {
    let Some(ring) = outline::around(paths, margin.si(), axes) else {
        return Vec::new();
    };
    let whole: LineString = ring.iter().map(|&place| Coord::from(place)).collect();
    let whole = Polygon::new(whole, Vec::new());
    let property = &job.survey.boundary.polygon;
    let inside = whole.intersection(property);
    let holds = |part: &&Polygon| {
        let near = |at: Place| {
            let point = Point::from(Coord::from(at));
            part.contains(&point) || Euclidean.distance(&point, part.exterior()) < SAME
        };
        paths.iter().copied().flatten().any(|at| near(*at))
    };
    let mut parts: Vec<Polygon> = inside.0.iter().filter(holds).cloned().collect();
    if parts.is_empty() {
        parts.push(whole.clone());
    }
    parts.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
    // A corner a hair beyond the property line is none of the area's.
    let within = whole.exterior().coords().copied();
    let within = within.filter(|corner| property.intersects(&Point::from(*corner)));
    let known: Vec<Coord> = property
        .exterior()
        .coords()
        .copied()
        .chain(within)
        .collect();
    parts
        .iter()
        .map(|part| clockwise(part.exterior(), &known))
        .filter(|ring| ring.len() >= 3)
        .collect()
}

/// A ring without its double end, corners on known places exactly, the most north-western one first.
fn clockwise(ring: &LineString, known: &[Coord]) -> Vec<Place> {
    let snapped = |at: &Coord| {
        let same = |other: &&Coord| Place::from(**other).distance(Place::from(*at)) < SAME;
        Place::from(*known.iter().find(same).unwrap_or(at))
    };
    let mut places: Vec<Place> = ring.coords().skip(1).map(snapped).collect();
    places.dedup_by(|a, b| a.distance(*b) < SAME);
    if corners::doubled_area(&places) > 0.0 {
        places.reverse();
    }
    let north_west = |place: &Place| place.y - place.x;
    let first = (0..places.len())
        .reduce(|best, i| {
            let ahead = north_west(&places[i]) > north_west(&places[best]) + SAME;
            if ahead { i } else { best }
        })
        .unwrap_or(0);
    places.rotate_left(first);
    places
}

const AREA: &str = "shoelace formula over the corners, all areas together";
const RULE: &str = "the rectangle along the baseline around all trenches and the margin, without corners in \
     which there is no trench, cut off at the property line";

fn put(job: &Job, fixed: &[FixedPoint], request: &LocateRequest, ledger: &mut Ledger) {
    if request.areas.is_empty() {
        return;
    }
    let margin = &job.practice.staking.dig_area_margin;
    let corners: usize = request.areas.iter().map(|area| area.corners.len()).sum();
    ledger.put(
        "locate.area",
        Working::new(
            "dig area of the locate request",
            request.area.amount(),
            AREA,
            "arithmetic",
        )
        .with("areas", quantity::Amount::count(request.areas.len()), RULE)
        .with("corners", quantity::Amount::count(corners), RULE)
        .with("margin", margin.value.amount(), margin.origin())
        .approximately("larger than what is dug, so that few words tell it"),
    );
    if let Some(stretch) = request.deepest_at {
        let depth = request.deepest.small();
        ledger.put(
            "locate.depth",
            Working::new(
                "deepest cut",
                depth,
                "the greatest depth of all cuts",
                "arithmetic",
            )
            .with("depth", depth, format!("figure stretch.{stretch}.depth")),
        );
    }
    for corner in request.areas.iter().flat_map(|area| &area.corners) {
        ledger.put(
            format!("locate.corner.{}", corner.id),
            of_corner(fixed, corner),
        );
    }
}

fn of_corner(fixed: &[FixedPoint], corner: &DigCorner) -> Working {
    let from = &fixed[corner.from];
    let mut working = Working::new(
        format!("corner {} of the dig area, from {}", corner.id, from.name),
        Length::m(from.at.distance(corner.at)).amount(),
        "√(first² + second²); first and second along the axes of the baseline",
        "geometry",
    );
    for (name, step) in ["first", "second"].iter().zip(&corner.steps) {
        working = working.with(*name, step.length.amount(), step.toward.clone());
    }
    working.with(
        "to the next",
        corner.to_next.amount(),
        corner.heading.clone(),
    )
}

/// The area inside a ring.
fn area(ring: &[Place]) -> Area {
    Area::m2(corners::doubled_area(ring).abs() / 2.0)
}
