//! The graph of all trenches that might be dug, with what each would cost.

mod join;
mod measure;

use crate::candidates::{Candidates, length};
use crate::corridors::Corridors;
use crate::fixed::places_along;
use crate::memory::{Described, Measured, Memory, Way};
use crate::tidy::Draft;
use crate::{RouteCosts, Site};
use geo::Coord;
use ground::{Ground, StretchGround};
use job::Job;
use measure::{Raw, SLANT, way_out};
use quantity::Angle;
use rayon::prelude::*;
use rstar::RTree;
use rustc_hash::FxHashSet;
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::Arc;

/// So many ways are measured between two looks at whether to stop.
const AT_ONCE: usize = 512;

/// A straight trench that might be dug.
#[derive(Debug, Clone)]
pub struct RoadEdge {
    /// One end.
    pub a: u32,
    /// The other end.
    pub b: u32,
    /// Length in metres.
    pub length: f64,
    /// Cost of digging it once, whatever lies in it, by the latest prices.
    pub dig: f64,
    /// What it runs through; nothing of a sleeve.
    ground: Option<Arc<Measured>>,
    /// Set if it is a sleeve under paving: the feature id of an existing one, or none.
    pub sleeve: Option<Option<String>>,
    /// Whether it is part of a fixed trench: it stays as drawn.
    pub fixed: bool,
}

/// A part of a straight trench in one kind of ground.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Through {
    /// The class of ground, as a number of the memory.
    class: u32,
    metres: f64,
    /// Metres that do not count when ways are compared, because a corridor favours them.
    favoured: f64,
}

impl Through {
    /// Metres that count.
    fn counted(&self) -> f64 {
        self.metres - self.favoured
    }
}

/// An end of a straight trench, as the rules see it.
#[derive(Debug, Clone, Copy)]
pub struct End {
    /// Where.
    pub at: Coord,
    /// Metres to the open ground; 0 in it.
    way_out: f64,
    /// Whether it may stand within a clearance.
    may_be_tucked: bool,
    /// Whether a component is there.
    is_site: bool,
}

impl End {
    /// A place of the open ground with nothing there.
    pub fn open(at: Coord) -> Self {
        Self {
            at,
            way_out: 0.0,
            may_be_tucked: false,
            is_site: false,
        }
    }

    fn is_held(&self) -> bool {
        self.way_out <= 0.0
    }

    /// What tells it from other ends, in numbers that compare as themselves.
    pub(crate) fn key(&self) -> [u64; 3] {
        let kind = u8::from(self.is_site) + 2 * u8::from(self.may_be_tucked && !self.is_held());
        let marks = self.way_out + f64::from(kind) * 1e6;
        [self.at.x.to_bits(), self.at.y.to_bits(), marks.to_bits()]
    }
}

/// A class of ground that the map has met.
struct Met {
    /// What tells it from others in the memory.
    key: Described,
    /// In the words of the job.
    ground: Arc<StretchGround>,
    /// What a metre of trench costs in it.
    unit: f64,
}

/// All trenches that might be dug.
pub struct Roadmap<'a> {
    ground: &'a Ground,
    crossing_angle: Angle,
    tolerance_run: Vec<f64>,
    /// Places; the first ones are the sites.
    pub nodes: Vec<Coord>,
    /// Metres from each to the open ground; more than nothing for those within a clearance.
    way_out: Vec<f64>,
    sites: usize,
    /// How many nodes, counted from the first, may stand within a clearance: sites and ends of
    /// sleeves.
    may_be_tucked: usize,
    /// Straight trenches between them.
    pub edges: Vec<RoadEdge>,
    /// The edges of each fixed trench, in the order of the job.
    pub fixed_edges: Vec<Vec<u32>>,
    /// Pairs of nodes with a trench between them; looked up and never walked.
    pairs: FxHashSet<(u32, u32)>,
    places: BTreeMap<(i64, i64), u32>,
    /// Each class that the map has met, by its number in the memory.
    grounds: Vec<Option<Met>>,
    /// What was measured, here and before.
    pub memory: Memory,
    sleeve: [f64; 2],
    crossing: f64,
    corridors: Corridors,
}

impl<'a> Roadmap<'a> {
    /// The graph over a job's sites and candidate places, without prices yet; nothing if it is stopped.
    pub fn new(
        job: &Job,
        ground: &'a Ground,
        sites: &[Site],
        candidates: &Candidates,
        memory: Memory,
        ask: &dyn Fn() -> ControlFlow<()>,
    ) -> Option<Self> {
        let rules = &job.practice.utility;
        let squarest = rules.crossing_angle.value.to_rad().sin().max(0.1);
        let longest = |width: f64| (2.0 * rules.tolerance.value.to_m() + width) / squarest * 1.02;
        let mut map = Self {
            ground,
            crossing_angle: rules.crossing_angle.value,
            tolerance_run: job
                .survey
                .utilities
                .iter()
                .map(|u| longest(u.width.to_m()))
                .collect(),
            nodes: Vec::new(),
            way_out: Vec::new(),
            sites: sites.len(),
            may_be_tucked: 0,
            edges: Vec::new(),
            fixed_edges: Vec::new(),
            pairs: FxHashSet::default(),
            places: BTreeMap::new(),
            grounds: Vec::new(),
            memory,
            sleeve: [0.0; 2],
            crossing: 0.0,
            corridors: Corridors::new(job),
        };
        for site in sites {
            map.add_node(site.at);
        }
        let chains = map.fixed_chains(job);
        for place in &candidates.places {
            map.add_node(*place);
        }
        for pair in &candidates.sleeves {
            let (a, b) = (map.add_node(pair.a), map.add_node(pair.b));
            map.add_sleeve(a, b, pair.existing.clone());
        }
        map.may_be_tucked = map.nodes.len();
        for chain in chains {
            let edges = chain
                .windows(2)
                .filter_map(|pair| map.add_fixed(pair[0], pair[1]));
            let edges = edges.collect();
            map.fixed_edges.push(edges);
        }
        map.join_tucked();
        map.join_neighbours(ask).is_continue().then_some(map)
    }

    /// The node at a place, made if there is none yet.
    pub fn add_node(&mut self, at: Coord) -> u32 {
        let key = ((at.x * 1e3).round() as i64, (at.y * 1e3).round() as i64);
        let next = self.nodes.len() as u32;
        let node = *self.places.entry(key).or_insert(next);
        if node == next {
            self.nodes.push(at);
            self.way_out.push(way_out(self.ground, at));
        }
        node
    }

    /// The node at a place on the edge of the open ground, where rounding must not count it out.
    fn add_exit(&mut self, at: Coord) -> u32 {
        let made = self.nodes.len();
        let node = self.add_node(at);
        if node as usize == made {
            self.way_out[made] = 0.0;
        }
        node
    }

    fn is_held(&self, node: u32) -> bool {
        self.way_out[node as usize] <= 0.0
    }

    /// A node as an end of trenches.
    pub fn end(&self, node: u32) -> End {
        End {
            at: self.nodes[node as usize],
            way_out: self.way_out[node as usize],
            may_be_tucked: (node as usize) < self.may_be_tucked,
            is_site: self.is_site(node),
        }
    }

    /// How many nodes, counted from the first, are components'.
    pub fn sites(&self) -> u32 {
        self.sites as u32
    }

    /// Whether a node is a component's.
    pub fn is_site(&self, node: u32) -> bool {
        (node as usize) < self.sites
    }

    /// Whether a place lies nearer than `within` metres to a component.
    pub fn is_close_to_site(&self, place: Coord, within: f64) -> bool {
        self.nodes[..self.sites]
            .iter()
            .any(|site| length(*site - place) < within)
    }

    /// Adds straight trenches between pairs of nodes wherever the ground and the rules allow them.
    pub fn add_edges(&mut self, pairs: Vec<(u32, u32)>) {
        let _ = self.add_slanting(pairs, SLANT, &|| ControlFlow::Continue(()));
    }

    /// The same with a slant of its own; may be stopped on the way.
    fn add_slanting(
        &mut self,
        mut pairs: Vec<(u32, u32)>,
        slant: f64,
        ask: &dyn Fn() -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        for pair in &mut pairs {
            *pair = (pair.0.min(pair.1), pair.0.max(pair.1));
        }
        pairs.sort_unstable();
        pairs.dedup();
        pairs.retain(|pair| pair.0 != pair.1 && !self.pairs.contains(pair));
        // With another slant other ways may run.
        let is_kept = |a: &End, b: &End| slant.is_finite() || (a.is_held() && b.is_held());
        let recent = |(a, b): &(u32, u32)| {
            let (a, b) = (self.end(*a), self.end(*b));
            let key = is_kept(&a, &b).then(|| Memory::key(&a, &b));
            key.and_then(|key| self.memory.recent(&key).cloned())
        };
        let mut ways: Vec<Option<Way>> = pairs.par_iter().map(recent).collect();
        let mut missing = Vec::new();
        for (i, (way, (a, b))) in ways.iter_mut().zip(&pairs).enumerate() {
            if way.is_some() {
                continue;
            }
            let (a, b) = (self.end(*a), self.end(*b));
            if is_kept(&a, &b) {
                *way = self.memory.get(&Memory::key(&a, &b));
            }
            if way.is_none() {
                missing.push((i, a, b));
            }
        }
        for some in missing.chunks(AT_ONCE) {
            let measured: Vec<Option<Raw>> = some
                .par_iter()
                .map(|(_, a, b)| self.may_run(a, b, slant).then(|| self.measure(a, b))?)
                .collect();
            for ((i, a, b), raw) in some.iter().zip(measured) {
                let way = raw.map(|raw| Arc::new(self.numbered(a.at, b.at, raw)));
                if is_kept(a, b) {
                    self.memory.put(Memory::key(a, b), way.clone());
                }
                ways[*i] = Some(way);
            }
            ask()?;
        }
        for ((a, b), way) in pairs.into_iter().zip(ways) {
            if let Some(way) = way.flatten() {
                self.take_in(a, b, way, false);
            }
        }
        ControlFlow::Continue(())
    }

    fn take_in(&mut self, a: u32, b: u32, way: Arc<Measured>, fixed: bool) {
        for (part, at) in &way.parts {
            self.meet(part.class, *at);
        }
        self.pairs.insert((a, b));
        let mut edge = RoadEdge {
            a,
            b,
            length: way.length,
            dig: 0.0,
            ground: Some(way),
            sleeve: None,
            fixed,
        };
        edge.dig = self.price_of(&edge);
        self.edges.push(edge);
    }

    /// Describes a class that the map has not met; it has no price until the next [`Self::price`].
    fn meet(&mut self, class: u32, at: Coord) {
        let number = class as usize;
        if self.grounds.len() <= number {
            self.grounds.resize_with(number + 1, || None);
        }
        if self.grounds[number].is_none() {
            let (key, ground) = self.memory.described(self.ground, class, at);
            let unit = f64::NAN;
            self.grounds[number] = Some(Met { key, ground, unit });
        }
    }

    /// What a metre costs in a class that the map has met.
    fn unit(&self, class: u32) -> Option<f64> {
        let met = self.grounds.get(class as usize)?.as_ref();
        met.map(|met| met.unit)
    }

    /// Puts prices on all trenches.
    pub fn price(&mut self, costs: &RouteCosts<'_>) {
        let memory = &self.memory;
        (self.grounds.par_iter_mut().flatten()).for_each(|met| {
            let known = memory.unit(&met.key);
            met.unit = known.unwrap_or_else(|| (costs.trench)(&met.ground));
        });
        for met in self.grounds.iter().flatten() {
            self.memory.put_unit(met.key, met.unit);
        }
        self.sleeve = [costs.sleeve_new, costs.sleeve_existing];
        self.crossing = costs.crossing;
        let mut edges = std::mem::take(&mut self.edges);
        let priced = edges.par_iter_mut();
        priced.for_each(|edge| edge.dig = self.price_of(edge));
        self.edges = edges;
    }

    /// Prices classes of ground that came in since the last [`Self::price`], at the same prices.
    pub fn price_new(&mut self, costs: &RouteCosts<'_>) {
        let new = self.grounds.iter_mut().flatten();
        let mut any = false;
        for met in new.filter(|met| met.unit.is_nan()) {
            met.unit = (costs.trench)(&met.ground);
            any = true;
        }
        for i in 0..if any { self.edges.len() } else { 0 } {
            if self.edges[i].dig.is_nan() {
                self.edges[i].dig = self.price_of(&self.edges[i]);
            }
        }
    }

    fn price_of(&self, edge: &RoadEdge) -> f64 {
        let Some(way) = &edge.ground else {
            let existing = matches!(edge.sleeve, Some(Some(_)));
            return self.sleeve[usize::from(existing)] * edge.length;
        };
        let unit = |class| self.unit(class).unwrap_or(f64::NAN);
        let parts = way.parts.iter();
        let dig: f64 = parts
            .map(|(part, _)| unit(part.class) * part.counted())
            .sum();
        dig + self.crossing * way.crossings as f64
    }

    /// The least price of a metre of trench in any ground that the map has met.
    pub fn least_price(&self) -> f64 {
        let prices = self.grounds.iter().flatten().map(|met| met.unit);
        prices.fold(f64::INFINITY, f64::min).clamp(0.0, f64::MAX)
    }

    /// Where along an edge, in metres from its end `a`, the price of digging changes by at least this
    /// share.
    pub fn borders_on(&self, edge: u32, least: f64) -> Vec<f64> {
        let mut metres = 0.0;
        let way = self.edges[edge as usize].ground.as_ref();
        let pairs = way.map_or(&[][..], |way| &way.parts).windows(2);
        let borders = pairs.filter_map(|pair| {
            metres += pair[0].0.metres;
            let [p, q] = [0, 1].map(|i: usize| self.unit(pair[i].0.class).unwrap_or(f64::NAN));
            ((p - q).abs() > least * p.min(q)).then_some(metres)
        });
        borders.collect()
    }

    /// The place nearest to one, within `reach` metres, where the kind of ground changes and a trench
    /// may lie.
    pub fn border_foot(&self, place: Coord, reach: f64) -> Option<Coord> {
        let feet = self.ground.border_feet(place, reach, 1);
        feet.into_iter()
            .find(|foot| self.ground.open().holds(*foot))
    }

    /// Takes the trenches of a draft into the map. Gives the edges of each line, unless the map does
    /// not take one of them.
    pub fn adopt(&mut self, draft: &Draft) -> Option<Vec<Vec<u32>>> {
        let there = (0..draft.trenches.len() as u32).filter(|t| draft.is_there(*t));
        let there: Vec<u32> = there.collect();
        let mut pairs = Vec::with_capacity(there.len());
        for t in &there {
            let t = draft.trench(*t);
            let (a, b) = (self.add_node(draft.at(t.a)), self.add_node(draft.at(t.b)));
            pairs.push((a.min(b), a.max(b)));
        }
        self.add_edges(pairs.clone());
        let numbers: BTreeMap<(u32, u32), u32> = (0..)
            .zip(&self.edges)
            .map(|(i, e)| ((e.a.min(e.b), e.a.max(e.b)), i))
            .collect();
        let mut trees = vec![Vec::new(); draft.ends.len()];
        for (t, pair) in there.iter().zip(&pairs) {
            let edge = numbers.get(pair)?;
            for line in &draft.trench(*t).carries {
                trees[*line as usize].push(*edge);
            }
        }
        trees.iter_mut().for_each(|tree| tree.sort_unstable());
        Some(trees)
    }

    /// The places along each fixed trench, one after the other.
    fn fixed_chains(&mut self, job: &Job) -> Vec<Vec<u32>> {
        let sites = self.nodes.iter().map(|site| [site.x, site.y]).collect();
        let sites = RTree::bulk_load(sites);
        let mut chains = Vec::new();
        for trench in &job.decisions.fixed {
            let places = places_along(trench, &sites);
            let mut chain: Vec<u32> = places.into_iter().map(|at| self.add_node(at)).collect();
            chain.dedup();
            chains.push(chain);
        }
        chains
    }

    /// Adds a part of a fixed trench, which the rules do not keep from running; nothing if there is a
    /// trench between these nodes already.
    fn add_fixed(&mut self, a: u32, b: u32) -> Option<u32> {
        let pair = (a.min(b), a.max(b));
        if !self.pairs.insert(pair) {
            return None;
        }
        let (from, to) = (self.nodes[pair.0 as usize], self.nodes[pair.1 as usize]);
        let raw = Raw {
            length: length(to - from),
            spans: self.ground.spans(from, to),
            crossings: self.ground.crossings(from, to).len(),
        };
        let way = Arc::new(self.numbered(from, to, raw));
        self.take_in(pair.0, pair.1, way, true);
        Some(self.edges.len() as u32 - 1)
    }

    /// The id of the fixed trench that a node lies on; empty if there is none.
    pub fn fixed_at(&self, job: &Job, node: u32) -> String {
        let is_at = |edge: &u32| {
            let e = &self.edges[*edge as usize];
            e.a == node || e.b == node
        };
        let chains = job.decisions.fixed.iter().zip(&self.fixed_edges);
        let mut at = chains.filter(|(_, edges)| edges.iter().any(is_at));
        at.next()
            .map(|(trench, _)| trench.id.clone())
            .unwrap_or_default()
    }

    fn add_sleeve(&mut self, a: u32, b: u32, existing: Option<String>) {
        let pair = (a.min(b), a.max(b));
        if a == b || !self.pairs.insert(pair) {
            return;
        }
        let length = length(self.nodes[b as usize] - self.nodes[a as usize]);
        let (ground, sleeve) = (None, Some(existing));
        self.edges.push(RoadEdge {
            a,
            b,
            length,
            dig: 0.0,
            ground,
            sleeve,
            fixed: false,
        });
    }
}
