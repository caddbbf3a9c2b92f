//! The line along which stations are counted.

use crate::{Baseline, Side};
use geo::LineString;
use job::{Job, ObstacleKind, Place, Shape};
use quantity::Length;

/// Nearer than this is on the line, metres.
const ON_IT: f64 = 0.001;
/// A side is longer than another from this share on, so that rounding does not choose.
const LONGER: f64 = 1.0 + 1e-9;

/// The job's baseline, else the longest straight side of a building, else of the property line.
pub fn of(job: &Job) -> Option<Baseline> {
    let survey = &job.survey;
    let given = survey.baseline.as_ref();
    if let Some(given) = given.filter(|line| line.from.distance(line.to) > 0.0) {
        return Some(Baseline {
            feature: given.id.clone(),
            which: "the job's baseline".to_owned(),
            from: given.from,
            to: given.to,
        });
    }
    let buildings = survey
        .obstacles
        .iter()
        .filter(|o| o.kind == ObstacleKind::Building)
        .filter_map(|o| match &o.shape {
            Shape::Area(polygon) => Some((o.id.as_str(), polygon.exterior())),
            Shape::Line(_) => None,
        });
    let boundary = [(
        survey.boundary.id.as_str(),
        survey.boundary.polygon.exterior(),
    )];
    longest(buildings).or_else(|| longest(boundary.into_iter()))
}

fn longest<'a>(outlines: impl Iterator<Item = (&'a str, &'a LineString)>) -> Option<Baseline> {
    let mut best: Option<(f64, Baseline)> = None;
    for (feature, outline) in outlines {
        for (number, side) in (1..).zip(outline.lines()) {
            let (from, to) = (Place::from(side.start), Place::from(side.end));
            let length = from.distance(to);
            if best.as_ref().is_none_or(|(most, _)| length > most * LONGER) {
                let which = format!("the longest straight side of {feature}, its side {number}");
                let feature = feature.to_owned();
                best = Some((
                    length,
                    Baseline {
                        feature,
                        which,
                        from,
                        to,
                    },
                ));
            }
        }
    }
    best.filter(|(length, _)| *length > 0.0)
        .map(|(_, side)| side)
}

impl Baseline {
    /// How far along the line a place lies, how far from it, and on which side.
    pub fn station(&self, at: Place) -> (Length, Length, Option<Side>) {
        let length = self.from.distance(self.to);
        let (dx, dy) = (
            (self.to.x - self.from.x) / length,
            (self.to.y - self.from.y) / length,
        );
        let (x, y) = (at.x - self.from.x, at.y - self.from.y);
        let (along, left) = (x * dx + y * dy, dx * y - dy * x);
        let side =
            (left.abs() > ON_IT).then_some(if left > 0.0 { Side::Left } else { Side::Right });
        (Length::m(along), Length::m(left.abs()), side)
    }
}
