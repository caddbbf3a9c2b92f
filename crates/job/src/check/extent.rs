//! A property is small; a place far from the others was mistyped or is in other units.

use crate::draft::{Draft, Item};
use crate::overlay::Local;
use crate::{Finding, Place, Shape};

/// Greatest distance of a feature from the middle of all, metres.
const FARTHEST: f64 = 100e3;

pub(super) fn far_away(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let places = corners(draft);
    let Some(middle) = middle(&places) else {
        return;
    };
    let mut said: Option<&str> = None;
    for (id, line, at) in &places {
        let far = (at.x - middle.x).abs() > FARTHEST || (at.y - middle.y).abs() > FARTHEST;
        if far && said != Some(id) {
            said = Some(id);
            out.push(Finding::error(
                "far-away",
                *id,
                format!("lies over {} km from the other features (line {line})", FARTHEST / 1e3),
                "look for a slip in its coordinates, and whether all are in the same unit and plane",
            ));
        }
    }
}

/// The middle value of x and of y, which a few wrong places do not move.
fn middle(places: &[(&str, usize, Place)]) -> Option<Place> {
    let mut xs: Vec<f64> = places.iter().map(|p| p.2.x).collect();
    let mut ys: Vec<f64> = places.iter().map(|p| p.2.y).collect();
    xs.sort_by(f64::total_cmp);
    ys.sort_by(f64::total_cmp);
    Some(Place::new(*xs.get(xs.len() / 2)?, *ys.get(ys.len() / 2)?))
}

/// Every place of every feature with the feature's id and line.
fn corners(draft: &Draft) -> Vec<(&str, usize, Place)> {
    let mut all = Corners(Vec::new());
    let polygon = |p: &geo::Polygon| p.exterior().0.iter().map(|&c| c.into()).collect();
    let elsewhere = |p: &Option<geo::Polygon>| p.as_ref().map(polygon).unwrap_or_default();
    let line = |l: &geo::LineString| l.0.iter().map(|&c| c.into()).collect::<Vec<Place>>();
    let ends = |e: &(Place, Place)| vec![e.0, e.1];
    let point = |p: &Place| vec![*p];
    all.add(&draft.boundaries, polygon);
    all.add(&draft.surfaces, elsewhere);
    all.add(&draft.obstacles, |shape| match shape {
        Shape::Area(p) => polygon(p),
        Shape::Line(l) => line(l),
    });
    all.add(&draft.trees, point);
    all.add(&draft.utilities, line);
    all.add(&draft.soils, elsewhere);
    all.add(&draft.steeps, polygon);
    all.add(&draft.spots, point);
    all.add(&draft.gates, ends);
    all.add(&draft.accesses, point);
    all.add(&draft.marks, point);
    all.add(&draft.baselines, ends);
    all.add(&draft.sources, point);
    all.add(&draft.backflows, point);
    all.add(&draft.controllers, point);
    all.add(&draft.valves, point);
    all.add(&draft.manifolds, point);
    for outlet in &draft.outlets {
        all.add(std::slice::from_ref(&outlet.item), point);
    }
    all.add(&draft.cables, Clone::clone);
    all.add(&draft.sleeves, ends);
    all.add(&draft.keep_outs, polygon);
    all.add(&draft.corridors, polygon);
    all.add(&draft.fixed_trenches, line);
    all.0
}

struct Corners<'a>(Vec<(&'a str, usize, Place)>);

impl<'a> Corners<'a> {
    fn add<G, M>(&mut self, items: &'a [Item<G, M>], places: impl Fn(&G) -> Vec<Place>) {
        for item in items {
            let places = item.shape.as_ref().map(&places).unwrap_or_default();
            self.0.extend(
                places
                    .into_iter()
                    .map(|at| (item.id.as_str(), item.line, at)),
            );
        }
    }
}
