//! Which ground a machine gets to from the entrance.
//!
//! A machine's middle may be where its body fits between solid things, off what is never driven over,
//! and on ground that is not too steep at every heading (*it fits*). Where also the circle in which it
//! turns about fits, and the ground is level enough for every heading, it may go on in any direction
//! (*it turns*). From ground where it turns it drives straight into narrower or steeper places and back
//! out, as far as it fits and as the slope admits its heading; two grounds where it turns are joined
//! where such a straight way leads through a gap between them. A gate is passed where it was measured
//! wide enough, within 30° of square.
//!
//! # What always holds
//! A wider body, a larger circle or a lower limit of slope never reaches more: every straight way that
//! is tried is one that is tried for every machine. (Round corners are many-sided polygons; there two
//! machines may differ by what these differ.) An obstacle taken away lessens reach only where it lent a
//! direction that is tried (below); this does happen, never where a machine turns on the spot.
//!
//! # What is approximate
//! The body is a disc as wide as it is; its length counts in the turning circle and beyond the ends of
//! a run only. Of the straight ways from a place, those along a compass of 24 directions, along solid
//! edges near it and through gaps near it are tried, of those that join two grounds those through the
//! middles of gaps: a way at another angle may be missed, never one found that is not there. Slopes
//! are those of cells of a metre or more, and a machine's middle counts. Unreached ground within a
//! passage is drawn by cells of a metre or more; a cell all of whose neighbours are unreached is taken
//! for unreached as a whole, in the others every place is judged for itself.

use crate::Regions;
use crate::area::Area;
use crate::cells::Cells;
use crate::free::distance;
use crate::gaps::{Pinch, pinch};
use crate::site::{Site, unit};
use crate::slopes::{Limits, Steeper};
use crate::way::Roads;
use geo::{
    BooleanOps, Buffer, Coord, Distance, Euclidean, InteriorPoint, MultiPolygon, Polygon, coord,
    unary_union,
};
use job::{Job, Method, MethodId};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// The longest straight way into a narrow place, in metres.
const STRAIGHT: f64 = 100.0;

/// The directions in which a gate is passed, in degrees off square.
const GATE_FAN: [f64; 7] = [0.0, 10.0, -10.0, 20.0, -20.0, 30.0, -30.0];

/// Cosine of a little more than the widest of these.
const GATE_COSINE: f64 = 0.865;

/// How a machine stands to a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// It gets there.
    Reached,
    /// The widest way there is too narrow at one of the machine's pinches (by its index).
    Narrow(u32),
    /// It does not get there even with all gates taken out.
    CutOff,
    /// Its body has no room beside this solid thing (by its index).
    Near(u32),
    /// Its body would stand over the property line.
    OverBoundary,
    /// Its body would stand on something that is never driven over (by its index).
    KeptOff(u32),
    /// Something that is never driven over (by its index) lies on all ways.
    BehindKeptOff(u32),
    /// The ground is too steep (by the index of the steep ground).
    Steep(u32),
    /// Ground that is too steep (by its index) lies on all ways.
    BehindSteep(u32),
    /// It would fit, but no straight way leads there from ground where it turns about.
    Turning,
}

/// What a machine's size and footing make of the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Profile {
    width: f64,
    turning: f64,
    limits: Limits,
}

impl Profile {
    pub fn of(method: &Method) -> Self {
        let width = method.body_width.value.to_m().max(0.0);
        let turning = method.turning_room.as_ref();
        Self {
            width,
            turning: turning.map_or(width, |room| room.value.to_m().max(width)),
            limits: Limits::of(method),
        }
    }

    /// The bits of non-negative floats sort as the floats do.
    pub fn key(self) -> [u64; 4] {
        let Limits { along, across } = self.limits;
        [self.width, self.turning, along, across].map(f64::to_bits)
    }
}

/// The ground that machines of one size get to.
#[derive(Debug, Clone)]
pub struct Reach {
    /// Width of the body in metres.
    pub width: f64,
    /// Diameter of the circle in which it turns about, in metres.
    pub turning: f64,
    /// The methods with a machine of this size and footing.
    pub methods: Vec<MethodId>,
    limits: Limits,
    fits: Area,
    turns: Area,
    turns_reached: Vec<bool>,
    parts: Vec<Standing>,
    pinches: Vec<Pinch>,
    too_steep: Vec<Steeper>,
    has_lanes: bool,
    sources: Vec<Source>,
    pockets: Regions,
    deep: Cells,
    roads: OnceLock<Roads>,
}

/// A place from which a machine drives on without having turned about: at an entrance, or through a
/// gate in about the direction of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Source {
    pub at: Coord,
    pub heading: Option<Coord>,
}

impl Source {
    fn lets(&self, heading: Coord) -> bool {
        self.heading.is_none_or(|gate| is_about(gate, heading))
    }
}

fn is_about(gate: Coord, heading: Coord) -> bool {
    gate.x * heading.x + gate.y * heading.y >= GATE_COSINE
}

/// What is left of ground for the middle of a body that keeps half its width from the edge. Round
/// corners are many-sided polygons a little inside the true curve.
pub fn eroded(ground: &MultiPolygon, half_width: f64) -> MultiPolygon {
    if half_width <= 0.0 {
        return ground.clone();
    }
    ground.buffer(-half_width)
}

/// Eroded ground by its distance, for all bodies and turning circles.
pub(crate) struct Erosions(BTreeMap<u64, MultiPolygon>);

impl Erosions {
    pub fn for_all<'a>(site: &Site, profiles: impl Iterator<Item = &'a Profile>) -> Self {
        let halves = profiles.flat_map(|p| [p.width / 2.0, p.turning / 2.0]);
        let halves: BTreeSet<u64> = halves.map(f64::to_bits).collect();
        let halves: Vec<u64> = halves.into_iter().collect();
        let made = halves.into_par_iter();
        let made = made.map(|bits| (bits, eroded(&site.free, f64::from_bits(bits))));
        Self(made.collect())
    }

    fn of(&self, half: f64) -> MultiPolygon {
        self.0[&half.to_bits()].clone()
    }
}

impl Reach {
    /// For machines that come in at the job's accesses.
    pub(crate) fn new(
        job: &Job,
        site: &Site,
        profile: Profile,
        methods: Vec<MethodId>,
        erosions: &Erosions,
    ) -> Self {
        let Profile {
            width,
            turning,
            limits,
        } = profile;
        let closed = site.slopes.closed(limits);
        let unturned = site.slopes.steeper(limits.any_way());
        let without = |area: MultiPolygon, steep: &[Steeper]| {
            if steep.is_empty() {
                return area;
            }
            area.difference(&unary_union(steep.iter().flat_map(|s| s.area.iter())))
        };
        let fits = Area::new(without(erosions.of(width / 2.0), &closed));
        let turns = Area::new(without(erosions.of(turning / 2.0), &unturned));
        let mut reach = Self {
            width,
            turning,
            methods,
            limits,
            turns_reached: vec![false; turns.len()],
            parts: Vec::new(),
            pinches: Vec::new(),
            too_steep: closed,
            has_lanes: !unturned.is_empty(),
            sources: Vec::new(),
            pockets: Regions::new(Vec::new()),
            deep: Cells::none(),
            fits,
            turns,
            roads: OnceLock::new(),
        };
        reach.spread(site);
        reach.judge_parts(job, site);
        let unreached = reach.unreached(site);
        reach.pockets = unreached.regions();
        reach.deep = unreached.inner();
        reach
    }

    /// Takes over the ground that smaller machines are known not to get to.
    pub(crate) fn learn(reaches: &mut [Self]) {
        let known: Vec<Cells> = reaches.iter().map(|r| r.deep.clone()).collect();
        for i in 0..reaches.len() {
            for (j, deep) in known.iter().enumerate() {
                if i != j && reaches[j].is_smaller_than(&reaches[i]) {
                    reaches[i].deep.add(deep);
                }
            }
        }
    }

    /// Whether a machine is nowhere larger nor less sure-footed.
    fn is_smaller_than(&self, other: &Self) -> bool {
        let (mine, others) = (self.limits, other.limits);
        self.width <= other.width
            && self.turning <= other.turning
            && mine.along >= others.along
            && mine.across >= others.across
    }

    /// How the machine stands to a place.
    pub(crate) fn standing(&self, place: Coord, site: &Site) -> Standing {
        let Some(part) = self.fits.at(place) else {
            return self.misfit(place, site);
        };
        match self.parts[part as usize] {
            Standing::Reached if self.deep.holds(place) || !self.gets_to(place, site) => {
                Standing::Turning
            }
            other => other,
        }
    }

    /// Why the body cannot stand at a place, wherever it came from.
    fn misfit(&self, place: Coord, site: &Site) -> Standing {
        let half = self.width / 2.0;
        let near = site.solids.nearest(place, half);
        if let Some((_, solid)) = near.filter(|(_, s)| !site.solids.is_boundary(*s)) {
            return Standing::Near(solid);
        }
        if near.is_some() {
            return Standing::OverBoundary;
        }
        let point = geo::Point::from(place);
        let is_near = |area: &MultiPolygon, by: f64| Euclidean.distance(&point, area) <= by;
        let kept_off = site.kept_off.iter();
        if let Some(i) = kept_off.clone().position(|k| is_near(&k.area, half)) {
            return Standing::KeptOff(i as u32);
        }
        let steep = self.too_steep.iter().position(|s| is_near(&s.area, 0.0));
        steep.map_or(Standing::OverBoundary, |i| Standing::Steep(i as u32))
    }

    /// The ground in which the body fits, reached or not.
    pub fn parts(&self) -> &Regions {
        self.fits.regions()
    }

    /// Unreached ground within reached parts, by cells.
    pub(crate) fn pockets(&self) -> &Regions {
        &self.pockets
    }

    /// The ground that is reached. Within passages its edge is that of cells.
    pub fn reached(&self) -> MultiPolygon {
        let parts = self.fits.regions().polygons().iter();
        let reached = parts
            .filter(|(i, _)| self.parts[*i as usize] == Standing::Reached)
            .map(|(_, polygon)| polygon.clone());
        let reached = MultiPolygon::new(reached.collect());
        if self.pockets.polygons().is_empty() {
            return reached;
        }
        reached.difference(&unary_union(self.pockets.polygons().iter().map(|(_, p)| p)))
    }

    pub(crate) fn pinch(&self, index: u32) -> &Pinch {
        &self.pinches[index as usize]
    }

    pub(crate) fn steep(&self, index: u32) -> &Steeper {
        &self.too_steep[index as usize]
    }

    /// Whether some ground is too steep for some headings.
    pub(crate) fn has_lanes(&self) -> bool {
        self.has_lanes
    }

    pub(crate) fn limits(&self) -> Limits {
        self.limits
    }

    pub(crate) fn fits(&self) -> &Area {
        &self.fits
    }

    pub(crate) fn sources(&self) -> &[Source] {
        &self.sources
    }

    pub(crate) fn roads(&self, site: &Site) -> &Roads {
        self.roads.get_or_init(|| Roads::new(self, site))
    }

    /// How far the machine drives straight from a place where it fits.
    fn ahead(&self, site: &Site, from: Coord, heading: Coord, most: f64) -> f64 {
        if self.has_lanes && !site.slopes.admits(from, heading, self.limits) {
            return 0.0;
        }
        let room = self.fits.exit(from, heading, most);
        if self.has_lanes {
            site.slopes.admitted(from, heading, room, self.limits)
        } else {
            room
        }
    }

    fn gets_to(&self, place: Coord, site: &Site) -> bool {
        let turned = self.turns.at(place);
        if turned.is_some_and(|i| self.turns_reached[i as usize]) {
            return true;
        }
        let from_turns = site.headings(place).any(|heading| {
            let far = self.ahead(site, place, heading, STRAIGHT);
            self.meets_reached(place, place + heading * far)
        });
        from_turns || self.sources.iter().any(|s| self.drives(site, s, place))
    }

    fn meets_reached(&self, from: Coord, to: Coord) -> bool {
        let mut touched = self.turns.touched(from, to);
        touched.any(|i| self.turns_reached[i as usize])
    }

    /// Whether a machine drives straight from a source to a place.
    fn drives(&self, site: &Site, source: &Source, place: Coord) -> bool {
        let away = distance(source.at, place);
        let Some(heading) = unit(place - source.at) else {
            return true;
        };
        away <= STRAIGHT
            && source.lets(heading)
            && self.ahead(site, source.at, heading, away) >= away
    }

    /// Marks the ground where the machine turns and that it gets to, and the sources on the way.
    fn spread(&mut self, site: &Site) {
        let links = self.links(site);
        let fits = |at: &&Coord| self.fits.at(**at).is_some();
        let entries = site.entries.iter().filter(fits).copied();
        let mut sources: Vec<Source> = entries.map(|at| Source { at, heading: None }).collect();
        let mut passed: BTreeSet<(usize, usize)> = BTreeSet::new();
        loop {
            let new: Vec<u32> = sources
                .iter()
                .flat_map(|source| self.turns_from(site, source))
                .collect();
            self.sources.append(&mut sources);
            new.into_iter().for_each(|i| self.mark(i, &links));
            for (index, gate) in site.gates.iter().enumerate() {
                for side in [0, 1] {
                    let open = gate.clear >= self.width && !passed.contains(&(index, side));
                    let outward = gate.normal * if side == 0 { 1.0 } else { -1.0 };
                    let near = || gate.sides[side].iter();
                    if open && near().any(|at| self.enters(site, *at, outward)) {
                        passed.insert((index, side));
                        let beyond = gate.sides[1 - side].iter();
                        let beyond = beyond.filter(|at| self.fits.at(**at).is_some());
                        sources.extend(beyond.map(|at| Source {
                            at: *at,
                            heading: Some(outward * -1.0),
                        }));
                    }
                }
            }
            if sources.is_empty() {
                return;
            }
        }
    }

    fn mark(&mut self, first: u32, links: &BTreeMap<u32, BTreeSet<u32>>) {
        let mut open = vec![first];
        while let Some(i) = open.pop() {
            if !std::mem::replace(&mut self.turns_reached[i as usize], true) {
                open.extend(links.get(&i).into_iter().flatten());
            }
        }
    }

    /// The grounds where the machine turns that it drives to from a source.
    fn turns_from(&self, site: &Site, source: &Source) -> BTreeSet<u32> {
        let mut found: BTreeSet<u32> = self.turns.at(source.at).into_iter().collect();
        let headings: Vec<Coord> = match source.heading {
            Some(gate) => GATE_FAN.iter().map(|off| turned(gate, *off)).collect(),
            None if found.is_empty() => site.headings(source.at).collect(),
            None => Vec::new(),
        };
        for heading in headings {
            let far = self.ahead(site, source.at, heading, STRAIGHT);
            found.extend(self.turns.touched(source.at, source.at + heading * far));
        }
        found
    }

    /// Whether a machine comes to a place beside a gate, headed for it; `outward` leads away from it.
    fn enters(&self, site: &Site, at: Coord, outward: Coord) -> bool {
        if self.fits.at(at).is_none() {
            return false;
        }
        let turns = GATE_FAN.iter().any(|off| {
            let heading = turned(outward, *off);
            let far = self.ahead(site, at, heading, STRAIGHT);
            self.meets_reached(at, at + heading * far)
        });
        turns
            || self.sources.iter().any(|source| {
                let heading = unit(at - source.at);
                heading.is_none_or(|h| is_about(outward * -1.0, h)) && self.drives(site, source, at)
            })
    }

    /// Which grounds where the machine turns are joined by a straight way through a gap.
    fn links(&self, site: &Site) -> BTreeMap<u32, BTreeSet<u32>> {
        let mut links: BTreeMap<u32, BTreeSet<u32>> = BTreeMap::new();
        if self.turns.len() < 2 {
            return links;
        }
        for (gap, headings) in &site.gaps {
            let middle = gap.middle();
            if self.fits.at(middle).is_none() {
                continue;
            }
            for heading in headings {
                let [there, back] = [*heading, *heading * -1.0]
                    .map(|h| middle + h * self.ahead(site, middle, h, STRAIGHT));
                let mut touched: BTreeSet<u32> = self.turns.touched(middle, there).collect();
                touched.extend(self.turns.touched(middle, back));
                for a in &touched {
                    let others = touched.iter().filter(|b| *b != a);
                    links.entry(*a).or_default().extend(others);
                }
            }
        }
        links
    }

    /// For every part of the ground where the body fits: whether there is a way at all, and else why
    /// not.
    fn judge_parts(&mut self, job: &Job, site: &Site) {
        let connected = self.connected(site);
        let mut pinches: Vec<Pinch> = Vec::new();
        let parts = self.fits.regions().polygons().iter();
        let standings = parts.map(|(i, polygon)| {
            if connected.contains(i) {
                return Standing::Reached;
            }
            let inside = polygon.interior_point().map(Coord::from);
            let way = inside.and_then(|place| site.widest.to(place));
            let too_narrow = way.is_none_or(|(widest, _)| widest < self.width);
            let other = (!too_narrow).then(|| self.between(site, polygon, &connected));
            if let Some(standing) = other.flatten() {
                return standing;
            }
            let Some(narrowest) = way.and_then(|(_, narrowest)| narrowest) else {
                return Standing::CutOff;
            };
            let pinch = pinch(job, &site.solids, narrowest, self.width);
            let known = pinches.iter().position(|p| *p == pinch);
            Standing::Narrow(known.unwrap_or_else(|| {
                pinches.push(pinch);
                pinches.len() - 1
            }) as u32)
        });
        self.parts = standings.collect();
        self.pinches = pinches;
    }

    /// The parts to which there is a way for the body, whether or not it could turn about.
    fn connected(&self, site: &Site) -> BTreeSet<u32> {
        let entries = site.entries.iter();
        let mut found: BTreeSet<u32> = entries.filter_map(|at| self.fits.at(*at)).collect();
        let sides = |side: &[Coord]| -> BTreeSet<u32> {
            side.iter().filter_map(|at| self.fits.at(*at)).collect()
        };
        let gates: Vec<[BTreeSet<u32>; 2]> = site
            .gates
            .iter()
            .filter(|gate| gate.clear >= self.width)
            .map(|gate| [sides(&gate.sides[0]), sides(&gate.sides[1])])
            .collect();
        loop {
            let before = found.len();
            for [one, other] in &gates {
                let meets = |side: &BTreeSet<u32>| !side.is_disjoint(&found);
                if meets(one) != meets(other) {
                    found.extend(one.iter().chain(other));
                }
            }
            if found.len() == before {
                return found;
            }
        }
    }

    /// What keeps a part from those that are reached, if it is not its width: of all ground that is
    /// never driven over or too steep, that which lies nearest to both.
    fn between(&self, site: &Site, part: &Polygon, connected: &BTreeSet<u32>) -> Option<Standing> {
        let parts = self.fits.regions().polygons().iter();
        let reached: MultiPolygon = parts
            .filter(|(i, _)| connected.contains(i))
            .map(|(_, polygon)| polygon.clone())
            .collect();
        let away = |area: &MultiPolygon| {
            Euclidean.distance(area, part)
                + if reached.0.is_empty() {
                    0.0
                } else {
                    Euclidean.distance(area, &reached)
                }
        };
        let kept_off = (0u32..).zip(&site.kept_off);
        let kept_off = kept_off.map(|(i, k)| (away(&k.area), Standing::BehindKeptOff(i)));
        let steep = (0u32..).zip(&self.too_steep);
        let steep = steep.map(|(i, s)| (away(&s.area), Standing::BehindSteep(i)));
        let all = kept_off.chain(steep);
        all.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
            .map(|(_, standing)| standing)
    }

    /// The cells whose middle lies in a part with a way and which the machine does not get to.
    fn unreached(&self, site: &Site) -> Cells {
        Cells::where_middle(site, |middle| {
            let part = self.fits.at(middle);
            part.is_some_and(|i| self.parts[i as usize] == Standing::Reached)
                .then(|| !self.gets_to(middle, site))
        })
    }
}

/// A direction turned by so many degrees.
fn turned(heading: Coord, degrees: f64) -> Coord {
    let (sin, cos) = degrees.to_radians().sin_cos();
    coord! {x: heading.x * cos - heading.y * sin, y: heading.x * sin + heading.y * cos}
}
