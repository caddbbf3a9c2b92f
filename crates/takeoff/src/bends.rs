//! Flexible pipe is laid round a turn in a bend, where there is room for it.
//!
//! ```text
//!      leg        T    turn α     T = R tan(α/2) is taken of both legs,
//!  ───────────┬╌╌╌╌╌╌╮            and the pipe passes the corner within
//!              ╲      ┊           R (1/cos(α/2) − 1)
//!               ╲     ┊ T
//! ```
//!
//! Bends that follow each other share the leg between them. Of all ways to choose which turns are bends,
//! the one with the fewest elbows is taken; a bend conflicts with its neighbours alone, so that going
//! along the run once finds it.

use crate::fittings::Limits;
use crate::tree::{Reach, Tree, angle};
use digging::Digging;
use digging::pull::strength::bend_ratio;
use job::practice::PipeMaterial;
use job::{Job, Practice};
use quantity::{Length, Ratio};
use routes::NodeId;
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;

/// What a bend has to keep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Least radius, metres.
    pub radius: f64,
    /// How far it may leave the corner, metres.
    pub corner: f64,
}

impl Rule {
    /// What a bend takes of the straight pipe on either side, metres; none where it may not be made.
    /// Geometry of an arc between two tangents.
    pub fn tangent(self, turn: f64) -> Option<f64> {
        let half = turn / 2.0;
        let cos = half.cos();
        if cos <= f64::EPSILON || self.off_corner(turn) > self.corner {
            return None;
        }
        Some(self.radius * half.tan())
    }

    /// How far it passes from the corner, metres.
    pub fn off_corner(self, turn: f64) -> f64 {
        self.radius * (1.0 / (turn / 2.0).cos() - 1.0)
    }
}

/// A turn along a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot {
    /// Of a reach, by number, and of its turns, by number.
    Within(usize, usize),
    /// Where two reaches meet and nothing else sits.
    Between(NodeId),
}

/// A bend that is laid.
#[derive(Debug, Clone, Copy)]
pub struct Bend {
    pub rank: usize,
    pub radius: f64,
    pub off_corner: f64,
}

/// The bends of a line, and the straight pipe that is left beside its fittings.
#[derive(Default)]
pub struct Laid {
    bent: BTreeSet<Spot>,
    pub bends: Vec<Bend>,
    /// Straight pipe at ends of runs, metres; the two ends of a run without bends share one.
    room: Vec<f64>,
    /// By reach: which of them lies at its near and at its far end.
    near: BTreeMap<usize, usize>,
    far: BTreeMap<usize, usize>,
}

/// Pipe from one fitting or component to the next.
#[derive(Default)]
struct Run {
    first: usize,
    last: usize,
    /// Straight, metres; one more than turns.
    legs: Vec<f64>,
    turns: Vec<(Spot, f64, Rule)>,
}

impl Laid {
    /// No bends: rigid pipe.
    pub fn none() -> Self {
        Self::default()
    }

    pub fn new(job: &Job, digging: &Digging, tree: &Tree, limits: Limits) -> Self {
        let mut laid = Self::none();
        if !is_flexible(job, tree) {
            return laid;
        }
        for (index, reach) in tree.reaches.iter().enumerate() {
            if !is_plain(tree, reach.pipe.from) {
                laid.take(tree, run_from(job, digging, tree, index, limits), limits);
            }
        }
        laid
    }

    pub fn has(&self, spot: Spot) -> bool {
        self.bent.contains(&spot)
    }

    fn take(&mut self, tree: &Tree, run: Run, limits: Limits) {
        let chosen = fewest_elbows(&run, limits);
        let rank = tree.reaches[run.first].rank;
        let mut rest = run.legs.clone();
        for (i, (spot, turn, rule)) in run.turns.iter().enumerate() {
            if let Some(tangent) = rule.tangent(*turn).filter(|_| chosen[i]) {
                rest[i] -= tangent;
                rest[i + 1] -= tangent;
                self.bent.insert(*spot);
                self.bends.push(Bend {
                    rank,
                    radius: rule.radius,
                    off_corner: rule.off_corner(*turn),
                });
            }
        }
        self.near.insert(run.first, self.room.len());
        self.room.push(rest[0]);
        if rest.len() > 1 {
            self.room.push(rest[rest.len() - 1]);
        }
        self.far.insert(run.last, self.room.len() - 1);
    }

    /// Lays a bend beside a fitting, if the ways that it takes straight pipe of have it. `ways` are
    /// reaches, each with whether its near end is meant.
    pub fn bend_at_fitting(&mut self, turn: f64, rule: Rule, ways: &[(usize, bool)], rank: usize) {
        if let (Some(tangent), Some(cells)) = (rule.tangent(turn), self.cells(ways)) {
            for cell in cells {
                self.room[cell] -= tangent;
            }
            self.bends.push(Bend {
                rank,
                radius: rule.radius,
                off_corner: rule.off_corner(turn),
            });
        }
    }

    /// Whether there is room for it.
    pub fn fits_at_fitting(&self, turn: f64, rule: Rule, ways: &[(usize, bool)]) -> bool {
        let Some((tangent, cells)) = rule.tangent(turn).zip(self.cells(ways)) else {
            return false;
        };
        let times = |cell: usize| cells.iter().filter(|c| **c == cell).count() as f64;
        cells
            .iter()
            .all(|cell| self.room[*cell] >= tangent * times(*cell))
    }

    fn cells(&self, ways: &[(usize, bool)]) -> Option<Vec<usize>> {
        let cell = |(reach, near): &(usize, bool)| {
            let side = if *near { &self.near } else { &self.far };
            side.get(reach).copied()
        };
        ways.iter().map(cell).collect()
    }
}

fn is_flexible(job: &Job, tree: &Tree) -> bool {
    let family = tree.reaches.first().map(|reach| &reach.pipe.family);
    let known = family.and_then(|family| job.practice.pipe.get(family));
    known.is_some_and(|family| family.material == PipeMaterial::Pe)
}

/// Whether the pipe may run through a node uncut: two ways of one size, and nothing that it feeds.
fn is_plain(tree: &Tree, node: NodeId) -> bool {
    let mut outs = tree.out_of(node);
    let (fed_by, out) = (tree.into(node), outs.next());
    let same = |(a, b): (&Reach, &Reach)| a.rank == b.rank && a.pipe.family == b.pipe.family;
    outs.next().is_none()
        && !tree.line.terminals.contains(&node)
        && fed_by.zip(out).is_some_and(same)
}

fn run_from(job: &Job, digging: &Digging, tree: &Tree, first: usize, limits: Limits) -> Run {
    let mut run = Run {
        first,
        last: first,
        legs: vec![0.0],
        turns: Vec::new(),
    };
    // A tree has no run of more reaches than it has.
    for _ in 0..tree.reaches.len() {
        let reach = &tree.reaches[run.last];
        let mut at = 0.0;
        for (number, (share, turn)) in reach.turns().into_iter().enumerate() {
            if turn >= limits.from() {
                let rule = rule_for(job, digging, reach, None);
                let spot = Spot::Within(run.last, number);
                run.leg((share - at) * reach.length.to_m());
                run.turn(spot, turn, rule);
                at = share;
            }
        }
        run.leg((1.0 - at) * reach.length.to_m());
        let node = reach.pipe.to;
        let next = tree.number_out_of(node).filter(|_| is_plain(tree, node));
        let Some(next) = next else {
            break;
        };
        let on = &tree.reaches[next];
        let turn = reach
            .looks_back()
            .zip(on.sets_out())
            .map_or(0.0, |(back, away)| PI - angle(back, away));
        if turn >= limits.from() {
            let rule = rule_for(job, digging, reach, Some(on));
            run.turn(Spot::Between(node), turn, rule);
        }
        run.last = next;
    }
    run
}

impl Run {
    fn leg(&mut self, length: f64) {
        if let Some(leg) = self.legs.last_mut() {
            *leg += length;
        }
    }

    fn turn(&mut self, spot: Spot, turn: f64, rule: Rule) {
        self.turns.push((spot, turn, rule));
        self.legs.push(0.0);
    }
}

/// What a bend of this pipe has to keep; pipe that is pulled in keeps what its machine and the pull ask.
fn rule_for(job: &Job, digging: &Digging, reach: &Reach, on: Option<&Reach>) -> Rule {
    let mut rule = Rule {
        radius: least_radius(job, reach).unwrap_or(f64::INFINITY),
        corner: job.practice.takeoff.corner_cut.value.to_m(),
    };
    for reach in [Some(reach), on].into_iter().flatten() {
        let dig = digging.digs.get(reach.pipe.stretch.index());
        if let Some(pull) = dig.and_then(|dig| dig.pull.as_ref()) {
            rule.radius = rule.radius.max(pull.least_radius.to_m());
            rule.corner = rule.corner.min(job.practice.pull.corner_cut.value.to_m());
        }
    }
    rule
}

/// What a bend with a fitting in it has to keep.
pub fn rule_at_fitting(job: &Job, digging: &Digging, reach: &Reach) -> Rule {
    let ratio = job.practice.pull.bend_with_fitting.value.to_one();
    let rule = rule_for(job, digging, reach, None);
    Rule {
        radius: rule.radius.max(reach.pipe.outside.to_m() * ratio),
        ..rule
    }
}

/// Least radius of a cold bend, metres; none where the practice knows none for this wall.
fn least_radius(job: &Job, reach: &Reach) -> Option<f64> {
    let family = job.practice.pipe.get(&reach.pipe.family)?;
    let size = family.sizes.get(reach.rank)?;
    least_bend(&job.practice, size.outside, size.dimension_ratio()).map(Length::to_m)
}

/// Least radius of a cold bend of polyethylene of an outside diameter and a dimension ratio.
///
/// Source: the table of the practice, `pull.pe.bend`.
pub fn least_bend(practice: &Practice, outside: Length, ratio: Ratio) -> Option<Length> {
    let over = bend_ratio(&practice.pull.pe, ratio)?;
    Some(outside * over.to_one())
}

/// Which turns of a run are laid in bends so that the fewest elbows are left; of equals, with bends
/// where they can be.
fn fewest_elbows(run: &Run, limits: Limits) -> Vec<bool> {
    let elbows = |turn: f64| limits.elbows(turn).len();
    // What the turns up to one take at least if that one is an elbow, and if it is a bend; with it,
    // what the one before is then.
    let mut steps: Vec<[(usize, bool); 2]> = Vec::with_capacity(run.turns.len());
    let mut before = [(0, false), (usize::MAX, false)];
    let mut taken_before = 0.0;
    for (i, (_, turn, rule)) in run.turns.iter().enumerate() {
        let tangent = rule.tangent(*turn).unwrap_or(f64::INFINITY);
        let leg = run.legs[i];
        let ahead = tangent <= run.legs[i + 1];
        let best = |bent_may_go: bool| match before[1].0 <= before[0].0 && bent_may_go {
            true => (before[1].0, true),
            false => (before[0].0, false),
        };
        let (as_elbow, from) = best(true);
        let elbow = (as_elbow.saturating_add(elbows(*turn)), from);
        let after_bend = tangent + taken_before <= leg;
        let bend = match ahead && tangent <= leg {
            true => best(after_bend),
            false => (usize::MAX, false),
        };
        before = [elbow, bend];
        steps.push(before);
        taken_before = tangent;
    }
    let mut chosen = vec![false; run.turns.len()];
    let mut bent = before[1].0 <= before[0].0 && !steps.is_empty();
    for i in (0..steps.len()).rev() {
        chosen[i] = bent;
        bent = steps[i][usize::from(bent)].1;
    }
    chosen
}
