//! Places where trenches may turn, meet or cross, before it is known which of them are used.

use crate::Site;
use crate::corridors::Corridors;
use geo::{Coord, Line, LinesIter};
use ground::Ground;
use job::Job;
use rayon::prelude::*;
use rstar::RTree;

/// How far a component looks for the border between two kinds of ground, in metres.
const BORDER_REACH: f64 = 8.0;
/// How far a component looks for paving or a service to cross, in metres.
const CROSSING_REACH: f64 = 25.0;
/// Nearer than this to a component, in metres, no other place is offered: one joins at the component.
pub const CLOSE_TO_SITE: f64 = 0.25;
/// A place beyond a border lies this far behind it, in metres.
const BEHIND_BORDER: f64 = 0.02;

/// Candidate places, apart from the components themselves.
#[derive(Debug, Default)]
pub struct Candidates {
    /// Places where a trench may turn or meet others.
    pub places: Vec<Coord>,
    /// Pairs of places that a sleeve may join under paving.
    pub sleeves: Vec<SleevePair>,
}

/// Two places that a sleeve may join.
#[derive(Debug, Clone)]
pub struct SleevePair {
    /// One end.
    pub a: Coord,
    /// The other end.
    pub b: Coord,
    /// The feature id of the sleeve, if it lies there already.
    pub existing: Option<String>,
}

/// All candidate places of a job.
pub fn candidates(job: &Job, ground: &Ground, sites: &[Site]) -> Candidates {
    let mut found = Candidates::default();
    let index = RTree::bulk_load(sites.iter().map(|s| [s.at.x, s.at.y]).collect());
    let mut free = border_places(ground, sites);
    free.extend(service_sides(job, &index));
    free.extend(triangle_junctions(sites));
    free.extend(corridor_places(job, &index));
    let near = CLOSE_TO_SITE * CLOSE_TO_SITE;
    free.retain(|p| {
        index
            .locate_within_distance([p.x, p.y], near)
            .next()
            .is_none()
    });
    found.places.extend(ground.open().turning_corners());
    found.places.extend(free);
    found.sleeves.extend(existing_sleeves(job));
    found.sleeves.extend(paving_crossings(job, ground, &index));
    found.places.retain(|p| ground.open().holds(*p));
    found
}

/// Places just behind the borders of the ground nearest to each component: along them the kind of
/// ground changes, so that a cheaper way may begin there.
fn border_places(ground: &Ground, sites: &[Site]) -> Vec<Coord> {
    let behind = |site: &Site| {
        let feet = ground.border_feet(site.at, BORDER_REACH, 3).into_iter();
        let places = feet.filter_map(|foot| {
            let away = length(foot - site.at);
            let further = BEHIND_BORDER / away;
            (away > BEHIND_BORDER).then(|| foot + (foot - site.at) * further)
        });
        places.collect::<Vec<Coord>>()
    };
    let places: Vec<Vec<Coord>> = sites.par_iter().map(behind).collect();
    places.concat()
}

/// Pairs of places square across buried services, just outside their tolerance zones.
fn service_sides(job: &Job, sites: &RTree<[f64; 2]>) -> Vec<Coord> {
    let tolerance = job.practice.utility.tolerance.value;
    let mut places = Vec::new();
    for utility in &job.survey.utilities {
        let off = (tolerance + utility.width * 0.5).to_m() + BEHIND_BORDER;
        for line in utility.line.lines() {
            let normal = left_normal(line);
            for foot in feet_and_steps(line, sites) {
                places.extend([foot + normal * off, foot - normal * off]);
            }
        }
    }
    places
}

/// Places just inside the edges of corridors, so that trenches may run along them.
fn corridor_places(job: &Job, sites: &RTree<[f64; 2]>) -> Vec<Coord> {
    let rims = Corridors::new(job).rims();
    let corners = rims.iter().map(|rim| rim.start);
    let along = rims.iter().flat_map(|rim| feet_and_steps(*rim, sites));
    corners.chain(along).collect()
}

fn existing_sleeves(job: &Job) -> impl Iterator<Item = SleevePair> + '_ {
    job.system.sleeves.iter().map(|s| SleevePair {
        a: s.from.into(),
        b: s.to.into(),
        existing: Some(s.id.clone()),
    })
}

/// Sleeves square across paving: from its edge straight in, out at the far edge if that is near square
/// too, and a little beyond on both sides.
fn paving_crossings(job: &Job, ground: &Ground, sites: &RTree<[f64; 2]>) -> Vec<SleevePair> {
    let rules = &job.practice.paving;
    let clearance = &job.practice.clearance;
    let kept = clearance.paving.value.max(clearance.along_edge.value);
    let beyond = (rules.sleeve_beyond_edge.value - kept).to_m();
    let beyond = beyond.max(BEHIND_BORDER);
    let least = rules.crossing_angle.value.to_rad();
    let edges: Vec<Line> = ground.paved().lines_iter().collect();
    let mut pairs = Vec::new();
    for edge in &edges {
        // Outlines run counter-clockwise, so the paving lies to the left of each edge.
        let inward = left_normal(*edge);
        for foot in feet_and_steps(*edge, sites) {
            let Some((through, far)) = way_out(&edges, foot, inward) else {
                continue;
            };
            let (a, b) = (foot - inward * beyond, foot + inward * (through + beyond));
            let square = ground::angle_between(Line::new(foot, foot + inward), far).to_rad();
            let free = ground.open().holds(a) && ground.open().holds(b);
            if square >= least && free && ground.hard().is_open(a, b) {
                pairs.push(SleevePair {
                    a,
                    b,
                    existing: None,
                });
            }
        }
    }
    pairs
}

/// Where a ray that enters paving at `foot` first meets an edge again: distance and edge.
fn way_out(edges: &[Line], foot: Coord, inward: Coord) -> Option<(f64, Line)> {
    edges
        .iter()
        .filter_map(|edge| {
            let along = edge.end - edge.start;
            let across = cross(inward, along);
            if across.abs() < 1e-12 {
                return None;
            }
            let to = edge.start - foot;
            let distance = cross(to, along) / across;
            let share = cross(to, inward) / across;
            (distance > 1e-3 && (0.0..=1.0).contains(&share)).then_some((distance, *edge))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

/// On a line: the feet of the components near it, and steps in between, ends left out.
pub(crate) fn feet_and_steps(line: Line, sites: &RTree<[f64; 2]>) -> Vec<Coord> {
    const STEP: f64 = 5.0;
    const MOST_FEET: usize = 24;
    let long = length(line.end - line.start);
    if long < 0.2 {
        return Vec::new();
    }
    let middle = (line.start + line.end) / 2.0;
    let within = (long / 2.0 + CROSSING_REACH).powi(2);
    let near = sites
        .locate_within_distance([middle.x, middle.y], within)
        .filter_map(|site| {
            let to = Coord {
                x: site[0],
                y: site[1],
            } - line.start;
            let along = (line.end - line.start) / long;
            let share = (to.x * along.x + to.y * along.y) / long;
            let off = cross(along, to).abs();
            (off <= CROSSING_REACH && (0.0..=1.0).contains(&share)).then_some((off, share))
        })
        .collect();
    let mut shares = nearest_shares(near, MOST_FEET);
    let steps = (long / STEP).ceil().max(1.0) as usize;
    shares.extend((0..steps).map(|i| (i as f64 + 0.5) / steps as f64));
    let margin = (0.1 / long).min(0.5);
    for share in &mut shares {
        *share = share.clamp(margin, 1.0 - margin);
    }
    shares.sort_by(f64::total_cmp);
    shares.dedup_by(|a, b| (*a - *b).abs() * long < 0.05);
    shares
        .into_iter()
        .map(|t| line.start + (line.end - line.start) * t)
        .collect()
}

/// The shares of the nearest ones, from pairs of distance and share.
fn nearest_shares(mut found: Vec<(f64, f64)>, most: usize) -> Vec<f64> {
    found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    found.truncate(most);
    found.into_iter().map(|(_, share)| share).collect()
}

/// The points from which three neighbouring components are reached with the least length.
fn triangle_junctions(sites: &[Site]) -> Vec<Coord> {
    let places: Vec<Coord> = sites.iter().map(|s| s.at).collect();
    let triangles = crate::mesh::triangles(&places);
    triangles
        .into_iter()
        .filter_map(|corners| {
            let corners = corners.map(|i| (places[i], 1.0));
            crate::fermat::junction(&corners)
        })
        .collect()
}

pub(crate) fn left_normal(line: Line) -> Coord {
    let along = line.end - line.start;
    let long = length(along).max(f64::MIN_POSITIVE);
    Coord {
        x: -along.y / long,
        y: along.x / long,
    }
}

pub(crate) fn cross(a: Coord, b: Coord) -> f64 {
    a.x * b.y - a.y * b.x
}

pub(crate) fn length(v: Coord) -> f64 {
    v.x.hypot(v.y)
}
