//! Winter: where water stands in the pipes, how much of it air has to push out, and which heads let a
//! lateral run empty.
//!
//! Pipe is taken to lie as deep everywhere and to run straight from node to node, so that the heights
//! of the nodes at grade tell where it is low.

use crate::Hydraulics;
use job::{Job, Place};
use quantity::{Length, Volume};
use routes::{Line, Network, NodeId};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use working::{Ledger, Working};

/// Heights nearer to each other than this are level: nobody lays pipe finer.
const LEVEL_M: f64 = 0.02;

/// Winter.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cold {
    /// Where water stands when a line runs empty: a drain for each.
    pub low_points: Vec<LowPoint>,
    /// What is in each line of pipe.
    pub volumes: Vec<LineVolume>,
    /// Heads below the highest place of their lateral, through which it runs empty after each run.
    pub low_heads: Vec<LowHead>,
}

/// A place from which a line rises on all sides, or at which it ends low.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LowPoint {
    /// Index into the network's lines.
    pub line: usize,
    /// The node.
    pub node: NodeId,
    /// Where it is.
    pub at: Place,
    /// Its height at grade.
    pub elevation: Length,
    /// Whether the line ends there.
    pub dead_end: bool,
}

/// The inside of a line of pipe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LineVolume {
    /// Index into the network's lines.
    pub line: usize,
    /// Water in it when full, which air has to push out.
    pub inside: Volume,
}

/// A head that lies low.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LowHead {
    /// The outlet's id.
    pub outlet: String,
    /// How far it lies below the highest place of its lateral.
    pub below: Length,
    /// At most so much runs out through it after a run, if nothing holds it back.
    pub drains: Volume,
}

/// Inside volume of a round pipe above a height, its ends at two heights.
pub fn volume_above(
    inside: Length,
    length: Length,
    (a, b): (Length, Length),
    height: Length,
) -> Volume {
    let (low, high) = (a.min(b).to_m(), a.max(b).to_m());
    let share = if high - low <= 0.0 {
        f64::from(low > height.to_m())
    } else {
        ((high - height.to_m()) / (high - low)).clamp(0.0, 1.0)
    };
    (inside * inside) * std::f64::consts::FRAC_PI_4 * length * share
}

pub(crate) fn put(job: &Job, network: &Network, result: &mut Hydraulics, ledger: &mut Ledger) {
    let mut cold = Cold::default();
    for (i, line) in network.lines.iter().enumerate() {
        if line.kind.is_pipe() && !line.branches.is_empty() {
            cold.low_points.extend(low_points(network, i, line));
            let inside = above(network, result, i, Length::m(f64::NEG_INFINITY));
            ledger.put(
                format!("cold.{}.air_volume", line.name.replace(' ', "-")),
                volume(network, result, i, inside),
            );
            cold.volumes.push(LineVolume { line: i, inside });
            cold.low_heads.extend(low_heads(job, network, result, i));
        }
    }
    for head in &cold.low_heads {
        let working = Working::new(
            format!(
                "Water that runs out through {} after a run, at most",
                head.outlet
            ),
            head.drains.liquid(),
            "inside volume of its lateral's pipes above it",
            "arithmetic",
        )
        .with(
            "below the highest place of its lateral",
            head.below.amount(),
            "the network's elevations",
        )
        .approximately("as if no check valve held it and no ridge kept water back");
        ledger.put(format!("head.{}.drains", head.outlet), working);
    }
    result.cold = cold;
}

fn above(network: &Network, result: &Hydraulics, line: usize, height: Length) -> Volume {
    let of_line = result.pipes.iter().filter(|p| p.line == line);
    of_line
        .map(|pipe| {
            let ends = (
                network.node(pipe.from).elevation,
                network.node(pipe.to).elevation,
            );
            let length = network.stretch(pipe.stretch).length.max(Length::ZERO);
            volume_above(pipe.inside, length, ends, height)
        })
        .sum()
}

fn volume(network: &Network, result: &Hydraulics, line: usize, inside: Volume) -> Working {
    let working = Working::new(
        format!(
            "Water in the {} that air has to push out",
            network.lines[line].name
        ),
        inside.liquid(),
        "sum of π / 4 × inside² × length",
        "arithmetic",
    );
    result
        .pipes
        .iter()
        .filter(|pipe| pipe.line == line)
        .fold(working, |working, pipe| {
            let from = format!("figure stretch.{}.length", pipe.stretch);
            working.with(
                format!("length, {} of {}", pipe.stretch, pipe.size),
                network.stretch(pipe.stretch).length.amount(),
                from,
            )
        })
        .approximately(
            "length along the trench. Compressed air bursts pipe and throws parts: a regulator holds it \
             below what every part is made for, eyes are covered and nobody stands over a head",
        )
}

/// The low places of a line: level stretches count as one, at an end of the line if it has one.
fn low_points(network: &Network, index: usize, line: &Line) -> Vec<LowPoint> {
    let mut beside: BTreeMap<NodeId, Vec<NodeId>> = BTreeMap::new();
    for branch in &line.branches {
        beside.entry(branch.from).or_default().push(branch.to);
        beside.entry(branch.to).or_default().push(branch.from);
    }
    let height = |node: NodeId| network.node(node).elevation.to_m();
    let mut seen = BTreeSet::new();
    let mut points = Vec::new();
    for start in beside.keys() {
        if !seen.insert(*start) {
            continue;
        }
        let (mut level, mut at, mut lowest) = (vec![*start], 0, true);
        while let Some(node) = level.get(at).copied() {
            at += 1;
            for next in &beside[&node] {
                let rise = height(*next) - height(node);
                if rise.abs() <= LEVEL_M {
                    if seen.insert(*next) {
                        level.push(*next);
                    }
                } else if rise < 0.0 {
                    lowest = false;
                }
            }
        }
        let ends = |node: &NodeId| beside[node].len() == 1;
        let place = level
            .iter()
            .copied()
            .min_by(|a, b| {
                let by_end = ends(b).cmp(&ends(a));
                by_end
                    .then(height(*a).total_cmp(&height(*b)))
                    .then(a.cmp(b))
            })
            .filter(|_| lowest);
        points.extend(place.map(|node| LowPoint {
            line: index,
            node,
            at: network.node(node).at,
            elevation: network.node(node).elevation,
            dead_end: ends(&node),
        }));
    }
    points
}

fn low_heads(job: &Job, network: &Network, result: &Hydraulics, index: usize) -> Vec<LowHead> {
    let line = &network.lines[index];
    let routes::LineKind::Lateral(circuit) = &line.kind else {
        return Vec::new();
    };
    let nodes = line.branches.iter().flat_map(|b| [b.from, b.to]);
    let highest = nodes
        .map(|node| network.node(node).elevation)
        .fold(Length::m(f64::NEG_INFINITY), Length::max);
    let mut heads = Vec::new();
    for outlet in job.outlets_of(circuit) {
        let kind = routes::NodeKind::Outlet(outlet.id.clone());
        let mut ends = line.branches.iter().map(|b| b.to);
        let Some(node) = ends.find(|node| network.node(*node).what == kind) else {
            continue;
        };
        let height = network.node(node).elevation;
        if (highest - height).to_m() > LEVEL_M {
            heads.push(LowHead {
                outlet: outlet.id.clone(),
                below: highest - height,
                drains: above(network, result, index, height),
            });
        }
    }
    heads
}

/// Depth to which ground freezes, x = √(2·k·F/L), k the conductivity of the frozen ground in W/(m·K),
/// F the freezing index of its surface in °C·days, L the latent heat of its water by volume in J/m³.
/// It leaves out the heat of the ground below, so it is an upper bound.
///
/// Source: Stefan's formula as in UFC 3-130-06, read in code of a university.
pub fn stefan(conductivity: f64, index: f64, latent: f64) -> Length {
    const DAY: f64 = 86_400.0;
    if latent <= 0.0 {
        return Length::ZERO;
    }
    Length::m((2.0 * conductivity.max(0.0) * index.max(0.0) * DAY / latent).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// k = 1.5 W/(m·K), 300 °C·days, L = 334e3 × 1700 × 0.15 J/m³: 0.955509 m, worked by hand.
    #[test]
    fn frost_goes_as_deep_as_in_the_worked_case() {
        let depth = stefan(1.5, 300.0, 334e3 * 1700.0 * 0.15);
        assert!((depth.to_m() - 0.955_509).abs() < 1e-6);
        assert_eq!(stefan(1.5, 300.0, 0.0), Length::ZERO);
        assert_eq!(stefan(1.5, -3.0, 1e8), Length::ZERO);
    }

    #[test]
    fn a_pipe_that_slopes_is_full_below_and_empty_above() {
        let (inside, length) = (Length::mm(20.0), Length::m(10.0));
        let ends = (Length::m(0.0), Length::m(2.0));
        let at = |h: f64| volume_above(inside, length, ends, Length::m(h)).to_l();
        let whole = std::f64::consts::FRAC_PI_4 * 0.02 * 0.02 * 10.0 * 1e3;
        for (h, share) in [(-1.0, 1.0), (0.5, 0.75), (2.0, 0.0), (3.0, 0.0)] {
            assert!((at(h) - whole * share).abs() < 1e-9, "{h}");
        }
    }
}
