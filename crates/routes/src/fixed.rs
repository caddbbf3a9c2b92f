//! Trenches that run where people have drawn them.

use crate::LineKind;
use crate::candidates::feet_and_steps;
use crate::roadmap::Roadmap;
use crate::sites::Wanted;
use geo::{Coord, Intersects, Line};
use ground::Ground;
use job::{Carried, Finding, FixedTrench, Job, ObstacleKind, Severity, Shape};
use rstar::RTree;

/// The places along a fixed trench at which others may join it, ends and bends included.
pub fn places_along(trench: &FixedTrench, sites: &RTree<[f64; 2]>) -> Vec<Coord> {
    let mut places = vec![trench.line.0[0]];
    for segment in trench.line.lines() {
        places.extend(feet_and_steps(segment, sites));
        places.push(segment.end);
    }
    places
}

/// The numbers of the lines that a fixed trench carries.
pub fn lines_in(trench: &FixedTrench, lines: &[Wanted]) -> Vec<usize> {
    let number = |carried: &Carried| lines.iter().position(|line| is(&line.kind, carried));
    trench.carries.iter().filter_map(number).collect()
}

fn is(kind: &LineKind, carried: &Carried) -> bool {
    match (kind, carried) {
        (LineKind::Service, Carried::Service)
        | (LineKind::Main, Carried::Main)
        | (LineKind::Wire, Carried::Wire) => true,
        (LineKind::Lateral(a), Carried::Lateral(b)) | (LineKind::Cable(a), Carried::Cable(b)) => {
            a == b
        }
        _ => false,
    }
}

/// What stands against fixed trenches: errors where one cannot run as drawn, warnings where it may
/// but keeps no clearance.
pub fn conflicts(job: &Job, ground: &Ground) -> Vec<Finding> {
    let mut found = Vec::new();
    for trench in &job.decisions.fixed {
        let mut of_trench: Vec<Finding> = trench
            .line
            .lines()
            .filter_map(|part| conflict(job, ground, trench, part))
            .collect();
        of_trench.sort();
        of_trench.dedup();
        // A clearance says nothing new about a trench that cannot run anyway.
        if of_trench
            .iter()
            .any(|finding| finding.severity == Severity::Error)
        {
            of_trench.retain(|finding| finding.severity == Severity::Error);
        }
        found.extend(of_trench);
    }
    found
}

fn conflict(job: &Job, ground: &Ground, trench: &FixedTrench, part: Line) -> Option<Finding> {
    let (from, to) = (part.start, part.end);
    if !ground.bare().is_open(from, to) {
        return Some(Finding::error(
            "fixed-in-the-way",
            &trench.id,
            format!("runs through {}", in_the_way(job, part)),
            "draw the trench around it",
        ));
    }
    let paved = ground.spans(from, to).into_iter().find_map(|span| {
        let middle = from + (to - from) * ((span.from + span.to) / 2.0);
        let ground = ground.describe(&span.class, middle);
        ground.surface.is_paved().then_some(ground)
    });
    if let Some(paving) = paved {
        return Some(Finding::error(
            "fixed-under-paving",
            &trench.id,
            format!("crosses {} {}", paving.surface.label(), paving.surface_id),
            "end it at the edge and draw what goes on as another one beyond; paving is crossed by a \
             sleeve",
        ));
    }
    (!ground.is_open(from, to)).then(|| {
        Finding::warning(
            "fixed-in-clearance",
            &trench.id,
            "enters the clearance of an obstacle, paving, a trunk or the property line".to_owned(),
            "draw it farther off, or dig that part by hand",
        )
    })
}

/// What keeps a straight trench from running, by name.
fn in_the_way(job: &Job, part: Line) -> String {
    let obstacle = job.survey.obstacles.iter().find(|obstacle| {
        obstacle.kind != ObstacleKind::Fence
            && match &obstacle.shape {
                Shape::Area(area) => area.intersects(&part),
                Shape::Line(line) => line.intersects(&part),
            }
    });
    let keep_out = || {
        job.decisions
            .keep_outs
            .iter()
            .find(|place| place.polygon.intersects(&part))
    };
    match (obstacle, keep_out()) {
        (Some(obstacle), _) => format!("{} {}", obstacle.kind.label(), obstacle.id),
        (None, Some(place)) => format!("{}, where nothing may be dug", place.id),
        (None, None) => "the property line".to_owned(),
    }
}

/// Lines that a fixed trench is to carry and that have no use for it, given each line's edges.
pub fn unused(job: &Job, map: &Roadmap<'_>, lines: &[Wanted], trees: &[Vec<u32>]) -> Vec<Finding> {
    let mut found = Vec::new();
    for (trench, edges) in job.decisions.fixed.iter().zip(&map.fixed_edges) {
        for line in lines_in(trench, lines) {
            let used = edges.iter().filter(|edge| trees[line].contains(edge));
            if used.count() == 0 {
                found.push(Finding::warning(
                    "fixed-unused",
                    &trench.id,
                    format!(
                        "would lead nowhere for {}, which is laid elsewhere",
                        lines[line].kind.in_words()
                    ),
                    "draw it where the line passes, or fix the trenches before and after it too",
                ));
            }
        }
    }
    found
}
