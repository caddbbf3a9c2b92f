//! What tapes are held at: marks, corners of buildings and walls, ends of fences, gate posts, corners of
//! the property line.

use crate::FixedPoint;
use geo::{Coord, LineString};
use job::{Job, ObstacleKind, Place, Shape};

/// Nearer than this is the same place, metres.
const SAME: f64 = 0.005;

/// All fixed points, the surest first; one for every place.
pub fn all(job: &Job) -> Vec<FixedPoint> {
    let survey = &job.survey;
    let least_turn = job.practice.staking.least_turn.value.si();
    let mut fixed = Vec::new();
    let mut add = |feature: &str, name: String, at: Place| {
        let known = |other: &FixedPoint| other.at.distance(at) < SAME;
        if !fixed.iter().any(known) {
            let feature = feature.to_owned();
            fixed.push(FixedPoint { name, feature, at });
        }
    };
    for mark in &survey.marks {
        add(&mark.id, mark.id.clone(), mark.at);
    }
    for kind in [
        ObstacleKind::Building,
        ObstacleKind::Wall,
        ObstacleKind::Fence,
    ] {
        for obstacle in survey.obstacles.iter().filter(|o| o.kind == kind) {
            let id = &obstacle.id;
            for (number, corner) in corners(&obstacle.shape, kind, least_turn) {
                add(id, format!("{id} corner {number}"), corner.into());
            }
        }
    }
    for gate in &survey.gates {
        for (number, post) in [(1, gate.from), (2, gate.to)] {
            add(&gate.id, format!("{} post {number}", gate.id), post);
        }
    }
    let boundary = &survey.boundary;
    for (number, corner) in ring(boundary.polygon.exterior(), least_turn) {
        let name = format!("{} corner {number}", boundary.id);
        add(&boundary.id, name, corner.into());
    }
    fixed
}

/// The corners that one finds, each with its number in the outline from 1; of a fence in a line, its ends.
fn corners(shape: &Shape, kind: ObstacleKind, least_turn: f64) -> Vec<(usize, Coord)> {
    match shape {
        Shape::Area(polygon) => ring(polygon.exterior(), least_turn),
        Shape::Line(line) => {
            let last = line.0.len().saturating_sub(1);
            let inner = |i: usize| {
                kind != ObstacleKind::Fence
                    && turn(line.0[i - 1], line.0[i], line.0[i + 1]) >= least_turn
            };
            let places = line.0.iter().enumerate();
            places
                .filter(|(i, _)| *i == 0 || *i == last || inner(*i))
                .map(|(i, place)| (i + 1, *place))
                .collect()
        }
    }
}

fn ring(ring: &LineString, least_turn: f64) -> Vec<(usize, Coord)> {
    let count = ring.0.len().saturating_sub(1);
    let places = &ring.0[..count];
    (0..count)
        .filter(|i| {
            let (before, after) = ((i + count - 1) % count, (i + 1) % count);
            turn(places[before], places[*i], places[after]) >= least_turn
        })
        .map(|i| (i + 1, places[i]))
        .collect()
}

/// The angle by which a way turns at a place, radians, never negative.
fn turn(before: Coord, at: Coord, after: Coord) -> f64 {
    let (a, b) = (at - before, after - at);
    (a.x * b.y - a.y * b.x).atan2(a.x * b.x + a.y * b.y).abs()
}
