//! Nothing is dug outside the property line.

use geo::{Distance, Euclidean, Intersects, Point, Polygon};

use quantity::{Length, Units};

use super::SAME_PLACE;
use super::components::components;
use crate::draft::{Draft, Item};
use crate::finding::on_line;
use crate::overlay::Local;
use crate::{Finding, Place, Shape};

pub(super) fn component_outside(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let Some(property) = property(draft) else {
        return;
    };
    for c in components(draft) {
        if !reaches(property, c.at) {
            let away = Euclidean.distance(property, &Point::new(c.at.x, c.at.y));
            let units = draft.units.unwrap_or(Units::Si);
            let away = Length::m(away).amount().show(units);
            out.push(Finding::error(
                "outside-boundary",
                c.id,
                on_line(
                    format_args!("is a {} {away} outside the property line", c.label),
                    c.line,
                ),
                "move it onto the property, or correct the property line",
            ));
        }
    }
}

/// An area or line of which no part lies on the property is a slip, but stops nothing.
pub(super) fn feature_outside(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let Some(property) = property(draft) else {
        return;
    };
    let area = |p: &Polygon| property.intersects(p);
    let elsewhere = |p: &Option<Polygon>| p.as_ref().is_none_or(area);
    let ends = |e: &(Place, Place)| reaches(property, e.0) || reaches(property, e.1);
    warn(&draft.surfaces, elsewhere, out);
    warn(&draft.soils, elsewhere, out);
    warn(&draft.steeps, area, out);
    warn(&draft.utilities, |line| property.intersects(line), out);
    warn(&draft.gates, ends, out);
    warn(&draft.sleeves, ends, out);
    warn(&draft.keep_outs, area, out);
    warn(&draft.corridors, area, out);
    warn(&draft.fixed_trenches, |line| property.intersects(line), out);
    let obstacle = |shape: &Shape| match shape {
        Shape::Area(area) => property.intersects(area),
        Shape::Line(line) => property.intersects(line),
    };
    warn(&draft.obstacles, obstacle, out);
}

fn warn<G, M>(items: &[Item<G, M>], touches: impl Fn(&G) -> bool, out: &mut Vec<Finding>) {
    for item in items {
        if item.shape.as_ref().is_some_and(|shape| !touches(shape)) {
            out.push(item.warning(
                "all-outside-boundary",
                "lies wholly outside the property line and counts for nothing",
                "look at its coordinates, or take it out",
            ));
        }
    }
}

fn property(draft: &Draft) -> Option<&Polygon> {
    draft.boundaries.first().and_then(|b| b.shape.as_ref())
}

fn reaches(property: &Polygon, at: Place) -> bool {
    Euclidean.distance(property, &Point::new(at.x, at.y)) <= SAME_PLACE
}
