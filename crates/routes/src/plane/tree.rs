//! The search for a tree of little cost that joins places in the plane.

use super::components::{around, base};
use super::exact::far;
use super::graph::Graph;
use super::net::Net;
use super::polish::polished;
use super::{Plane, PlaneError};
use geo::Coord;
use std::ops::ControlFlow;
use steiner::{Aim, solve_from};

/// How much to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Steps that may be spent, counted and not timed, so that the answer is the same on every machine.
    /// A first tree is made whatever the limit.
    pub work: u64,
    /// Seed of the random choices.
    pub seed: u64,
}

/// Where the search stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Steps so far.
    pub work: u64,
    /// Cost of the best tree so far; infinite before the first.
    pub cost: f64,
}

/// Straight parts that join places.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// The places joined, in the order given, and behind them junctions, bends and crossings of borders.
    pub places: Vec<Coord>,
    /// Pairs of places, as positions in `places`.
    pub parts: Vec<(usize, usize)>,
    /// Cost of all parts.
    pub cost: f64,
    /// No tree in this plane costs less; see [`bound`].
    pub bound: f64,
    /// Steps spent.
    pub work: u64,
}

/// Share of the shortest tree between the places alone that no tree with junctions goes below.
///
/// Source: F. R. K. Chung and R. L. Graham, "A new bound for Euclidean Steiner minimal trees",
/// Annals of the New York Academy of Sciences 440 (1985), 328–346 (from memory).
const JUNCTION_SHARE: f64 = 0.824_168;

/// Other trees kept to be mixed with the best one.
const POOL: usize = 4;
/// The search ends after this many rounds, and as many more as there are places, without a gain.
const IDLE: usize = 40;
/// Rounds around the best tree end when one gains less than this share.
const STILL: f64 = 1e-6;

/// Joins places by a tree of little cost: in turn a search in a graph of candidate parts, the
/// polishing of the tree found, and candidates around it; then the same from trees found under
/// costs that are varied at random, mixed with the best. `progress` is called between steps and may
/// break off; the best so far is then returned.
///
/// # Errors
///
/// If there are no places, one lies inside an obstacle, or no way leads to one.
pub fn join(
    plane: &Plane,
    places: &[Coord],
    limits: Limits,
    progress: &dyn Fn(Progress) -> ControlFlow<()>,
) -> Result<Tree, PlaneError> {
    check_places(plane, places)?;
    let mut search = Search {
        plane,
        graph: base(plane, places),
        best: (f64::INFINITY, Net::new(places)),
        pool: Vec::new(),
        work: 0,
        limits,
        dice: Dice(limits.seed),
        progress,
        stopped: false,
    };
    search.run();
    let (cost, net) = search.best;
    Ok(Tree {
        bound: bound(plane, places).min(cost),
        parts: net.parts(),
        places: net.at,
        cost,
        work: search.work,
    })
}

fn check_places(plane: &Plane, places: &[Coord]) -> Result<(), PlaneError> {
    let first = places.first().ok_or(PlaneError::NoPlaces)?;
    for (number, place) in places.iter().enumerate() {
        if !(place.x.abs() + place.y.abs()).is_finite() {
            return Err(PlaneError::NotFinite);
        }
        if !plane.walls().holds(*place) {
            return Err(PlaneError::Buried(number));
        }
        if plane.ways().length(*first, *place).is_none() {
            return Err(PlaneError::Unreachable(number));
        }
    }
    Ok(())
}

/// What no tree that joins the places costs less than: the least cost per unit of length times the
/// greater of the longest way between two of them and 0.824 of their shortest spanning tree as
/// the crow flies. It knows nothing of dearer grounds and little of obstacles, and so lies well
/// below the least tree.
pub fn bound(plane: &Plane, places: &[Coord]) -> f64 {
    let mut off: Vec<f64> = vec![f64::INFINITY; places.len()];
    let mut outside: Vec<usize> = (1..places.len()).collect();
    let (mut last, mut spanning, mut longest) = (0, 0.0, 0.0_f64);
    while !outside.is_empty() {
        for place in &outside {
            off[*place] = off[*place].min(far(places[last], places[*place]));
        }
        let lengths = outside
            .iter()
            .map(|p| plane.ways().length(places[last], places[*p]));
        longest = lengths.flatten().fold(longest, f64::max);
        let nearest = (0..outside.len())
            .min_by(|a, b| off[outside[*a]].total_cmp(&off[outside[*b]]))
            .unwrap_or(0);
        last = outside.swap_remove(nearest);
        spanning += off[last];
    }
    // A hair less, so that rounding does not lift a bound that is met.
    plane.least_unit() * longest.max(JUNCTION_SHARE * spanning) * (1.0 - 1e-12)
}

struct Search<'s> {
    plane: &'s Plane,
    graph: Graph<'s>,
    best: (f64, Net),
    pool: Vec<(f64, Net)>,
    work: u64,
    limits: Limits,
    dice: Dice,
    progress: &'s dyn Fn(Progress) -> ControlFlow<()>,
    stopped: bool,
}

impl Search<'_> {
    fn run(&mut self) {
        if self.best.1.terminals < 2 {
            self.best.0 = 0.0;
            return;
        }
        let graph = self.graph.clone();
        self.look(&graph, None, None);
        self.improve();
        let mut idle = 0;
        for round in 0.. {
            let before = self.best.0;
            if self.is_over() || idle > IDLE + self.best.1.terminals {
                return;
            }
            idle += 1;
            let amount = [0.05, 0.15, 0.3][round % 3];
            let graph = self.graph.clone();
            let Some(found) = self.look(&graph, None, Some(amount)) else {
                continue;
            };
            let found = self.bettered(found);
            self.keep(found);
            self.improve();
            if self.best.0 < before * (1.0 - STILL) {
                idle = 0;
            }
        }
    }

    fn is_over(&mut self) -> bool {
        let (work, cost) = (self.work, self.best.0);
        let state = Progress { work, cost };
        self.stopped = self.stopped || (self.progress)(state).is_break();
        self.stopped || self.work >= self.limits.work
    }

    /// Looks around the best tree, mixed with the others, until that gains nothing.
    fn improve(&mut self) {
        loop {
            let before = self.best.0;
            if self.is_over() || !before.is_finite() {
                return;
            }
            let mut graph = self.graph.clone();
            let net = self.best.1.clone();
            let numbers = graph.take(&net);
            for (_, other) in &self.pool {
                graph.take(other);
            }
            around(&mut graph, &net, &numbers);
            let known = graph.edges_of(&net, &numbers);
            self.look(&graph, Some(known), None);
            if before - self.best.0 <= STILL * before {
                return;
            }
        }
    }

    /// Looks once around a tree that is not the best.
    fn bettered(&mut self, (cost, net): (f64, Net)) -> (f64, Net) {
        let mut graph = self.graph.clone();
        let numbers = graph.take(&net);
        around(&mut graph, &net, &numbers);
        let known = graph.edges_of(&net, &numbers);
        match self.look(&graph, Some(known), None) {
            Some(found) if found.0 < cost => found,
            _ => (cost, net),
        }
    }

    /// Searches a graph, polishes what is found and keeps it if it is the best.
    fn look(
        &mut self,
        graph: &Graph<'_>,
        known: Option<Vec<u32>>,
        vary: Option<f64>,
    ) -> Option<(f64, Net)> {
        let dice = &mut self.dice;
        let problem = graph.problem(&mut |cost| match vary {
            Some(amount) => cost * (1.0 + amount * dice.part()),
            None => cost,
        })?;
        let effort = 40 * graph.edges.len() as u64 + 100_000;
        let limits = steiner::Limits {
            work: effort,
            seed: self.dice.next(),
        };
        let known = known.map(|tree| vec![tree]);
        let (work, cost) = (self.work, self.best.0);
        let report = |p: steiner::Progress| {
            (self.progress)(Progress {
                work: work + p.work,
                cost,
            })
        };
        let found = solve_from(&problem, limits, Aim::Trees, known.as_deref(), &report).ok()?;
        self.work += found.work + 10 * graph.edges.len() as u64;
        let mut net = graph.net(&found.trees[0]);
        net.compact();
        polished(&mut net, self.plane);
        let cost = net.cost(self.plane);
        if cost < self.best.0 && net.joins_all() {
            self.best = (cost, net.clone());
        }
        Some((cost, net))
    }

    fn keep(&mut self, found: (f64, Net)) {
        self.pool.insert(0, found);
        self.pool.truncate(POOL);
    }
}

/// A seeded sequence of numbers (SplitMix64: Steele, Lea and Flood, "Fast splittable
/// pseudorandom number generators", OOPSLA 2014).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number in `0.0..1.0`.
    fn part(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}
