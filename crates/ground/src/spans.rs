//! The kinds of ground that a trench lies in on its way.

use crate::free::{distance, foot_on};
use crate::gaps::Pinch;
use crate::reach::{Erosions, Profile, Reach, Standing};
use crate::site::Site;
use crate::way::Way;
use crate::{
    Blocked, FreeGround, Regions, Relief, StretchGround, Zone, grow, grow_line, polygon_around,
};
use geo::algorithm::line_intersection::{LineIntersection, line_intersection};
use geo::{BooleanOps, Buffer, Coord, Line, MultiPolygon, Polygon, unary_union};
use job::{
    Job, MethodId, Moisture, ObstacleKind, Place, Shape, Soil, Sourced, SurfaceKind, Texture,
    prices::MethodKind,
};
use quantity::{Angle, Length, Ratio, Units};
use rayon::prelude::*;
use rstar::{AABB, RTree, primitives::GeomWithData};
use std::collections::BTreeMap;
use std::ops::ControlFlow;

/// Sides of the polygons that stand for circles.
const CIRCLE_SIDES: u32 = 24;

/// A component this far inside a wall's outline still counts as standing at it, in metres.
const AT_THE_WALL: f64 = 0.01;

/// A kind of ground, as indices into the job's survey. Places of one class are alike to a trench.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Class {
    surface: Option<u32>,
    soil: Option<u32>,
    steep: Option<u32>,
    zones: Vec<Zone>,
    standing: Vec<Standing>,
}

/// A part of a straight line that lies in one class of ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// Where it begins, as a share of the line.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// The class.
    pub class: Class,
}

/// Between borders nearer to each other than this share of a line nothing is looked up.
const SHORTEST: f64 = 1e-9;

/// Where a straight line crosses a buried service.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crosses {
    /// Index of the service in the survey.
    pub utility: usize,
    /// Where.
    pub at: Place,
    /// Angle between the two, 90° is square.
    pub angle: Angle,
}

/// The ground of one job.
#[derive(Debug, Clone)]
pub struct Ground {
    /// Ground in which a trench may lie without further ado.
    open: FreeGround,
    /// The same with paving taken for open: where a sleeve may run.
    hard: FreeGround,
    /// The property without the solid things themselves, no clearance kept.
    bare: FreeGround,
    paved: MultiPolygon,
    surfaces: Regions,
    soils: Regions,
    steeps: Regions,
    zones: Regions,
    zone_names: Vec<Zone>,
    relief: Relief,
    reaches: Vec<Reach>,
    site: Site,
    /// Where ground of one kind ends: the survey's own kinds (layer 0) and what each machine gets to
    /// (from layer 1 on).
    borders: RTree<Border>,
    utility_lines: RTree<GeomWithData<rstar::primitives::Line<[f64; 2]>, usize>>,
    facts: Facts,
}

type Border = GeomWithData<rstar::primitives::Line<[f64; 2]>, usize>;

/// What [`Ground::describe`] needs of the survey.
#[derive(Debug, Clone)]
struct Facts {
    units: Units,
    surfaces: Vec<(SurfaceKind, String)>,
    soils: Vec<(Soil, String)>,
    steeps: Vec<Ratio>,
    surface_elsewhere: Option<u32>,
    soil_elsewhere: Option<u32>,
}

impl Ground {
    /// The ground of a checked job.
    pub fn new(job: &Job) -> Self {
        Self::watched(job, &|| ControlFlow::Continue(())).expect("nobody stops it")
    }

    /// The same, asking now and then whether to go on; nothing if not.
    pub fn watched(job: &Job, ask: &dyn Fn() -> ControlFlow<()>) -> Option<Self> {
        let go_on = || ask().is_continue().then_some(());
        let surfaces =
            Regions::layered(with_polygons(&job.survey.surfaces, |s| s.polygon.as_ref()));
        let soils = Regions::layered(with_polygons(&job.survey.soils, |s| s.polygon.as_ref()));
        let steeps = Regions::layered(with_polygons(&job.survey.steeps, |s| Some(&s.polygon)));
        let (zone_names, zones) = zones(job);
        let spots: Vec<_> = job
            .survey
            .spots
            .iter()
            .map(|s| (Coord::from(s.at), s.elevation.to_m()))
            .collect();
        let relief = Relief::new(&spots);
        let site = Site::new(job, &relief, &surfaces, &steeps);
        go_on()?;
        let reaches = reaches(job, &site, ask)?;
        let paved = paved(job, &surfaces);
        let area = grow(
            &job.survey.boundary.polygon,
            -along_edge(job, &job.practice.clearance.boundary),
        );
        let blocked = blocked(job);
        go_on()?;
        let hard = FreeGround::new(&area, &blocked);
        go_on()?;
        let open = FreeGround::new(&area, &blocked.union(&paved));
        let property = MultiPolygon::new(vec![job.survey.boundary.polygon.clone()]);
        let bare = FreeGround::with_slack(&property, &solid_outlines(job), AT_THE_WALL);
        go_on()?;
        let borders = borders(&[&surfaces, &soils, &steeps, &zones], &reaches);
        Some(Self {
            open,
            hard,
            bare,
            paved,
            surfaces,
            soils,
            steeps,
            zones,
            zone_names,
            relief,
            reaches,
            site,
            borders,
            utility_lines: utility_lines(job),
            facts: Facts::new(job),
        })
    }

    /// Ground in which a trench may lie without crossing paving.
    pub fn open(&self) -> &FreeGround {
        &self.open
    }

    /// The same, but with paving taken for open: where a sleeve may run.
    pub fn hard(&self) -> &FreeGround {
        &self.hard
    }

    /// The property without the solid things themselves: where a component within a clearance is
    /// joined to the open ground.
    pub fn bare(&self) -> &FreeGround {
        &self.bare
    }

    /// Whether a straight trench may run between two places of the open ground.
    pub fn is_open(&self, a: Coord, b: Coord) -> bool {
        self.open.is_open(a, b)
    }

    /// All paving, grown by the clearance from its edge.
    pub fn paved(&self) -> &MultiPolygon {
        &self.paved
    }

    /// The height of a place above the job's datum.
    pub fn elevation(&self, place: Coord) -> Length {
        Length::m(self.relief.height(place))
    }

    /// The ground that machines of each size get to.
    pub fn reaches(&self) -> &[Reach] {
        &self.reaches
    }

    /// How the machine of a method stands to a place; nothing if the method moves no machine.
    pub fn standing(&self, method: &MethodId, place: Coord) -> Option<Standing> {
        let reach = self.reach_of(method)?;
        Some(reach.standing(place, &self.site))
    }

    /// A way from an entrance to a place that the machine of a method gets to, over as little
    /// protected ground as can be; nothing if it moves no machine or does not fit there.
    ///
    /// The way leads through places a metre apart and straight between them: it is a little longer
    /// than the shortest. Worked out when it is first asked for.
    pub fn way(&self, method: &MethodId, place: Coord) -> Option<Way> {
        let reach = self.reach_of(method)?;
        reach.roads(&self.site).to(reach, &self.site, place)
    }

    fn reach_of(&self, method: &MethodId) -> Option<&Reach> {
        self.reaches.iter().find(|r| r.methods.contains(method))
    }

    pub(crate) fn site(&self) -> &Site {
        &self.site
    }

    /// The class of ground at a place.
    pub fn class_at(&self, place: Coord) -> Class {
        let reaches = self.reaches.iter();
        Class {
            standing: reaches.map(|r| r.standing(place, &self.site)).collect(),
            ..self.surveyed_at(place)
        }
    }

    /// The class of ground at a place without how machines stand to it.
    fn surveyed_at(&self, place: Coord) -> Class {
        let mut zones: Vec<Zone> = self
            .zones
            .all_at(place)
            .iter()
            .map(|i| self.zone_names[*i as usize].clone())
            .collect();
        zones.sort();
        zones.dedup();
        Class {
            surface: self.surfaces.at(place).or(self.facts.surface_elsewhere),
            soil: self.soils.at(place).or(self.facts.soil_elsewhere),
            steep: self.steeps.at(place),
            zones,
            standing: Vec::new(),
        }
    }

    /// The classes of ground along a straight line, in order; spans of the same class are one. Each
    /// kind of ground, and how each machine stands to it, is looked up halfway between its own borders.
    pub fn spans(&self, a: Coord, b: Coord) -> Vec<Span> {
        let layers = self.border_shares(a, b);
        let pieces = layers.iter().enumerate().flat_map(|(layer, shares)| {
            let from = std::iter::once(0.0).chain(shares.iter().copied());
            let to = shares.iter().copied().chain([1.0]);
            let long = from.zip(to).filter(|(from, to)| to - from >= SHORTEST);
            long.map(move |(from, to)| (from, to, layer))
        });
        let mut pieces: Vec<(f64, f64, usize)> = pieces.collect();
        pieces.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.2.cmp(&q.2)));
        // Every layer has a piece that begins with the line.
        let mut class = Class {
            standing: vec![Standing::OverBoundary; self.reaches.len()],
            ..self.surveyed_at(a)
        };
        let mut spans: Vec<Span> = Vec::new();
        for (from, to, layer) in pieces {
            let middle = a + (b - a) * ((from + to) / 2.0);
            if layer > 0 {
                class.standing[layer - 1] = self.reaches[layer - 1].standing(middle, &self.site);
            } else {
                let standing = std::mem::take(&mut class.standing);
                class = Class {
                    standing,
                    ..self.surveyed_at(middle)
                };
            }
            match spans.last_mut() {
                Some(last) if from - last.from < SHORTEST => last.class.clone_from(&class),
                Some(last) if last.class == class => {}
                _ => spans.push(Span {
                    from,
                    to: 1.0,
                    class: class.clone(),
                }),
            }
        }
        for i in 1..spans.len() {
            spans[i - 1].to = spans[i].from;
        }
        spans.dedup_by(|next, last| {
            let alike = next.class == last.class;
            if alike {
                last.to = next.to;
            }
            alike
        });
        if let Some(first) = spans.first_mut() {
            first.from = 0.0;
        }
        spans
    }

    /// Whether a class lies in the tolerance zone of a buried service.
    pub fn is_in_tolerance(&self, class: &Class) -> bool {
        class
            .zones
            .iter()
            .any(|zone| matches!(zone, Zone::Utility(_)))
    }

    /// Where a straight line crosses buried services, along the line.
    pub fn crossings(&self, a: Coord, b: Coord) -> Vec<Crosses> {
        let line = Line::new(a, b);
        let envelope = AABB::from_corners([a.x, a.y], [b.x, b.y]);
        let mut found: Vec<Crosses> = self
            .utility_lines
            .locate_in_envelope_intersecting(&envelope)
            .filter_map(|candidate| {
                let service = Line::new(
                    to_coord(candidate.geom().from),
                    to_coord(candidate.geom().to),
                );
                let LineIntersection::SinglePoint { intersection, .. } =
                    line_intersection(line, service)?
                else {
                    return Some(Crosses {
                        utility: candidate.data,
                        at: Place::from(service.start),
                        angle: Angle::rad(0.0),
                    });
                };
                let angle = angle_between(line, service);
                Some(Crosses {
                    utility: candidate.data,
                    at: intersection.into(),
                    angle,
                })
            })
            .collect();
        found.sort_by(|p, q| {
            let away = |c: &Crosses| c.at.distance(a.into());
            away(p).total_cmp(&away(q)).then(p.utility.cmp(&q.utility))
        });
        found.dedup_by(|p, q| p.utility == q.utility && p.at.distance(q.at) < 1e-6);
        found
    }

    /// The feet of a place on the nearest borders between kinds of ground: at most `most`, nearest
    /// first, within `reach` metres.
    pub fn border_feet(&self, place: Coord, reach: f64, most: usize) -> Vec<Coord> {
        let mut feet: Vec<(f64, Coord)> = self
            .borders
            .locate_within_distance([place.x, place.y], reach * reach)
            .filter(|border| border.data == 0)
            .map(|border| foot_on(crate::solids::line(border.geom()), place))
            .map(|foot| (distance(foot, place), foot))
            .collect();
        feet.sort_by(|(a, p), (b, q)| a.total_cmp(b).then(p.x.total_cmp(&q.x)));
        feet.dedup_by(|(_, a), (_, b)| distance(*a, *b) < 0.1);
        feet.truncate(most);
        feet.into_iter().map(|(_, foot)| foot).collect()
    }

    /// A class in the words of the job. `along` is a place of the stretch, for the slope of the land.
    pub fn describe(&self, class: &Class, along: Coord) -> StretchGround {
        let facts = &self.facts;
        let (surface, surface_id) = class
            .surface
            .map_or((SurfaceKind::BareSoil, String::new()), |i| {
                facts.surfaces[i as usize].clone()
            });
        let (soil, soil_id) = class.soil.map_or((UNKNOWN_SOIL, String::new()), |i| {
            facts.soils[i as usize].clone()
        });
        let land = Ratio::one(self.relief.slope(along));
        let slope = class
            .steep
            .map_or(land, |i| facts.steeps[i as usize].max(land));
        let blocked = self
            .reaches
            .iter()
            .zip(&class.standing)
            .flat_map(|(reach, standing)| {
                let kept_out = self.why_blocked(reach, *standing, along);
                reach.methods.iter().filter_map(move |method| {
                    kept_out.clone().map(|(why, pinch)| Blocked {
                        method: method.clone(),
                        why,
                        pinch,
                    })
                })
            });
        let mut blocked: Vec<Blocked> = blocked.collect();
        blocked.sort_by(|a, b| a.method.cmp(&b.method));
        StretchGround {
            surface,
            surface_id,
            soil,
            soil_id,
            slope,
            zones: class.zones.clone(),
            blocked,
            tight: Vec::new(),
        }
    }

    fn why_blocked(
        &self,
        reach: &Reach,
        standing: Standing,
        along: Coord,
    ) -> Option<(String, Option<Pinch>)> {
        let needs = Length::m(reach.width);
        let kept_off = |i: u32| &self.site.kept_off[i as usize].name;
        let why = match standing {
            Standing::Reached => return None,
            Standing::Narrow(i) => {
                let pinch = reach.pinch(i);
                return Some((too_narrow(pinch, self.facts.units), Some(pinch.clone())));
            }
            Standing::Turning => return Some(self.why_not_turned(reach, along)),
            Standing::CutOff => format!("no way in that is {} wide", self.small(needs)),
            Standing::Near(i) => {
                let near = self.site.solids.nearest(along, reach.width);
                let away = Length::m(near.map_or(0.0, |(away, _)| away));
                format!(
                    "{} from {}, {} needed to stand",
                    self.small(away),
                    self.site.solids.name(i),
                    self.small(needs * 0.5)
                )
            }
            Standing::OverBoundary => {
                format!(
                    "less than {} from the property line",
                    self.small(needs * 0.5)
                )
            }
            Standing::KeptOff(i) => format!("{} is not driven over", kept_off(i)),
            Standing::BehindKeptOff(i) => {
                format!("{} lies on the way and is not driven over", kept_off(i))
            }
            Standing::Steep(i) => too_steep(reach, i, "here"),
            Standing::BehindSteep(i) => too_steep(reach, i, "on the way"),
        };
        Some((why, None))
    }

    /// A small length in the job's units.
    fn small(&self, length: Length) -> String {
        length.small().show(self.facts.units)
    }

    /// Why a machine that fits does not come to a place: it is too steep across, or the passage that is
    /// nearest is too narrow to turn in.
    fn why_not_turned(&self, reach: &Reach, along: Coord) -> (String, Option<Pinch>) {
        let (slope, _) = self.site.slopes.at(along);
        let limits = reach.limits();
        if slope > limits.any_way() {
            let why = format!(
                "the ground slopes {}, and the machine drives on {} up and down and {} across",
                percent(slope),
                percent(limits.along),
                percent(limits.across)
            );
            return (why, None);
        }
        let turning = Length::m(reach.turning);
        let why = format!("turns about in {}", self.small(turning));
        match self.site.pinch_near(along, reach.width, reach.turning) {
            Some(pinch) => {
                let why = format!(
                    "{why}, and no straight way leads in; {} is {} wide",
                    between(&pinch),
                    self.small(pinch.clear)
                );
                (why, Some(pinch))
            }
            None if reach.has_lanes() => {
                let why = format!(
                    "{why}, and no straight way leads in on which it keeps to {} up and down and {} \
                     across",
                    percent(limits.along),
                    percent(limits.across)
                );
                (why, None)
            }
            None => (format!("{why}, and no straight way leads in"), None),
        }
    }

    /// Where a straight line crosses the borders of each layer, as shares of it in ascending order.
    fn border_shares(&self, a: Coord, b: Coord) -> Vec<Vec<f64>> {
        let mut shares = vec![Vec::new(); 1 + self.reaches.len()];
        let line = Line::new(a, b);
        let along = b - a;
        let length2 = along.x * along.x + along.y * along.y;
        if length2 <= 0.0 {
            return shares;
        }
        let share = |p: Coord| ((p.x - a.x) * along.x + (p.y - a.y) * along.y) / length2;
        let envelope = AABB::from_corners([a.x, a.y], [b.x, b.y]);
        for border in self.borders.locate_in_envelope_intersecting(&envelope) {
            let layer = &mut shares[border.data];
            match line_intersection(line, crate::solids::line(border.geom())) {
                Some(LineIntersection::SinglePoint { intersection, .. }) => {
                    layer.push(share(intersection));
                }
                Some(LineIntersection::Collinear { intersection }) => {
                    layer.extend([share(intersection.start), share(intersection.end)]);
                }
                None => {}
            }
        }
        for layer in &mut shares {
            layer.retain(|t| *t > 0.0 && *t < 1.0);
            layer.sort_by(f64::total_cmp);
        }
        shares
    }
}

/// Taken where a job gives no soil; a finding says so.
const UNKNOWN_SOIL: Soil = Soil {
    texture: Texture::Loam,
    coarse: Ratio::ZERO,
    stone: None,
    moisture: Moisture::Moist,
};

impl Facts {
    fn new(job: &Job) -> Self {
        let survey = &job.survey;
        let elsewhere = |free: Vec<bool>| free.iter().rposition(|f| *f).map(|i| i as u32);
        Self {
            units: job.units,
            surfaces: survey
                .surfaces
                .iter()
                .map(|s| (s.kind, s.id.clone()))
                .collect(),
            soils: survey
                .soils
                .iter()
                .map(|s| (s.soil, s.id.clone()))
                .collect(),
            steeps: survey.steeps.iter().map(|s| s.slope).collect(),
            surface_elsewhere: elsewhere(
                survey
                    .surfaces
                    .iter()
                    .map(|s| s.polygon.is_none())
                    .collect(),
            ),
            soil_elsewhere: elsewhere(survey.soils.iter().map(|s| s.polygon.is_none()).collect()),
        }
    }
}

/// What a pinch is called.
fn between(pinch: &Pinch) -> String {
    let [a, b] = &pinch.between;
    if a == b {
        format!("the passage in {a}")
    } else {
        format!("the passage between {a} and {b}")
    }
}

fn too_narrow(pinch: &Pinch, units: Units) -> String {
    let [clear, needed] = [pinch.clear, pinch.needed].map(|l| l.small().show(units));
    match &pinch.gate {
        Some(gate) => format!("gate {gate} is {clear} clear, {needed} needed"),
        None => format!("{} is {clear} wide, {needed} needed", between(pinch)),
    }
}

fn too_steep(reach: &Reach, index: u32, place: &str) -> String {
    let (steep, limits) = (reach.steep(index), reach.limits());
    format!(
        "{} {place} slopes {}; the machine drives on {} up and down and {} across",
        steep.name,
        percent(steep.slope),
        percent(limits.along),
        percent(limits.across)
    )
}

fn percent(slope: f64) -> String {
    format!("{:.0}%", slope * 100.0)
}

fn with_polygons<T>(all: &[T], polygon: impl Fn(&T) -> Option<&Polygon>) -> Vec<(u32, Polygon)> {
    all.iter()
        .enumerate()
        .filter_map(|(i, item)| polygon(item).map(|p| (i as u32, p.clone())))
        .collect()
}

/// Metres that a trench keeps from an edge along which it may run.
fn along_edge(job: &Job, clearance: &Sourced<Length>) -> f64 {
    let stated = job.practice.clearance.along_edge.value;
    clearance.value.max(stated).to_m()
}

/// What a trench keeps out of, grown by its clearance: solid obstacles and the ground at trunks.
fn blocked(job: &Job) -> MultiPolygon {
    let clearance = &job.practice.clearance;
    let mut grown: Vec<MultiPolygon> = Vec::new();
    for obstacle in &job.survey.obstacles {
        let by = match obstacle.kind {
            ObstacleKind::Building => along_edge(job, &clearance.building),
            ObstacleKind::Wall => along_edge(job, &clearance.wall),
            ObstacleKind::Pool => clearance.pool.value.to_m(),
            ObstacleKind::Boulder => clearance.boulder.value.to_m(),
            ObstacleKind::Other => clearance.other.value.to_m(),
            ObstacleKind::Fence => continue,
        };
        grown.push(match &obstacle.shape {
            Shape::Area(polygon) => grow(polygon, by),
            Shape::Line(line) => grow_line(line, by),
        });
    }
    for tree in &job.survey.trees {
        let radius = (tree.trunk * job.practice.roots.no_dig_per_trunk.value.to_one()).to_m();
        if radius > 0.0 {
            let around = polygon_around(tree.at.into(), radius, 16);
            grown.push(MultiPolygon::new(vec![around]));
        }
    }
    grown.push(kept_out(job));
    unary_union(grown.iter().flat_map(|g| g.iter()))
}

/// Solid obstacles as they stand; walls drawn as lines are as thin as a line.
fn solid_outlines(job: &Job) -> MultiPolygon {
    let solid = job
        .survey
        .obstacles
        .iter()
        .filter(|o| o.kind != ObstacleKind::Fence);
    let mut outlines: Vec<MultiPolygon> = solid
        .map(|obstacle| match &obstacle.shape {
            Shape::Area(polygon) => MultiPolygon::new(vec![polygon.clone()]),
            Shape::Line(line) => grow_line(line, 2.0 * AT_THE_WALL),
        })
        .collect();
    outlines.push(kept_out(job));
    unary_union(outlines.iter().flat_map(|o| o.iter()))
}

/// Where people want nothing dug: nothing is kept clear of its edge.
fn kept_out(job: &Job) -> MultiPolygon {
    let places = &job.decisions.keep_outs;
    MultiPolygon::new(places.iter().map(|place| place.polygon.clone()).collect())
}

fn paved(job: &Job, surfaces: &Regions) -> MultiPolygon {
    let by = along_edge(job, &job.practice.clearance.paving);
    let paved: Vec<&Polygon> = surfaces
        .polygons()
        .iter()
        .filter(|(i, _)| job.survey.surfaces[*i as usize].kind.is_paved())
        .map(|(_, polygon)| polygon)
        .collect();
    let together = unary_union(paved);
    let grown: Vec<MultiPolygon> = together.iter().map(|p| grow(p, by)).collect();
    unary_union(grown.iter().flat_map(|g| g.iter()))
}

fn zones(job: &Job) -> (Vec<Zone>, Regions) {
    let mut names = Vec::new();
    let mut polygons = Vec::new();
    let mut add = |zone: Zone, areas: MultiPolygon| {
        let index = names.len() as u32;
        names.push(zone);
        polygons.extend(areas.into_iter().map(|p| (index, p)));
    };
    let tolerance = job.practice.utility.tolerance.value;
    for utility in &job.survey.utilities {
        let by = (tolerance + utility.width * 0.5).to_m();
        add(Zone::Utility(utility.id.clone()), utility.line.buffer(by));
    }
    for tree in &job.survey.trees {
        let radius = job.root_radius(tree).to_m();
        if radius > 0.0 {
            let around = polygon_around(tree.at.into(), radius, CIRCLE_SIDES);
            add(
                Zone::Roots(tree.id.clone()),
                MultiPolygon::new(vec![around]),
            );
        }
    }
    let reach = job.practice.clearance.hand_reach.value.to_m();
    for obstacle in &job.survey.obstacles {
        use ObstacleKind::{Building, Fence, Wall};
        if matches!(obstacle.kind, Building | Wall | Fence) && reach > 0.0 {
            let areas = match &obstacle.shape {
                Shape::Area(polygon) if obstacle.kind == Fence => polygon.exterior().buffer(reach),
                Shape::Area(polygon) => polygon.buffer(reach),
                Shape::Line(line) => line.buffer(reach),
            };
            add(Zone::Structure(obstacle.id.clone()), areas);
        }
    }
    (names, Regions::new(polygons))
}

/// One reach for each size and footing among the machines that dig or pull.
fn reaches(job: &Job, site: &Site, ask: &dyn Fn() -> ControlFlow<()>) -> Option<Vec<Reach>> {
    let mut profiles: BTreeMap<[u64; 4], (Profile, Vec<MethodId>)> = BTreeMap::new();
    for (id, method) in &job.prices.method {
        if matches!(method.kind, MethodKind::Trench | MethodKind::Pull) {
            let profile = Profile::of(method);
            let alike = profiles.entry(profile.key());
            alike.or_insert((profile, Vec::new())).1.push(id.clone());
        }
    }
    let mut profiles: Vec<(Profile, Vec<MethodId>)> = profiles.into_values().collect();
    let erosions = Erosions::for_all(site, profiles.iter().map(|(profile, _)| profile));
    let mut reaches: Vec<Reach> = Vec::with_capacity(profiles.len());
    while !profiles.is_empty() {
        if ask().is_break() {
            return None;
        }
        let some = rayon::current_num_threads().clamp(1, profiles.len());
        let some: Vec<Reach> = profiles
            .par_drain(..some)
            .map(|(profile, methods)| Reach::new(job, site, profile, methods, &erosions))
            .collect();
        reaches.extend(some);
    }
    Reach::learn(&mut reaches);
    Some(reaches)
}

fn borders(regions: &[&Regions], reaches: &[Reach]) -> RTree<Border> {
    let surveyed = regions.iter().flat_map(|r| r.edges()).map(|edge| (edge, 0));
    let reached = reaches.iter().enumerate().flat_map(|(i, reach)| {
        let edges = reach.parts().edges().chain(reach.pockets().edges());
        edges.map(move |edge| (edge, i + 1))
    });
    let lines = surveyed
        .chain(reached)
        .map(|(line, layer)| GeomWithData::new(crate::solids::edge(line), layer));
    RTree::bulk_load(lines.collect())
}

fn utility_lines(job: &Job) -> RTree<GeomWithData<rstar::primitives::Line<[f64; 2]>, usize>> {
    let lines = job
        .survey
        .utilities
        .iter()
        .enumerate()
        .flat_map(|(i, utility)| {
            utility.line.lines().map(move |line| {
                let segment = rstar::primitives::Line::new(
                    [line.start.x, line.start.y],
                    [line.end.x, line.end.y],
                );
                GeomWithData::new(segment, i)
            })
        });
    RTree::bulk_load(lines.collect())
}

fn to_coord(point: [f64; 2]) -> Coord {
    Coord {
        x: point[0],
        y: point[1],
    }
}

/// The smaller angle between two lines.
pub fn angle_between(a: Line, b: Line) -> Angle {
    let (u, v) = (a.end - a.start, b.end - b.start);
    let cross = (u.x * v.y - u.y * v.x).abs();
    let dot = (u.x * v.x + u.y * v.y).abs();
    Angle::rad(cross.atan2(dot))
}
