//! Valve wire: how long it is, and how thick it has to be.
//!
//! Each valve has a conductor of its own from the controller; one common conductor goes to all of them
//! along the trenches of the wire. A solenoid opens only at a certain voltage, with a larger current,
//! and holds at a lower one, with less: both drops are kept. Where several valves are on at once, the
//! common carries the current of all of them as far as their ways are the same; for every valve those
//! count that share most of its way. With the common's gauge given, each valve takes the thinnest own
//! conductor that keeps its drops, so that trying every gauge for the common finds the least copper
//! exactly. The other way is one cable of two conductors along the tree ([`crate::two_wire`]).

pub(crate) mod account;
mod tree;

use crate::two_wire;
use job::practice::{Gauge, WireSystem};
use job::{Finding, Job};
use quantity::{Amount, Current, Length, LinearResistance, Voltage};
use routes::{LineKind, Network};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use working::Ledger;

pub(crate) use tree::WireTree;

/// The wire to a valve.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WireRun {
    /// The valve's id.
    pub valve: String,
    /// Along the trenches from the controller, slack and tails excluded.
    pub length: Length,
    /// The gauge of its own conductor; of the cable where two wires serve all valves.
    pub gauge: String,
    /// Current as the solenoid opens.
    pub current: Current,
    /// Voltage drop there and back as the solenoid opens, with slack and tails.
    pub drop: Voltage,
    /// The gauge of the common conductor.
    #[serde(default)]
    pub common: String,
    /// Current while the solenoid holds.
    #[serde(default)]
    pub hold: Current,
    /// Voltage drop there and back while it holds.
    #[serde(default)]
    pub hold_drop: Voltage,
    /// Colour of its own conductor; empty where two wires serve all valves.
    #[serde(default)]
    pub colour: String,
}

/// The wire as a whole.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Wiring {
    /// `conventional` or `two-wire`; empty without wire.
    pub system: String,
    /// The gauge of the common conductor, or of the cable.
    pub common: String,
    /// Colour of the common conductor.
    pub common_colour: String,
    /// How far each pair of gauges reaches with one valve on, from the thinnest own conductor on.
    pub longest: Vec<LongestRun>,
}

/// How far a pair of gauges reaches.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LongestRun {
    /// Gauge of the own conductor.
    pub own: String,
    /// Gauge of the common one.
    pub common: String,
    /// Length of one conductor, slack and tails included.
    pub length: Length,
}

/// Voltage lost there and back, U = 2·L·R·I, over a conductor and a common of the same gauge;
/// `length` is that of one conductor.
///
/// Source: Ohm's law.
pub fn voltage_drop(length: Length, resistance: LinearResistance, current: Current) -> Voltage {
    pair_drop(length, (resistance, resistance), current)
}

/// Voltage lost there and back, U = L·(R₁ + R₂)·I, over a conductor and a common of other gauge.
///
/// Source: Ohm's law.
pub fn pair_drop(
    length: Length,
    (own, common): (LinearResistance, LinearResistance),
    current: Current,
) -> Voltage {
    one_way(length, own, current) + one_way(length, common, current)
}

/// Voltage lost in one conductor, U = L·R·I.
///
/// Source: Ohm's law.
pub fn one_way(length: Length, resistance: LinearResistance, current: Current) -> Voltage {
    Voltage::v(length.to_m() * resistance.to_ohm_per_m() * current.to_a())
}

/// The longest conductor that keeps within a drop, L = U/(2·R·I).
///
/// Source: Ohm's law.
pub fn longest(drop: Voltage, resistance: LinearResistance, current: Current) -> Length {
    pair_longest(drop, (resistance, resistance), current)
}

/// The longest conductor and common of other gauge that keep within a drop, L = U/((R₁ + R₂)·I).
///
/// Source: Ohm's law.
pub fn pair_longest(
    drop: Voltage,
    (own, common): (LinearResistance, LinearResistance),
    current: Current,
) -> Length {
    let both = (own + common).to_ohm_per_m();
    Length::m(drop.to_v() / (both * current.to_a()))
}

/// Resistance of copper at another temperature, R₂ = R₁·(1 + α·(T₂ − T₁)), α = 0.00323/K at 75 °C.
///
/// Source: NEC Chapter 9 Table 8, note 2; from memory. It takes its solid conductors from 75 °C to
/// within 0.4 % of the resistance of annealed copper of their size at 20 °C.
pub fn from_75_c(resistance: LinearResistance, temperature: quantity::Celsius) -> LinearResistance {
    resistance * (1.0 + 0.003_23 * (temperature.to_c() - 75.0))
}

/// The wire to every valve and the wire as a whole, what stands against it among the findings.
pub(crate) fn runs(
    job: &Job,
    network: &Network,
    findings: &mut Vec<Finding>,
    ledger: &mut Ledger,
) -> (Vec<WireRun>, Wiring) {
    let nothing = (Vec::new(), Wiring::default());
    let Some(controller) = &job.system.controller else {
        return nothing;
    };
    let Some(line) = network.lines.iter().find(|l| l.kind == LineKind::Wire) else {
        findings.push(Finding::warning(
            "wire-missing",
            controller.id.as_str(),
            "no wire runs from the controller to the valves",
            "give the controller a place from which trenches can reach the valves",
        ));
        return nothing;
    };
    let tree = WireTree::new(job, network, line);
    findings.extend(tree.unreached.iter().map(|valve| {
        Finding::warning(
            "wire-missing",
            valve.as_str(),
            "the wire does not reach this valve",
            "move the valve or the controller to where trenches can join them",
        )
    }));
    match job.practice.wire.system.value {
        WireSystem::Conventional => conventional(job, &tree, findings, ledger),
        WireSystem::TwoWire => two_wire::runs(job, &tree, findings, ledger),
    }
}

/// The two limits: as a solenoid opens and while it holds.
fn limits(job: &Job) -> [(Current, Voltage); 2] {
    let rules = &job.practice.wire;
    [
        (rules.inrush.value, rules.voltage_drop.value),
        (rules.hold.value, rules.hold_drop.value),
    ]
}

fn conventional(
    job: &Job,
    tree: &WireTree,
    findings: &mut Vec<Finding>,
    ledger: &mut Ledger,
) -> (Vec<WireRun>, Wiring) {
    let gauges = &job.practice.wire.gauge;
    let Some(thickest) = gauges.len().checked_sub(1) else {
        return (Vec::new(), Wiring::default());
    };
    let chosen = choose(job, tree);
    let (common, own) = chosen
        .clone()
        .unwrap_or_else(|| (thickest, fitting_or_thickest(job, tree, thickest)));
    let runs: Vec<WireRun> = (0..tree.valves.len())
        .map(|v| run(job, tree, v, &gauges[own[v]], &gauges[common]))
        .collect();
    for (v, run) in runs.iter().enumerate() {
        findings.extend(too_long(job, tree, v, run));
    }
    let wiring = Wiring {
        system: WireSystem::Conventional.label().to_owned(),
        common: gauges[common].name.clone(),
        common_colour: job.practice.wire.common_colour.value.clone(),
        longest: table(job),
    };
    account::put(job, tree, (&runs, &wiring), ledger);
    (runs, wiring)
}

/// The common's gauge and each valve's own with the least copper that keep every drop, the thicker
/// common in a tie; nothing if none do.
fn choose(job: &Job, tree: &WireTree) -> Option<(usize, Vec<usize>)> {
    let gauges = &job.practice.wire.gauge;
    let candidates = (0..gauges.len()).rev().filter_map(|common| {
        let own: Option<Vec<usize>> = (0..tree.valves.len())
            .map(|v| thinnest(job, tree, v, common))
            .collect();
        let own = own?;
        Some((copper(job, tree, common, &own), common, own))
    });
    candidates
        .reduce(|best, next| if next.0 < best.0 { next } else { best })
        .map(|(_, common, own)| (common, own))
}

/// Of every valve the thinnest own conductor that keeps its drops, the thickest where none does.
fn fitting_or_thickest(job: &Job, tree: &WireTree, common: usize) -> Vec<usize> {
    let thickest = job.practice.wire.gauge.len() - 1;
    (0..tree.valves.len())
        .map(|v| thinnest(job, tree, v, common).unwrap_or(thickest))
        .collect()
}

fn thinnest(job: &Job, tree: &WireTree, valve: usize, common: usize) -> Option<usize> {
    let gauges = &job.practice.wire.gauge;
    (0..gauges.len()).find(|own| {
        limits(job).iter().all(|(current, limit)| {
            drop(tree, valve, (&gauges[*own], &gauges[common]), *current) <= *limit
        })
    })
}

/// Volume of copper but for a factor: the section goes with the inverse of the resistance.
fn copper(job: &Job, tree: &WireTree, common: usize, own: &[usize]) -> f64 {
    let gauges = &job.practice.wire.gauge;
    let of = |length: Length, gauge: usize| length.to_m() / gauges[gauge].resistance.to_ohm_per_m();
    let owns: f64 = tree
        .valves
        .iter()
        .zip(own)
        .map(|(valve, gauge)| of(valve.conductor, *gauge))
        .sum();
    owns + of(tree.whole, common)
}

/// The drop to a valve with as many others on as the practice has at once, those that share most of
/// its way.
fn drop(
    tree: &WireTree,
    valve: usize,
    (own, common): (&Gauge, &Gauge),
    current: Current,
) -> Voltage {
    let this = &tree.valves[valve];
    let alone = pair_drop(this.conductor, (own.resistance, common.resistance), current);
    alone + one_way(this.shared, common.resistance, current)
}

fn run(job: &Job, tree: &WireTree, valve: usize, own: &Gauge, common: &Gauge) -> WireRun {
    let rules = &job.practice.wire;
    let this = &tree.valves[valve];
    WireRun {
        valve: this.id.clone(),
        length: this.along,
        gauge: own.name.clone(),
        current: rules.inrush.value,
        drop: drop(tree, valve, (own, common), rules.inrush.value),
        common: common.name.clone(),
        hold: rules.hold.value,
        hold_drop: drop(tree, valve, (own, common), rules.hold.value),
        colour: colour(job, valve),
    }
}

/// The colours in turn; from the second time round with its number.
fn colour(job: &Job, valve: usize) -> String {
    let colours = &job.practice.wire.own_colours.value.0;
    match (
        colours.get(valve % colours.len().max(1)),
        valve / colours.len().max(1),
    ) {
        (None, _) => String::new(),
        (Some(colour), 0) => colour.clone(),
        (Some(colour), round) => format!("{colour} {}", round + 1),
    }
}

fn too_long(job: &Job, tree: &WireTree, valve: usize, wire: &WireRun) -> Option<Finding> {
    let gauges = &job.practice.wire.gauge;
    let thickest = gauges.last()?;
    let [opens, holds] = limits(job);
    let show = |amount: Amount| amount.show(job.units);
    let (lost, limit, when) = if wire.drop > opens.1 {
        (wire.drop, opens.1, "as it opens")
    } else if wire.hold_drop > holds.1 {
        (wire.hold_drop, holds.1, "while it holds")
    } else {
        return None;
    };
    let most = limits(job)
        .iter()
        .map(|(current, limit)| {
            let others = one_way(tree.valves[valve].shared, thickest.resistance, *current);
            longest(*limit - others, thickest.resistance, *current).max(Length::ZERO)
        })
        .reduce(Length::min)?;
    Some(Finding::warning(
        "wire-too-long",
        wire.valve.as_str(),
        format!(
            "{} is lost on the way to the valve {when} even in {}, the thickest wire listed; {} may \
             be",
            show(lost.amount()),
            thickest.name,
            show(limit.amount()),
        ),
        format!(
            "bring the controller nearer, so that the conductor with slack and tails is not longer \
             than {}, or list a thicker gauge in the rules (wire.gauge)",
            show(most.amount()),
        ),
    ))
}

/// How far every pair of gauges reaches with one valve on.
fn table(job: &Job) -> Vec<LongestRun> {
    let gauges = &job.practice.wire.gauge;
    let reach = |own: &Gauge, common: &Gauge| {
        limits(job)
            .iter()
            .map(|(current, limit)| {
                pair_longest(*limit, (own.resistance, common.resistance), *current)
            })
            .reduce(Length::min)
            .unwrap_or(Length::ZERO)
    };
    gauges
        .iter()
        .flat_map(|own| gauges.iter().map(move |common| (own, common)))
        .map(|(own, common)| LongestRun {
            own: own.name.clone(),
            common: common.name.clone(),
            length: reach(own, common),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Celsius;

    /// 2·L·R·I worked by hand with the resistances of NEC Chapter 9 Table 8.
    #[test]
    fn the_drop_is_that_of_the_worked_cases() {
        let rows = [(1000.0, 3.07, 0.40, 2.456), (600.0, 7.77, 0.40, 3.7296)];
        for (ft, ohm, a, volt) in rows {
            let (r, i) = (LinearResistance::ohm_per_kft(ohm), Current::a(a));
            let drop = voltage_drop(Length::ft(ft), r, i);
            assert!((drop.to_v() - volt).abs() < 1e-9);
            assert!((longest(drop, r, i).to_ft() - ft).abs() < 1e-9);
        }
        let r = LinearResistance::ohm_per_km(12.1);
        let metric = voltage_drop(Length::m(300.0), r, Current::a(0.25));
        assert!((metric.to_v() - 1.815).abs() < 1e-9);
        let (own, common) = (
            LinearResistance::ohm_per_kft(7.77),
            LinearResistance::ohm_per_kft(3.07),
        );
        let pair = pair_drop(Length::ft(800.0), (own, common), Current::a(0.40));
        assert!((pair.to_v() - 3.4688).abs() < 1e-9);
        let back = pair_longest(pair, (own, common), Current::a(0.40));
        assert!((back.to_ft() - 800.0).abs() < 1e-9);
    }

    /// The solid conductors of NEC Chapter 9 Table 8 at 75 °C against annealed copper of their size
    /// at 20 °C, 10.371 ohm·cmil/ft.
    #[test]
    fn cold_copper_resists_as_its_size_says() {
        let rows = [
            (7.77, 6.384_89),
            (4.89, 4.0155),
            (3.07, 2.525_37),
            (1.93, 1.588_22),
            (1.21, 0.998_842),
        ];
        for (warm, cold) in rows {
            let at = from_75_c(LinearResistance::ohm_per_kft(warm), Celsius::c(20.0));
            assert!((at.to_ohm_per_kft() / cold - 1.0).abs() < 4e-3, "{warm}");
        }
    }
}
