//! The corners of the dig area: their letters, and where each lies seen from what one finds.

use super::outline::Axes;
use super::{DigArea, DigCorner, SAME, Step, area};
use crate::{Baseline, FixedPoint};
use geo::{Coord, Distance, Euclidean, Point};
use job::{Job, Place};
use quantity::{Angle, Length};

/// Directions a fourth part of a half turn apart, clockwise from north.
const WINDS: [&str; 8] = [
    "north",
    "north-east",
    "east",
    "south-east",
    "south",
    "south-west",
    "west",
    "north-west",
];
const APART: f64 = 45.0;
/// A side that is off an axis by less than this, radians, runs along it.
const ALONG: f64 = 0.02;
/// A distance that reads as nought is not told, metres.
const TOLD: f64 = 0.015;

/// How directions are called.
pub struct Compass {
    /// Degrees clockwise from north to the first axis.
    bearing: f64,
    /// Its wind.
    wind: usize,
    /// Degrees clockwise from true north to the plan's y axis, if that is known.
    rotation: Option<f64>,
}

impl Compass {
    pub fn new(job: &Job, axes: &Axes) -> Self {
        let rotation = job.anchor.map(|anchor| anchor.rotation);
        let bearing = bearing(axes.angle(), rotation);
        Self {
            bearing,
            wind: wind(bearing),
            rotation,
        }
    }

    /// What north is, in the words of the request.
    pub fn north(&self, baseline: Option<&Baseline>) -> String {
        let axis = self.bearing - self.wind as f64 * APART;
        let off = Angle::deg(axis).amount();
        let line = baseline.map_or("the plan's x axis", |line| line.which.as_str());
        let which = match self.rotation {
            Some(_) => "true north",
            None => "the plan's upward direction, since true north is not surveyed",
        };
        let turned = match off.value.abs().to_degrees().round() as u32 {
            0 => format!("north is {which}"),
            degrees => {
                let way = if off.value > 0.0 {
                    "clockwise"
                } else {
                    "counterclockwise"
                };
                format!("north is taken {degrees}° {way} of {which}")
            }
        };
        format!("{turned}; distances run along and square to {line}")
    }

    /// The name of a direction along an axis: 0 along the first, 1 to its left, and so on.
    fn axis(&self, quarter: usize) -> &'static str {
        WINDS[(self.wind + 16 - 2 * quarter) % 8]
    }

    /// The name of any direction, radians counterclockwise from the plan's x.
    fn heading(&self, axes: &Axes, angle: f64) -> &'static str {
        let turn = (angle - axes.angle()).rem_euclid(std::f64::consts::TAU);
        let quarters = turn / std::f64::consts::FRAC_PI_2;
        let nearest = quarters.round();
        if (quarters - nearest).abs() * std::f64::consts::FRAC_PI_2 < ALONG {
            return self.axis(nearest as usize % 4);
        }
        WINDS[wind(bearing(angle, self.rotation))]
    }
}

/// Degrees clockwise from north of a direction in the plane.
fn bearing(angle: f64, rotation: Option<f64>) -> f64 {
    (90.0 - angle.to_degrees() + rotation.unwrap_or(0.0)).rem_euclid(360.0)
}

/// The nearest wind; of two as near, the same one every time.
fn wind(bearing: f64) -> usize {
    ((bearing / APART + 0.5 - 1e-9).floor() as usize) % WINDS.len()
}

/// What corners are named by.
pub struct Named<'a> {
    job: &'a Job,
    fixed: &'a [FixedPoint],
    axes: &'a Axes,
    compass: &'a Compass,
}

impl<'a> Named<'a> {
    pub fn new(
        job: &'a Job,
        fixed: &'a [FixedPoint],
        axes: &'a Axes,
        compass: &'a Compass,
    ) -> Self {
        Self {
            job,
            fixed,
            axes,
            compass,
        }
    }

    /// An area with its corners; those at which it hardly turns get no letter.
    pub fn area(&self, ring: &[Place], names: &mut impl Iterator<Item = String>) -> DigArea {
        let told: Vec<usize> = (0..ring.len()).filter(|i| self.is_told(ring, *i)).collect();
        let mut corners: Vec<DigCorner> = Vec::new();
        for (k, &i) in told.iter().enumerate() {
            let next = told[(k + 1) % told.len()];
            let way: Vec<Place> = steps(ring.len(), i, next).map(|j| ring[j]).collect();
            corners.extend(self.corner(&way, names));
        }
        DigArea {
            area: area(ring),
            outline: ring.to_vec(),
            corners,
        }
    }

    fn is_told(&self, ring: &[Place], i: usize) -> bool {
        let count = ring.len();
        let (before, at, after) = (
            ring[(i + count - 1) % count],
            ring[i],
            ring[(i + 1) % count],
        );
        let (p, q) = (
            (at.x - before.x, at.y - before.y),
            (after.x - at.x, after.y - at.y),
        );
        let turn = (p.0 * q.1 - p.1 * q.0).atan2(p.0 * q.0 + p.1 * q.1).abs();
        let leaves = self.is_boundary(before, at) != self.is_boundary(at, after);
        leaves || turn >= self.job.practice.staking.least_turn.value.si()
    }

    /// Whether a side of the area lies on the property line.
    fn is_boundary(&self, from: Place, to: Place) -> bool {
        let line = self.job.survey.boundary.polygon.exterior();
        [0.0, 0.5, 1.0].iter().all(|t| {
            let at = Point::from(Coord::from(from.toward(to, *t)));
            Euclidean.distance(&at, line) < SAME
        })
    }

    /// A corner with the way to the next one; nothing where nothing is fixed.
    fn corner(&self, way: &[Place], names: &mut impl Iterator<Item = String>) -> Option<DigCorner> {
        let (at, next) = (*way.first()?, *way.last()?);
        let from = self.nearest(at)?;
        let id = names.next()?;
        let angle = (next.y - at.y).atan2(next.x - at.x);
        Some(DigCorner {
            id,
            at,
            from,
            steps: self.steps(self.fixed[from].at, at),
            to_next: Length::m(way.windows(2).map(|pair| pair[0].distance(pair[1])).sum()),
            heading: self.compass.heading(self.axes, angle).to_owned(),
            along_boundary: way
                .windows(2)
                .all(|pair| self.is_boundary(pair[0], pair[1])),
        })
    }

    /// The fixed point to tell a corner from: one that it lies on, else the nearest that stands there to
    /// be seen, else the nearest corner of the property line.
    fn nearest(&self, at: Place) -> Option<usize> {
        let boundary = self.job.survey.boundary.id.as_str();
        let nearest = |seen: &dyn Fn(&FixedPoint) -> bool| {
            let all = self.fixed.iter().enumerate();
            all.filter(|(_, fixed)| seen(fixed))
                .min_by(|a, b| a.1.at.distance(at).total_cmp(&b.1.at.distance(at)))
                .map(|(i, _)| i)
        };
        nearest(&|fixed| fixed.at.distance(at) < TOLD)
            .or_else(|| nearest(&|fixed| fixed.feature != boundary))
            .or_else(|| nearest(&|_| true))
    }

    /// How to go from one place to another along the axes; what reads as nought is left out.
    fn steps(&self, from: Place, to: Place) -> Vec<Step> {
        let (a, b) = (self.axes.of(from), self.axes.of(to));
        let told = [0, 1].map(|i| (i, b[i] - a[i]));
        told.into_iter()
            .filter(|(_, way)| way.abs() >= TOLD)
            .map(|(i, way)| Step {
                length: Length::m(way.abs()),
                toward: self
                    .compass
                    .axis(if way > 0.0 { i } else { i + 2 })
                    .to_owned(),
            })
            .collect()
    }
}

/// Places of a ring from one on to another, both included, at least one step.
fn steps(count: usize, from: usize, to: usize) -> impl Iterator<Item = usize> {
    let last = if to > from { to } else { to + count };
    (from..=last).map(move |i| i % count)
}

/// `A`, `B`, … `Z`, `AA`, `AB`, …
pub fn names() -> impl Iterator<Item = String> {
    let single = ('A'..='Z').map(String::from);
    let double = ('A'..='Z').flat_map(|a| ('A'..='Z').map(move |b| format!("{a}{b}")));
    single.chain(double)
}

/// Twice the area inside a ring; negative if it runs clockwise as the plan is seen.
pub fn doubled_area(ring: &[Place]) -> f64 {
    let Some(&base) = ring.first() else {
        return 0.0;
    };
    let cross = |pair: &[Place]| {
        let [a, b] = [pair[0], pair[1]].map(|p| (p.x - base.x, p.y - base.y));
        a.0 * b.1 - a.1 * b.0
    };
    ring.windows(2).map(cross).sum()
}
