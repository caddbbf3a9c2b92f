//! Fittings and what they cost in pressure: which ones a line's own geometry asks for, and their K.

use crate::water::Water;
use job::practice::{MinorLoss, Takeoff};
use job::{Place, Sourced};
use quantity::{Angle, Pressure, Ratio, Velocity};
use routes::{Branch, Line, Network, NodeId};
use std::collections::{BTreeMap, BTreeSet};

/// A fitting that water passes on its way into or along a pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fitting {
    /// Elbow of 90°.
    Elbow90,
    /// Elbow of 45°.
    Elbow45,
    /// Tee, passed through the run.
    TeeRun,
    /// Tee, passed into or out of the branch.
    TeeBranch,
    /// A change of size.
    Reducer,
}

impl Fitting {
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Elbow90 => "elbow 90°",
            Self::Elbow45 => "elbow 45°",
            Self::TeeRun => "tee, run",
            Self::TeeBranch => "tee, branch",
            Self::Reducer => "reducer",
        }
    }

    /// Its loss coefficient K; a reducer counts as a square entrance.
    pub fn k(self, rules: &MinorLoss) -> &Sourced<Ratio> {
        match self {
            Self::Elbow90 => &rules.elbow_90,
            Self::Elbow45 => &rules.elbow_45,
            Self::TeeRun => &rules.tee_run,
            Self::TeeBranch => &rules.tee_branch,
            Self::Reducer => &rules.entrance,
        }
    }
}

/// Pressure lost in a fitting, Δp = K·ρ·v²/2; `velocity` is that of the pipe behind it.
///
/// Source: US EPA, EPA/600/R-00/057, minor losses.
pub fn loss(k: f64, velocity: Velocity, water: Water) -> Pressure {
    let v = velocity.to_mps();
    Pressure::pa(k * water.density_kg_m3 * v * v / 2.0)
}

/// The elbow that a turn takes, if any; smaller turns are sprung.
pub fn elbow(turn: Angle, rules: &Takeoff) -> Option<Fitting> {
    if turn >= rules.elbow_90_from.value {
        Some(Fitting::Elbow90)
    } else if turn >= rules.elbow_from.value {
        Some(Fitting::Elbow45)
    } else {
        None
    }
}

/// For every branch of a line, in its order, the fittings that water passes at its beginning and
/// along it, changes of size left out.
///
/// Where a line parts, or feeds a terminal and goes on, there is a tee: the pipe with the smallest
/// turn is its run unless it turns by 90° or so too, all others leave by the branch. At the root,
/// behind a valve or the backflow assembly, all the pipes of a tee leave by the branch.
pub fn fittings(network: &Network, line: &Line, rules: &Takeoff) -> Vec<Vec<Fitting>> {
    let terminals: BTreeSet<NodeId> = line.terminals.iter().copied().collect();
    let feeders = feeders(line);
    let mut leaving: BTreeMap<NodeId, Vec<usize>> = BTreeMap::new();
    for (i, branch) in line.branches.iter().enumerate() {
        leaving.entry(branch.from).or_default().push(i);
    }
    line.branches
        .iter()
        .enumerate()
        .map(|(i, branch)| {
            let together = &leaving[&branch.from];
            let tee = together.len() > 1 || terminals.contains(&branch.from);
            let mut list = match feeders[i] {
                None if together.len() > 1 => vec![Fitting::TeeBranch],
                None => Vec::new(),
                Some(feeder) => {
                    let turns = |j: usize| turn_into(network, line, feeder, j);
                    at_node(i, together, turns, tee, rules)
                }
            };
            list.extend(bends(network, branch).filter_map(|turn| elbow(turn, rules)));
            list
        })
        .collect()
}

/// For every branch of a line the place of the branch that feeds it; `None` at the root.
pub fn feeders(line: &Line) -> Vec<Option<usize>> {
    let mut ends: BTreeMap<NodeId, usize> = BTreeMap::new();
    let mut feeders = Vec::with_capacity(line.branches.len());
    for (i, branch) in line.branches.iter().enumerate() {
        feeders.push(ends.get(&branch.from).copied());
        ends.entry(branch.to).or_insert(i);
    }
    feeders
}

fn at_node(
    i: usize,
    together: &[usize],
    turn: impl Fn(usize) -> Angle,
    tee: bool,
    rules: &Takeoff,
) -> Vec<Fitting> {
    let mine = turn(i);
    if !tee {
        return elbow(mine, rules).into_iter().collect();
    }
    let run = together
        .iter()
        .copied()
        .min_by(|a, b| turn(*a).total_cmp(&turn(*b)).then(a.cmp(b)));
    if run == Some(i) && mine < rules.elbow_90_from.value {
        let bend = elbow(mine, rules);
        std::iter::once(Fitting::TeeRun).chain(bend).collect()
    } else {
        vec![Fitting::TeeBranch]
    }
}

fn turn_into(network: &Network, line: &Line, feeder: usize, branch: usize) -> Angle {
    let arriving = headings(&path(network, &line.branches[feeder]))
        .last()
        .copied();
    let leaving = headings(&path(network, &line.branches[branch]))
        .first()
        .copied();
    arriving
        .zip(leaving)
        .map_or(Angle::ZERO, |(a, b)| between(a, b))
}

/// The turns at the corners of a branch's path.
fn bends(network: &Network, branch: &Branch) -> impl Iterator<Item = Angle> + use<> {
    let headings = headings(&path(network, branch));
    (1..headings.len()).map(move |i| between(headings[i - 1], headings[i]))
}

fn path(network: &Network, branch: &Branch) -> Vec<Place> {
    network.stretch(branch.stretch).path_from(branch.from)
}

/// Directions of the legs of a path; legs without length have none.
fn headings(path: &[Place]) -> Vec<(f64, f64)> {
    path.windows(2)
        .map(|leg| (leg[1].x - leg[0].x, leg[1].y - leg[0].y))
        .filter(|(x, y)| x.hypot(*y) > 0.0)
        .collect()
}

fn between(a: (f64, f64), b: (f64, f64)) -> Angle {
    let (cross, dot) = (a.0 * b.1 - a.1 * b.0, a.0 * b.0 + a.1 * b.1);
    Angle::rad(cross.atan2(dot).abs())
}
