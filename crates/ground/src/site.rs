//! What machines of all sizes share: solid things, slopes, what is not driven over, the ways in.
//!
//! Nothing here depends on a machine, so that what a larger machine finds a smaller one finds too.

use crate::free::{distance, is_area};
use crate::gaps::{Gap, Pinch, WidestWays, gaps};
use crate::slopes::Slopes;
use crate::solids::Solids;
use crate::{Regions, Relief};
use geo::{BooleanOps, Coord, Line, MultiPolygon, unary_union};
use job::practice::Travel;
use job::{Gate, Job, SurfaceKind};
use rstar::{RTree, primitives::GeomWithData};

/// How far from an entrance a machine's middle may begin, in metres.
const ENTRY: f64 = 3.0;

/// The circles about an entrance on which it may begin.
const ENTRY_RINGS: u32 = 4;

/// Beyond half its clear width, the places from which a gate is driven through, in metres.
const BESIDE_GATE: [f64; 3] = [0.05, 0.3, 0.6];

/// Directions in a full circle that are always tried.
pub(crate) const COMPASS: u32 = 24;

/// Within this of a place, solid edges and gaps give directions worth trying, in metres.
const GUIDES: f64 = 4.0;

/// Within this of a place the gap is looked for that is too narrow to turn in, in metres.
const PINCH_NEAR: f64 = 20.0;

/// Sides of the polygons that stand for root zones.
const ROOT_SIDES: u32 = 24;

/// Something that machines do not drive over.
#[derive(Debug, Clone)]
pub(crate) struct KeptOff {
    pub name: String,
    pub area: MultiPolygon,
}

/// A gate as a way: places on its two sides from which it is driven through, and the direction from
/// the second side to the first.
#[derive(Debug, Clone)]
pub(crate) struct GateWay {
    pub clear: f64,
    pub sides: [Vec<Coord>; 2],
    pub normal: Coord,
}

#[derive(Debug, Clone)]
pub(crate) struct Site {
    pub solids: Solids,
    pub slopes: Slopes,
    pub kept_off: Vec<KeptOff>,
    /// The property without anything solid and without what is not driven over.
    pub free: MultiPolygon,
    pub gaps: Vec<(Gap, Vec<Coord>)>,
    gap_middles: RTree<GeomWithData<[f64; 2], u32>>,
    pub entries: Vec<Coord>,
    pub gates: Vec<GateWay>,
    pub widest: WidestWays,
    surfaces: Regions,
    protected_surfaces: Vec<bool>,
    protected_elsewhere: bool,
    protected_roots: Regions,
}

impl Site {
    pub fn new(job: &Job, relief: &Relief, surfaces: &Regions, steeps: &Regions) -> Self {
        let solids = Solids::of(job);
        let kept_off = kept_off(job, surfaces);
        let mut taken = solids.ground();
        taken.extend(kept_off.iter().map(|k| k.area.clone()));
        let property = MultiPolygon::new(vec![job.survey.boundary.polygon.clone()]);
        let free = property.difference(&unary_union(taken.iter().flat_map(|t| t.iter())));
        let rooms = job.prices.method.values();
        let rooms = rooms.filter_map(|m| m.turning_room.as_ref());
        let widest_room = rooms.map(|r| r.value.to_m()).fold(0.0, f64::max);
        let bare_gaps = gaps(&solids, widest_room);
        let entries = entries(job, &solids);
        let widest = WidestWays::new(job, &solids, &bare_gaps, &entries);
        let gaps: Vec<(Gap, Vec<Coord>)> = bare_gaps
            .into_iter()
            .map(|gap| (gap, gap_headings(&solids, gap)))
            .collect();
        let middles = (0u32..).zip(&gaps).map(|(i, (gap, _))| {
            let middle = gap.middle();
            GeomWithData::new([middle.x, middle.y], i)
        });
        let gap_middles = RTree::bulk_load(middles.collect());
        let rule = |kind: SurfaceKind| job.practice.travel_over(kind) == Travel::Protected;
        let elsewhere = job.survey.surfaces.iter().rfind(|s| s.polygon.is_none());
        Self {
            slopes: Slopes::new(job, relief, steeps),
            kept_off,
            free,
            gaps,
            gap_middles,
            entries,
            gates: job
                .survey
                .gates
                .iter()
                .map(|g| gate_way(g, &solids))
                .collect(),
            widest,
            surfaces: surfaces.clone(),
            protected_surfaces: job.survey.surfaces.iter().map(|s| rule(s.kind)).collect(),
            protected_elsewhere: rule(elsewhere.map_or(SurfaceKind::BareSoil, |s| s.kind)),
            protected_roots: protected_roots(job),
            solids,
        }
    }

    /// Whether machines drive over a place only on boards or mats.
    pub fn is_protected(&self, place: Coord) -> bool {
        let surface = self.surfaces.at(place);
        surface.map_or(self.protected_elsewhere, |i| {
            self.protected_surfaces[i as usize]
        }) || self.protected_roots.at(place).is_some()
    }

    /// The gap nearest to a place among those that a body fits through and that are narrower than it
    /// needs to turn about.
    pub fn pinch_near(&self, place: Coord, width: f64, needed: f64) -> Option<Pinch> {
        let near = self.gaps_near(place, PINCH_NEAR);
        let narrow = near.filter(|gap| (width..needed).contains(&gap.width()));
        let away = |gap: &Gap| distance(gap.middle(), place);
        let gap = narrow.min_by(|a, b| away(a).total_cmp(&away(b)))?;
        Some(gap.pinch(&self.solids, needed))
    }

    /// The gaps whose middle lies within a distance of a place.
    pub fn gaps_near(&self, place: Coord, within: f64) -> impl Iterator<Item = Gap> + '_ {
        self.gap_middles
            .locate_within_distance([place.x, place.y], within * within)
            .map(|found| self.gaps[found.data as usize].0)
    }

    /// The directions in which it is worth trying to drive from a place: away from what is nearest,
    /// all round the compass, along what stands near, through gaps near.
    pub fn headings(&self, place: Coord) -> impl Iterator<Item = Coord> + '_ {
        let near: Vec<(Line, u32)> = self.solids.edges_near(place, GUIDES).collect();
        let feet = near.iter().map(|(e, _)| crate::free::foot_on(*e, place));
        let nearest = feet.min_by(|a, b| distance(*a, place).total_cmp(&distance(*b, place)));
        let away = nearest.and_then(|foot| unit(place - foot));
        let along = near
            .into_iter()
            .filter_map(|(edge, _)| unit(edge.end - edge.start));
        let through = self.gaps_near(place, GUIDES).flat_map(move |gap| {
            let toward = unit(gap.middle() - place);
            [Some(gap.across()), toward].into_iter().flatten()
        });
        let guided = along.chain(through).flat_map(|h| [h, h * -1.0]);
        let mut tried: Vec<u16> = Vec::new();
        let fresh = move |heading: &Coord| {
            let degree = heading.y.atan2(heading.x).to_degrees().rem_euclid(360.0);
            let degree = (degree.round() as u16) % 360;
            let new = !tried.contains(&degree);
            if new {
                tried.push(degree);
            }
            new
        };
        away.into_iter()
            .chain(compass())
            .chain(guided.filter(fresh))
    }
}

/// Unit vectors all round.
pub(crate) fn compass() -> impl Iterator<Item = Coord> {
    (0..COMPASS).map(|i| {
        let angle = std::f64::consts::TAU * f64::from(i) / f64::from(COMPASS);
        Coord {
            x: angle.cos(),
            y: angle.sin(),
        }
    })
}

pub(crate) fn unit(vector: Coord) -> Option<Coord> {
    let length = vector.x.hypot(vector.y);
    (length > 1e-9).then(|| vector / length)
}

/// Square to the gap, and along the edges at its ends.
fn gap_headings(solids: &Solids, gap: Gap) -> Vec<Coord> {
    let mut headings = vec![gap.across()];
    for end in [gap.ends.start, gap.ends.end] {
        for (edge, _) in solids.edges_near(end, 1e-5) {
            headings.extend(unit(edge.end - edge.start));
        }
    }
    let differs = |a: &Coord, b: &Coord| (a.x * b.y - a.y * b.x).abs() > 0.02;
    let mut kept: Vec<Coord> = Vec::new();
    for heading in headings {
        if kept.iter().all(|other| differs(other, &heading)) {
            kept.push(heading);
        }
    }
    kept
}

/// Places about each entrance that are seen from it.
fn entries(job: &Job, solids: &Solids) -> Vec<Coord> {
    let accesses = job.survey.accesses.iter().map(|a| Coord::from(a.at));
    let around = accesses.flat_map(|access| {
        let rings = (1..=ENTRY_RINGS).flat_map(move |ring| {
            let away = ENTRY * f64::from(ring) / f64::from(ENTRY_RINGS);
            // Every other direction, by turns.
            let directions = compass().skip(ring as usize % 2).step_by(2);
            directions.map(move |heading| access + heading * away)
        });
        std::iter::once(access)
            .chain(rings)
            .map(move |at| (access, at))
    });
    around
        .filter(|(access, at)| {
            let mut met = solids.met(Line::new(*access, *at));
            met.all(|index| solids.is_boundary(index))
        })
        .map(|(_, at)| at)
        .collect()
}

fn gate_way(gate: &Gate, solids: &Solids) -> GateWay {
    let (a, b) = (Coord::from(gate.from), Coord::from(gate.to));
    let middle = (a + b) / 2.0;
    let across = unit(b - a).unwrap_or(Coord { x: 1.0, y: 0.0 });
    let normal = Coord {
        x: -across.y,
        y: across.x,
    };
    let clear = gate.clear_width.to_m();
    let side = |towards: Coord| {
        let places = BESIDE_GATE.map(|beyond| middle + towards * (clear / 2.0 + beyond));
        let is_open = |place: &Coord| {
            let start = middle + towards * 1e-3;
            solids.met(Line::new(start, *place)).next().is_none()
        };
        places.into_iter().filter(is_open).collect()
    };
    GateWay {
        clear,
        sides: [side(normal), side(normal * -1.0)],
        normal,
    }
}

/// Surfaces and root zones that are never driven over.
fn kept_off(job: &Job, surfaces: &Regions) -> Vec<KeptOff> {
    let survey = &job.survey;
    let never = |kind: SurfaceKind| job.practice.travel_over(kind) == Travel::Never;
    let mut found = Vec::new();
    for (i, polygon) in surfaces.polygons() {
        let surface = &survey.surfaces[*i as usize];
        if never(surface.kind) {
            found.push(KeptOff {
                name: format!("{} {}", surface.kind.label(), surface.id),
                area: MultiPolygon::new(vec![polygon.clone()]),
            });
        }
    }
    let elsewhere = survey.surfaces.iter().rfind(|s| s.polygon.is_none());
    if let Some(surface) = elsewhere.filter(|s| never(s.kind)) {
        let covered = unary_union(surfaces.polygons().iter().map(|(_, p)| p));
        let property = MultiPolygon::new(vec![survey.boundary.polygon.clone()]);
        found.push(KeptOff {
            name: format!("{} {}", surface.kind.label(), surface.id),
            area: property.difference(&covered),
        });
    }
    if job.practice.travel.roots.value == Travel::Never {
        found.extend(root_zones(job).map(|(id, area)| KeptOff {
            name: format!("the root zone of tree {id}"),
            area: MultiPolygon::new(vec![area]),
        }));
    }
    found
}

fn root_zones(job: &Job) -> impl Iterator<Item = (&str, geo::Polygon)> {
    job.survey.trees.iter().filter_map(|tree| {
        let radius = job.root_radius(tree).to_m();
        let around = crate::polygon_around(tree.at.into(), radius, ROOT_SIDES);
        is_area(&around).then_some((tree.id.as_str(), around))
    })
}

fn protected_roots(job: &Job) -> Regions {
    let is_protected = job.practice.travel.roots.value == Travel::Protected;
    let zones = root_zones(job).filter(|_| is_protected);
    Regions::new((0u32..).zip(zones.map(|(_, area)| area)).collect())
}
