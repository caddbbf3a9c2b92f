//! How far a machine's way leads over ground that is protected with boards or mats.

use crate::free::distance;
use crate::reach::Reach;
use crate::site::{Site, unit};
use geo::{BoundingRect, Coord, MultiPolygon, coord};
use quantity::Length;
use rstar::{RTree, primitives::GeomWithData};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Distance of the places that ways lead through on open ground, in metres, and about how many of
/// them there are at most.
const STEP: f64 = 1.0;
const MOST_PLACES: f64 = 20_000.0;

/// Of two ways over as much protected ground the shorter is taken: a metre of open way weighs this
/// much of a protected one.
const OPEN_WEIGHT: f64 = 1e-3;

/// A way from an entrance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Way {
    /// Its length.
    pub length: Length,
    /// Of it, the length over protected surfaces and root zones.
    pub protected: Length,
}

/// Ways from the entrances over as little protected ground as can be, through places of a grid, the
/// middles of gaps and both sides of gates.
#[derive(Debug, Clone)]
pub(crate) struct Roads {
    places: RTree<GeomWithData<[f64; 2], u32>>,
    ways: Vec<Option<[f64; 2]>>,
    step: f64,
}

impl Roads {
    pub fn new(reach: &Reach, site: &Site) -> Self {
        let (places, step) = places(reach, site);
        let numbered = (0u32..).zip(&places);
        let tree = numbered.map(|(i, at)| GeomWithData::new([at.x, at.y], i));
        let mut roads = Self {
            places: RTree::bulk_load(tree.collect()),
            ways: vec![None; places.len()],
            step,
        };
        roads.find(reach, site, &places);
        roads
    }

    /// The way to a place where the machine fits.
    pub fn to(&self, reach: &Reach, site: &Site, place: Coord) -> Option<Way> {
        let near = self.near(place, 4.0 * self.step);
        let seen = near.filter_map(|(i, at)| {
            let [protected, length] = self.ways[i as usize]?;
            let [more, long] = leg(reach, site, at, place)?;
            Some([protected + more, length + long])
        });
        let [protected, length] = seen.min_by(|a, b| weight(*a).total_cmp(&weight(*b)))?;
        Some(Way {
            length: Length::m(length),
            protected: Length::m(protected),
        })
    }

    fn near(&self, place: Coord, within: f64) -> impl Iterator<Item = (u32, Coord)> + '_ {
        self.places
            .locate_within_distance([place.x, place.y], within * within)
            .map(|found| (found.data, coord! {x: found.geom()[0], y: found.geom()[1]}))
    }

    fn find(&mut self, reach: &Reach, site: &Site, places: &[Coord]) {
        let gates = gate_legs(reach, site, places);
        let mut queue = BinaryHeap::new();
        for (i, at) in (0u32..).zip(places) {
            let enters = reach.sources().iter().filter(|s| s.heading.is_none());
            if enters.into_iter().any(|s| distance(s.at, *at) < 1e-9) {
                queue.push(Front([0.0, 0.0], i));
            }
        }
        while let Some(Front(way, i)) = queue.pop() {
            if self.ways[i as usize].is_some() {
                continue;
            }
            self.ways[i as usize] = Some(way);
            let from = places[i as usize];
            let on = self.near(from, 1.5 * self.step);
            let legs = on.filter(|(j, _)| self.ways[*j as usize].is_none());
            let legs = legs.filter_map(|(j, at)| Some((j, leg(reach, site, from, at)?)));
            let through = gates.iter().filter(|(a, _, _)| *a == i);
            let through = through.map(|(_, b, length)| (*b, [0.0, *length]));
            let all = legs.chain(through);
            queue.extend(all.map(|(j, [more, long])| Front([way[0] + more, way[1] + long], j)));
        }
    }
}

fn weight([protected, length]: [f64; 2]) -> f64 {
    protected + OPEN_WEIGHT * length
}

#[derive(Debug, PartialEq)]
struct Front([f64; 2], u32);

impl Eq for Front {}

impl PartialOrd for Front {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// The lightest way is the greatest.
impl Ord for Front {
    fn cmp(&self, other: &Self) -> Ordering {
        let lighter = weight(other.0).total_cmp(&weight(self.0));
        lighter.then(other.1.cmp(&self.1))
    }
}

/// Protected and whole length of a straight leg, if the machine fits all along it.
fn leg(reach: &Reach, site: &Site, from: Coord, to: Coord) -> Option<[f64; 2]> {
    if !reach.fits().sees(from, to) {
        return None;
    }
    let length = distance(from, to);
    let heading = unit(to - from).unwrap_or_default();
    if site.slopes.admitted(from, heading, length, reach.limits()) < length {
        return None;
    }
    let parts = (length / (STEP / 4.0)).ceil().max(1.0);
    let protected = (0..parts as u32)
        .map(|i| from + (to - from) * ((f64::from(i) + 0.5) / parts))
        .filter(|at| site.is_protected(*at))
        .count();
    Some([length * protected as f64 / parts, length])
}

/// The legs through the gates that the machine passes, by the places at their ends.
fn gate_legs(reach: &Reach, site: &Site, places: &[Coord]) -> Vec<(u32, u32, f64)> {
    let index = |at: &Coord| places.iter().position(|p| distance(*p, *at) < 1e-9);
    let mut legs = Vec::new();
    for gate in site.gates.iter().filter(|g| g.clear >= reach.width) {
        for a in gate.sides[0].iter().filter_map(index) {
            for b in gate.sides[1].iter().filter_map(index) {
                let length = distance(places[a], places[b]);
                legs.push((a as u32, b as u32, length));
                legs.push((b as u32, a as u32, length));
            }
        }
    }
    legs
}

/// Where ways may turn, and the step between those of the grid.
fn places(reach: &Reach, site: &Site) -> (Vec<Coord>, f64) {
    let mut places: Vec<Coord> = reach.sources().iter().map(|s| s.at).collect();
    places.extend(site.gates.iter().flat_map(|g| g.sides.iter().flatten()));
    places.extend(site.gaps.iter().map(|(gap, _)| gap.middle()));
    let area: MultiPolygon = reach
        .parts()
        .polygons()
        .iter()
        .map(|(_, p)| p.clone())
        .collect();
    let Some(bounds) = area.bounding_rect() else {
        return (Vec::new(), STEP);
    };
    let step = (bounds.width() * bounds.height() / MOST_PLACES).sqrt();
    let step = step.max(STEP);
    let columns = (bounds.width() / step).ceil() as u32;
    let rows = (bounds.height() / step).ceil() as u32;
    let grid = (0..=rows).flat_map(|r| (0..=columns).map(move |c| (c, r)));
    let grid = grid.map(|(c, r)| bounds.min() + coord! {x: f64::from(c), y: f64::from(r)} * step);
    places.extend(grid);
    places.retain(|at| reach.fits().at(*at).is_some());
    (places, step)
}
