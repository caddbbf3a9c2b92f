//! Winter: where water stands in the pipes, how it gets out of them, which heads let a lateral run
//! empty, and how deep the ground freezes.
//!
//! Pipe is taken to lie as deep everywhere and to run straight from node to node, so that the heights
//! of the nodes at grade tell where it is low.

mod findings;
mod frost;

pub use frost::{frost_depth, latent_heat, stefan, with_frost_depth};

use crate::{Hydraulics, derating};
use job::practice::{DrainDown, Winter};
use job::{Job, OutletKind, Place, Sourced};
use quantity::{Amount, Length, Pressure, Volume};
use routes::{Line, LineKind, Network, NodeId};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use working::{Ledger, Working};

/// Heights nearer to each other than this are level: nobody lays pipe finer.
const LEVEL_M: f64 = 0.02;

/// Winter.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Cold {
    /// How the pipes are emptied before the frost; nothing where they lie below it.
    pub emptied: Option<DrainDown>,
    /// How deep the ground freezes; 0 where neither a depth nor a freezing index is given.
    pub frost_depth: Length,
    /// Where water stands when a line runs empty.
    pub low_points: Vec<LowPoint>,
    /// The low points of main and laterals at which a drain lies: places among the low points. None
    /// unless the pipes are drained.
    pub drains: Vec<usize>,
    /// What is in main and laterals.
    pub volumes: Vec<LineVolume>,
    /// Heads that lie below the highest place of their lateral by more than their check valve holds:
    /// through them it runs empty after each run.
    pub low_heads: Vec<LowHead>,
    /// The laterals that run empty so.
    pub low_laterals: Vec<LowLateral>,
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
    /// Water in it when full.
    pub inside: Volume,
    /// Greatest pressure of the air that pushes it out, by the weakest pipe on its way; nothing where
    /// no air does.
    #[serde(default)]
    pub air_cap: Option<Pressure>,
}

/// A head that lies low.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LowHead {
    /// The outlet's id.
    pub outlet: String,
    /// How far it lies below the highest place of its lateral.
    pub below: Length,
    /// At most so much runs out through it after a run.
    pub drains: Volume,
}

/// A lateral that runs empty through heads that lie low.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LowLateral {
    /// The circuit's id.
    pub circuit: String,
    /// How many heads lie too low.
    pub heads: usize,
    /// The lowest of them.
    pub lowest: String,
    /// How far that one lies below the highest place.
    pub below: Length,
    /// At most so much runs out through all of them after a run.
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
    let practice = &job.practice;
    let emptied =
        (practice.cover.winter.value == Winter::Drained).then_some(practice.cold.drain_down.value);
    let mut cold = Cold {
        emptied,
        frost_depth: frost::put(job, ledger),
        ..Cold::default()
    };
    let winter = WinterOf {
        job,
        network,
        pipes: result,
    };
    for (i, line) in network.lines.iter().enumerate() {
        if line.kind.is_pipe() && !line.branches.is_empty() {
            winter.line(i, line, &mut cold, ledger);
        }
    }
    result.findings.extend(findings::findings(job, &cold));
    result.cold = cold;
}

/// What all lines share.
struct WinterOf<'a> {
    job: &'a Job,
    network: &'a Network,
    pipes: &'a Hydraulics,
}

impl WinterOf<'_> {
    fn line(&self, index: usize, line: &Line, cold: &mut Cold, ledger: &mut Ledger) {
        let first = cold.low_points.len();
        cold.low_points
            .extend(low_points(self.network, index, line));
        // The service stays full: it is shut off and emptied at its own stop.
        let key = match &line.kind {
            LineKind::Main => "main".to_owned(),
            LineKind::Lateral(circuit) => format!("lateral-{circuit}"),
            _ => return,
        };
        let inside = above(
            self.network,
            self.pipes,
            index,
            Length::m(f64::NEG_INFINITY),
        );
        let mut air_cap = None;
        match cold.emptied {
            Some(DrainDown::BlownOut) => {
                let bounds = self.bounds(index);
                air_cap = bounds.values().map(|b| b.most).reduce(Pressure::min);
                let volume = volume(self.network, self.pipes, index, inside);
                ledger.put(format!("cold.{key}.air_volume"), volume);
                if let Some(cap) = air_cap {
                    ledger.put(
                        format!("cold.{key}.air_cap"),
                        cap_working(line, cap, &bounds),
                    );
                }
            }
            Some(DrainDown::Drained) => {
                let points = first..cold.low_points.len();
                let drains = drains(line, &cold.low_points[points.clone()]);
                ledger.put(format!("cold.{key}.drains"), drains);
                cold.drains.extend(points);
            }
            None => {}
        }
        cold.volumes.push(LineVolume {
            line: index,
            inside,
            air_cap,
        });
        let low = low_heads(self.job, self.network, self.pipes, index);
        if let (LineKind::Lateral(circuit), Some(lateral)) = (&line.kind, low_lateral(line, &low)) {
            let hold = &self.job.practice.cold.check_valve;
            let drains = lateral_working(circuit, &lateral, &low, hold);
            ledger.put(format!("cold.{key}.drains_through"), drains);
            for head in &low {
                let working = head_working(head, hold);
                ledger.put(format!("head.{}.drains", head.outlet), working);
            }
            cold.low_laterals.push(lateral);
        }
        cold.low_heads.extend(low);
    }

    /// What bounds the air in a line: of the pipes of main and of this line, each material's cap and
    /// each size's rating, once.
    fn bounds(&self, index: usize) -> BTreeMap<String, Bound> {
        let practice = &self.job.practice;
        let is_main = |line: usize| self.network.lines[line].kind == LineKind::Main;
        let on_way = |line: usize| line == index || is_main(line);
        let mut bounds = BTreeMap::new();
        for pipe in self.pipes.pipes.iter().filter(|p| on_way(p.line)) {
            let Some(family) = practice.pipe.get(&pipe.family) else {
                continue;
            };
            let cap = practice.cold.air_pressure.of(family.material);
            let name = format!("most air in {}", family.material.label());
            bounds.entry(name).or_insert_with(|| Bound {
                most: cap.value,
                from: cap.origin(),
            });
            let rows = derating::rows(&practice.surge, family.material);
            let kept = derating::share(rows, practice.surge.pipe_temperature.value);
            for size in family.sizes.iter().filter(|s| s.name == pipe.size) {
                let name = format!("rating of {} {}", family.label, size.name);
                let warmth = derating::origin(&practice.surge, family.material);
                bounds.entry(name).or_insert_with(|| Bound {
                    most: size.rating * kept.to_one(),
                    from: format!("{}; {warmth}", size.source),
                });
            }
        }
        bounds
    }
}

/// What bounds the pressure of air.
struct Bound {
    most: Pressure,
    from: String,
}

fn cap_working(line: &Line, cap: Pressure, bounds: &BTreeMap<String, Bound>) -> Working {
    let working = Working::new(
        format!("Greatest pressure of air in the {}", line.name),
        cap.amount(),
        "the least of what each material and each size of pipe on the way of the air bears",
        "common practice",
    );
    bounds
        .iter()
        .fold(working, |working, (name, bound)| {
            working.with(name.as_str(), bound.most.amount(), bound.from.as_str())
        })
        .approximately(
            "a bound on the regulator, not a goal: heads, valves and fittings may bear less. Compressed \
             air bursts pipe and throws parts",
        )
}

fn drains(line: &Line, points: &[LowPoint]) -> Working {
    let working = Working::new(
        format!("Drains of the {}", line.name),
        Amount::count(points.len()),
        "one at each place from which it rises on all sides, or at which it ends low",
        "common practice",
    );
    points
        .iter()
        .fold(working, |working, point| {
            working.with(
                format!("height at ({:.1}, {:.1})", point.at.x, point.at.y),
                point.elevation.amount(),
                "the network's elevations",
            )
        })
        .approximately("as if pipe lay equally deep everywhere and straight from node to node")
}

fn low_lateral(line: &Line, low: &[LowHead]) -> Option<LowLateral> {
    let LineKind::Lateral(circuit) = &line.kind else {
        return None;
    };
    let lowest = low.iter().reduce(
        |most, head| {
            if head.below > most.below { head } else { most }
        },
    )?;
    Some(LowLateral {
        circuit: circuit.clone(),
        heads: low.len(),
        lowest: lowest.outlet.clone(),
        below: lowest.below,
        // What runs out through any of them runs out through the lowest.
        drains: lowest.drains,
    })
}

fn lateral_working(
    circuit: &str,
    lateral: &LowLateral,
    low: &[LowHead],
    hold: &Sourced<Length>,
) -> Working {
    let working = Working::new(
        format!("Water that runs out of circuit {circuit} through low heads after a run, at most"),
        lateral.drains.liquid(),
        "what runs out through the lowest of them",
        "arithmetic",
    )
    .with("a check valve holds", hold.value.amount(), hold.origin());
    low.iter()
        .fold(working, |working, head| {
            working.with(
                format!("{} below the highest place", head.outlet),
                head.below.amount(),
                format!("figure head.{}.drains", head.outlet),
            )
        })
        .approximately("as if no ridge kept water back")
}

fn head_working(head: &LowHead, hold: &Sourced<Length>) -> Working {
    Working::new(
        format!(
            "Water that runs out through {} after a run, at most",
            head.outlet
        ),
        head.drains.liquid(),
        "inside volume of its lateral's pipes above what its check valve holds",
        "arithmetic",
    )
    .with(
        "below the highest place of its lateral",
        head.below.amount(),
        "the network's elevations",
    )
    .with("its check valve holds", hold.value.amount(), hold.origin())
    .approximately("as if no ridge kept water back")
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
    let LineKind::Lateral(circuit) = &line.kind else {
        return Vec::new();
    };
    let nodes = line.branches.iter().flat_map(|b| [b.from, b.to]);
    let highest = nodes
        .map(|node| network.node(node).elevation)
        .fold(Length::m(f64::NEG_INFINITY), Length::max);
    let hold = job.practice.cold.check_valve.value;
    let mut heads = Vec::new();
    let outlets = job.outlets_of(circuit);
    for outlet in outlets.filter(|o| o.kind == OutletKind::Head) {
        let kind = routes::NodeKind::Outlet(outlet.id.clone());
        let mut ends = line.branches.iter().map(|b| b.to);
        let Some(node) = ends.find(|node| network.node(*node).what == kind) else {
            continue;
        };
        let height = network.node(node).elevation;
        if (highest - height - hold).to_m() > LEVEL_M {
            heads.push(LowHead {
                outlet: outlet.id.clone(),
                below: highest - height,
                drains: above(network, result, index, height + hold),
            });
        }
    }
    heads
}

#[cfg(test)]
mod tests {
    use super::*;

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
