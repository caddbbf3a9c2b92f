//! The property itself: its line, what covers it, what it is made of, how one gets in.

use geo::Area;

use crate::draft::Draft;
use crate::overlay::Local;
use crate::{Finding, ObstacleKind, Shape};

/// Least area of a property, square metres.
const LEAST_AREA: f64 = 1.0;

pub(super) fn boundary_count(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    if draft.boundaries.is_empty() {
        out.push(Finding::error(
            "no-boundary",
            "job file",
            "has no boundary: nothing says where one may dig",
            "add one feature of kind \"boundary\" with the property line as a Polygon",
        ));
    }
    for extra in draft.boundaries.iter().skip(1) {
        out.push(extra.error(
            "several-boundaries",
            "is a second boundary",
            "keep one; draw the whole property as one Polygon",
        ));
    }
}

pub(super) fn boundary_empty(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    for boundary in &draft.boundaries {
        let area = boundary.shape.as_ref().map(Area::unsigned_area);
        if area.is_some_and(|area| area < LEAST_AREA) {
            out.push(boundary.error(
                "boundary-empty",
                "encloses less than a square metre",
                "give plane coordinates in the job's length unit, not degrees",
            ));
        }
    }
}

pub(super) fn no_surface_elsewhere(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    if !draft.surfaces.iter().any(|s| matches!(s.shape, Some(None))) {
        out.push(Finding::error(
            "no-surface-elsewhere",
            "job file",
            "does not say what covers the ground where no surface is drawn",
            "add a surface with \"geometry\": null",
        ));
    }
}

pub(super) fn no_soil_elsewhere(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    if !draft.soils.iter().any(|s| matches!(s.shape, Some(None))) {
        out.push(Finding::error(
            "no-soil-elsewhere",
            "job file",
            "does not say what the soil is where none is drawn",
            "add a soil with \"geometry\": null; a spade and a look at the texture tell its class",
        ));
    }
}

/// A fence is a line and a building an area; a wall and anything else may be either.
pub(super) fn obstacle_outline(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    use ObstacleKind::{Boulder, Building, Fence, Pool};
    for obstacle in &draft.obstacles {
        let (Some(kind), Some(shape)) = (obstacle.has.obstacle.get(), &obstacle.shape) else {
            continue;
        };
        let (found, mend) = match (kind, shape) {
            (Fence, Shape::Area(_)) => ("an area", "draw a fence as a LineString, where it stands"),
            (Building | Pool | Boulder, Shape::Line(_)) => {
                ("a line", "draw it as a Polygon, its outline closed")
            }
            _ => continue,
        };
        let what = format!("is a {} drawn as {found}", kind.label());
        out.push(obstacle.error("wrong-geometry", &what, mend));
    }
}

pub(super) fn no_access(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    if draft.accesses.is_empty() {
        out.push(Finding::error(
            "no-access",
            "job file",
            "does not say where machines get in",
            "add a Point of kind \"access\", where one drives or walks onto the property",
        ));
    }
}
