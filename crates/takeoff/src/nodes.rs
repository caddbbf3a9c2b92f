//! What sits at each node of a pipe line, from the angles, the sizes and what the node feeds.
//!
//! ```text
//!  run turns by α        tee with run a–b            head on the line: a tee with a thread,
//!     ______ α            a ────┬──── b              at the end of the line an elbow with one
//!    /                          │ c, off square by β
//! ```
//!
//! A node with more than three ways takes several tees. Of the three ways of a tee those two are the
//! run that leave the fewest elbows to make up for the angles; flexible pipe makes up for an angle by a
//! bend where there is room. Pipe meets a valve, the backflow assembly and the source by an adapter or
//! a union from its own size and material to a thread, so that any two materials meet there.
//!
//! What always holds at a node of `w` ways: Σ (sockets − 2) over its fittings = w − 2. Its fittings
//! hang together by short pieces of pipe, one fewer than fittings, so that sockets = ends of pipe.

use crate::bends::{Laid, Rule, Spot, rule_at_fitting};
use crate::fittings::{Fitting, Kind, Limits};
use crate::tree::{Direction, Reach, Tree, angle};
use digging::Digging;
use job::Job;
use routes::{LineKind, NodeId};
use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, PI};

/// A line with its bends and the fittings at every node.
pub struct Fitted<'t, 'a> {
    pub tree: &'t Tree<'a>,
    pub laid: Laid,
    at: BTreeMap<NodeId, Vec<Fitting>>,
    limits: Limits,
}

/// A turn that pipe at a fitting makes, and the ways that have it; 0 is the feeding one.
#[derive(Debug, Clone, PartialEq)]
struct Turn {
    turn: f64,
    ways: Vec<usize>,
}

/// Fittings whatever the pipe, and turns that take elbows or bends.
type Needs = (Vec<Kind>, Vec<Turn>);

impl<'t, 'a> Fitted<'t, 'a> {
    pub fn new(job: &Job, digging: &Digging, tree: &'t Tree<'a>) -> Self {
        let limits = Limits::of(job);
        let mut fitted = Self {
            tree,
            laid: Laid::new(job, digging, tree, limits),
            at: BTreeMap::new(),
            limits,
        };
        for node in tree.nodes() {
            let found = fitted.fit(job, digging, node);
            fitted.at.insert(node, found);
        }
        fitted
    }

    /// The fittings at a node.
    pub fn at(&self, node: NodeId) -> &[Fitting] {
        self.at.get(&node).map_or(&[], Vec::as_slice)
    }

    /// Turns along a reach that take fittings: share of the length at which each is, and its fittings.
    pub fn along(&self, number: usize) -> Vec<(f64, Vec<Fitting>)> {
        let reach = &self.tree.reaches[number];
        let turns = reach.turns().into_iter().enumerate();
        turns
            .filter(|(turn, _)| !self.laid.has(Spot::Within(number, *turn)))
            .map(|(_, (share, turn))| {
                let kinds = self.limits.elbows(turn).into_iter();
                (share, kinds.map(|kind| of_reach(reach, kind)).collect())
            })
            .filter(|(_, fittings): &(f64, Vec<Fitting>)| !fittings.is_empty())
            .collect()
    }

    fn fit(&mut self, job: &Job, digging: &Digging, node: NodeId) -> Vec<Fitting> {
        let tree = self.tree;
        let ways = ways(tree, node);
        let reaches: Vec<&Reach> = ways.iter().map(|(n, _)| &tree.reaches[*n]).collect();
        let Some(rank) = reaches.iter().map(|reach| reach.rank).max() else {
            return Vec::new();
        };
        let fed = tree.into(node).is_some();
        let (mut kinds, turns) = match fed {
            true => fed_node(&reaches, self.limits),
            false => (vec![Kind::Tee; reaches.len() - 1], Vec::new()),
        };
        kinds.extend(served(job, tree, node, reaches.len()));
        let reduced = reaches.iter().any(|reach| reach.rank < rank);
        let fitted = !kinds.is_empty() || reduced;
        let plain = self.laid.has(Spot::Between(node));
        for turn in turns.into_iter().filter(|_| !plain) {
            let at: Vec<(usize, bool)> = turn.ways.iter().map(|way| ways[*way]).collect();
            let rule = sharpest(job, digging, &at, tree);
            if fitted && self.laid.fits_at_fitting(turn.turn, rule, &at) {
                self.laid.bend_at_fitting(turn.turn, rule, &at, rank);
            } else {
                kinds.extend(self.limits.elbows(turn.turn));
            }
        }
        let fitting = |kind, to| Fitting {
            family: reaches[0].pipe.family.clone(),
            kind,
            rank,
            to,
        };
        let reducers = reaches.iter().filter(|reach| reach.rank < rank);
        let reducers: Vec<Fitting> = reducers.map(|r| fitting(Kind::Reducer, r.rank)).collect();
        let kinds = kinds.into_iter().map(|kind| fitting(kind, rank));
        kinds.chain(reducers).collect()
    }
}

fn of_reach(reach: &Reach, kind: Kind) -> Fitting {
    Fitting {
        family: reach.pipe.family.clone(),
        kind,
        rank: reach.rank,
        to: reach.rank,
    }
}

/// The reaches at a node, the feeding one first, each with whether its near end is there.
fn ways(tree: &Tree, node: NodeId) -> Vec<(usize, bool)> {
    let fed_by = tree.number_into(node).map(|number| (number, false));
    let outs = tree.numbers_out_of(node).iter().map(|out| (*out, true));
    fed_by.into_iter().chain(outs).collect()
}

/// The rule that is hardest to keep of all ways that have a turn.
fn sharpest(job: &Job, digging: &Digging, at: &[(usize, bool)], tree: &Tree) -> Rule {
    let rules = at
        .iter()
        .map(|(reach, _)| rule_at_fitting(job, digging, &tree.reaches[*reach]));
    let start = Rule {
        radius: 0.0,
        corner: f64::INFINITY,
    };
    rules.fold(start, |a, b| Rule {
        radius: a.radius.max(b.radius),
        corner: a.corner.min(b.corner),
    })
}

/// What connects the line to what a node feeds or is fed by, and what closes it where there is nothing.
fn served(job: &Job, tree: &Tree, node: NodeId, ways: usize) -> Vec<Kind> {
    let rules = &job.practice.takeoff;
    let union_from = |most: u32, from: u32| match most >= from {
        true => Kind::Union,
        false => Kind::Adapter,
    };
    let (at_valve, at_backflow) = (rules.unions_at_valve.value, rules.unions_at_backflow.value);
    let terminal = tree.line.terminals.contains(&node);
    let kind = &tree.line.kind;
    if tree.into(node).is_none() {
        return match kind {
            LineKind::Main => vec![union_from(at_backflow, 2)],
            LineKind::Lateral(_) => vec![union_from(at_valve, 2)],
            _ => vec![Kind::Adapter],
        };
    }
    match (terminal, ways > 1, kind) {
        (false, true, _) => Vec::new(),
        (false, false, _) => vec![Kind::Cap],
        (true, true, LineKind::Lateral(_)) => vec![Kind::ThreadedTee],
        (true, false, LineKind::Lateral(_)) => vec![Kind::ThreadedElbow],
        (true, on, _) => {
            let component = match kind {
                LineKind::Service => union_from(at_backflow, 1),
                _ => union_from(at_valve, 1),
            };
            let tee = on.then_some(Kind::Tee);
            tee.into_iter().chain([component]).collect()
        }
    }
}

/// Fittings for the ways on from a node that is fed, and the turns there.
fn fed_node(ways: &[&Reach], limits: Limits) -> Needs {
    let outs = &ways[1..];
    let tees = vec![Kind::Tee; outs.len().saturating_sub(1)];
    let back = ways[0].looks_back();
    let away: Vec<Direction> = outs.iter().filter_map(|out| out.sets_out()).collect();
    let turns = match (back, away.as_slice()) {
        // Where a way has no direction, no angle is known.
        (Some(back), away) if away.len() == outs.len() => match away {
            [] => Vec::new(),
            [one] => vec![Turn {
                turn: PI - angle(back, *one),
                ways: vec![0, 1],
            }],
            [one, two] => tee([back, *one, *two], limits),
            many => several_tees(back, many),
        },
        _ => Vec::new(),
    };
    (tees, turns)
}

/// The turns about one tee, in the position that takes the fewest elbows.
fn tee(ways: [Direction; 3], limits: Limits) -> Vec<Turn> {
    let positions = [(0, 1, 2), (0, 2, 1), (1, 2, 0)];
    let best = positions
        .into_iter()
        .map(|(a, b, c)| {
            let turn = PI - angle(ways[a], ways[b]);
            let off_square = (FRAC_PI_2 - angle(ways[a], ways[c])).abs();
            let elbows = limits.elbows(turn).len() + limits.elbows(off_square).len();
            let turns = vec![
                Turn {
                    turn,
                    ways: vec![a, b],
                },
                Turn {
                    turn: off_square,
                    ways: vec![c],
                },
            ];
            (elbows, turn + off_square, turns)
        })
        .min_by(|(a, x, _), (b, y, _)| a.cmp(b).then(x.total_cmp(y)));
    let turns = best.map_or_else(Vec::new, |(_, _, turns)| turns);
    turns
        .into_iter()
        .filter(|t| t.turn >= limits.from())
        .collect()
}

/// More than three ways: the straightest way on is the run, every other one leaves by a tee of its own.
fn several_tees(back: Direction, away: &[Direction]) -> Vec<Turn> {
    let turns: Vec<f64> = away.iter().map(|way| PI - angle(back, *way)).collect();
    let Some(run) = (0..turns.len()).min_by(|a, b| turns[*a].total_cmp(&turns[*b])) else {
        return Vec::new();
    };
    let branches = (0..turns.len()).filter(|index| *index != run);
    let along = Turn {
        turn: turns[run],
        ways: vec![0, run + 1],
    };
    let off_square = branches.map(|index| Turn {
        turn: (FRAC_PI_2 - turns[index]).abs(),
        ways: vec![index + 1],
    });
    [along].into_iter().chain(off_square).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn toward(degrees: f64) -> Direction {
        let (y, x) = degrees.to_radians().sin_cos();
        (x, y)
    }

    #[test]
    fn a_square_branch_takes_no_elbow() {
        let ways = [toward(180.0), toward(0.0), toward(90.0)];
        assert_eq!(tee(ways, Limits::for_tests()), []);
    }

    #[test]
    fn a_run_that_parts_to_both_sides_takes_the_tee_by_its_branch() {
        let ways = [toward(180.0), toward(90.0), toward(-90.0)];
        assert_eq!(tee(ways, Limits::for_tests()), []);
    }

    #[test]
    fn three_ways_at_equal_angles_turn_the_run_and_the_branch() {
        let ways = [toward(180.0), toward(60.0), toward(-60.0)];
        let turns = tee(ways, Limits::for_tests());
        assert_eq!(turns.len(), 2);
        assert!((turns[0].turn - PI / 3.0).abs() < 1e-9 && (turns[1].turn - PI / 6.0).abs() < 1e-9);
    }

    #[test]
    fn a_cross_turns_nothing() {
        let away = [toward(0.0), toward(90.0), toward(-90.0)];
        let turns = several_tees(toward(180.0), &away);
        assert!(turns.iter().all(|turn| turn.turn < 1e-9));
    }
}
