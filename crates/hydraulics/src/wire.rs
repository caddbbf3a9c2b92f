//! Valve wire: how long it is, and how thick it has to be.

use crate::WireRun;
use job::{Finding, Job, Place, Valve};
use quantity::{Amount, Current, Length, LinearResistance, Style, Voltage};
use routes::{Line, LineKind, Network, NodeId, NodeKind};
use std::collections::BTreeMap;
use working::{Ledger, Working};

/// Two things nearer than this lie at one place.
const SAME_PLACE_M: f64 = 0.01;

/// Voltage lost there and back, U = 2·L·R·I, over a conductor and a common of the same gauge;
/// `length` is that of one conductor.
///
/// Source: Ohm's law.
pub fn voltage_drop(length: Length, resistance: LinearResistance, current: Current) -> Voltage {
    Voltage::v(2.0 * length.to_m() * resistance.to_ohm_per_m() * current.to_a())
}

/// The longest conductor that keeps within a drop, L = U/(2·R·I).
///
/// Source: Ohm's law.
pub fn longest(drop: Voltage, resistance: LinearResistance, current: Current) -> Length {
    Length::m(drop.to_v() / (2.0 * resistance.to_ohm_per_m() * current.to_a()))
}

/// The wire to every valve, the valves that no wire reaches among the findings.
pub(crate) fn runs(
    job: &Job,
    network: &Network,
    findings: &mut Vec<Finding>,
    ledger: &mut Ledger,
) -> Vec<WireRun> {
    let Some(controller) = &job.system.controller else {
        return Vec::new();
    };
    let Some(line) = network.lines.iter().find(|l| l.kind == LineKind::Wire) else {
        findings.push(Finding::warning(
            "wire-missing",
            controller.id.as_str(),
            "no wire runs from the controller to the valves",
            "give the controller a place from which trenches can reach the valves",
        ));
        return Vec::new();
    };
    let along = lengths(network, line);
    let mut wires = Vec::new();
    for valve in &job.system.valves {
        match node_of(network, &along, valve) {
            Some(node) => {
                let (wire, drop) = run(job, valve, along[&node]);
                findings.extend(too_long(job, &wire));
                put(job, &wire, drop, &controller.id, ledger);
                wires.push(wire);
            }
            None => findings.push(Finding::warning(
                "wire-missing",
                valve.id.as_str(),
                "the wire does not reach this valve",
                "move the valve or the controller to where trenches can join them",
            )),
        }
    }
    wires
}

/// The way along the line from its root to every node that it reaches.
fn lengths(network: &Network, line: &Line) -> BTreeMap<NodeId, Length> {
    let mut along = BTreeMap::from([(line.root, Length::ZERO)]);
    for branch in &line.branches {
        let before = along.get(&branch.from).copied().unwrap_or(Length::ZERO);
        let length = network.stretch(branch.stretch).length.max(Length::ZERO);
        along.entry(branch.to).or_insert(before + length);
    }
    along
}

/// The node of a valve among those that the wire reaches: by what is there, else by place.
fn node_of(network: &Network, along: &BTreeMap<NodeId, Length>, valve: &Valve) -> Option<NodeId> {
    let kind = NodeKind::Valve(valve.id.clone());
    let near = |at: Place| at.distance(valve.at) <= SAME_PLACE_M;
    let mut nodes = along.keys().copied();
    let by_place = nodes.clone().find(|n| near(network.node(*n).at));
    nodes.find(|n| network.node(*n).what == kind).or(by_place)
}

/// One conductor with what is laid loose and left coiled at both ends.
fn conductor(job: &Job, length: Length) -> Length {
    let slack = job.practice.cut.wire_slack.value.to_one();
    length * (1.0 + slack) + job.practice.takeoff.wire_tail.value * 2.0
}

/// The thinnest gauge that keeps the drop, else the thickest; with its resistance.
fn run(job: &Job, valve: &Valve, length: Length) -> (WireRun, LinearResistance) {
    let rules = &job.practice.wire;
    let current = rules.inrush.value;
    let conductor = conductor(job, length);
    let drop = |r: LinearResistance| voltage_drop(conductor, r, current);
    let gauge = rules
        .gauge
        .iter()
        .find(|g| drop(g.resistance) <= rules.voltage_drop.value)
        .or(rules.gauge.last());
    let resistance = gauge.map_or(LinearResistance::ZERO, |g| g.resistance);
    let wire = WireRun {
        valve: valve.id.clone(),
        length,
        gauge: gauge.map_or_else(String::new, |g| g.name.clone()),
        current,
        drop: drop(resistance),
    };
    (wire, resistance)
}

fn too_long(job: &Job, wire: &WireRun) -> Option<Finding> {
    let rules = &job.practice.wire;
    let thickest = rules.gauge.last()?;
    let limit = rules.voltage_drop.value;
    let show = |amount: Amount| amount.show(job.units);
    (wire.drop > limit).then(|| {
        let most = longest(limit, thickest.resistance, wire.current);
        Finding::warning(
            "wire-too-long",
            wire.valve.as_str(),
            format!(
                "{} is lost on the way to the valve even in {}, the thickest wire listed; {} may \
                 be",
                show(wire.drop.amount()),
                thickest.name,
                show(limit.amount()),
            ),
            format!(
                "bring the controller nearer, so that the conductor with slack and tails is not \
                 longer than {}, or list a thicker gauge in the practice file",
                show(most.amount()),
            ),
        )
    })
}

fn put(
    job: &Job,
    wire: &WireRun,
    resistance: LinearResistance,
    controller: &str,
    ledger: &mut Ledger,
) {
    let rules = &job.practice.wire;
    let id = |figure: &str| format!("wire.{}.{figure}", wire.valve);
    let length = Working::new(
        format!("Way of the wire to valve {}", wire.valve),
        wire.length.amount(),
        "sum of the stretches of the wire line from controller to valve",
        "arithmetic",
    )
    .with(
        "controller",
        controller,
        format!("job feature {controller}"),
    )
    .with(
        "valve",
        wire.valve.as_str(),
        format!("job feature {}", wire.valve),
    );
    let drop = Working::new(
        format!("Voltage lost on the way to valve {} and back", wire.valve),
        wire.drop.amount(),
        "2 × conductor × resistance × current; conductor = length × (1 + slack) + 2 × tail",
        "Ohm's law",
    )
    .with(
        "length",
        wire.length.amount(),
        format!("figure {}", id("length")),
    )
    .with(
        "slack",
        Amount::new(job.practice.cut.wire_slack.value.to_one(), Style::Percent),
        job.practice.cut.wire_slack.origin(),
    )
    .with(
        "tail",
        job.practice.takeoff.wire_tail.value.amount(),
        job.practice.takeoff.wire_tail.origin(),
    )
    .with("resistance", resistance.amount(), gauge_source(job, wire))
    .with("current", wire.current.amount(), rules.inrush.origin())
    .approximately("direct-current resistance; one valve opens at a time");
    let gauge = Working::new(
        format!("Gauge of the wire to valve {}", wire.valve),
        wire.gauge.as_str(),
        "the thinnest listed gauge whose drop keeps the limit; the thickest if none does",
        "common practice",
    )
    .with("drop", wire.drop.amount(), format!("figure {}", id("drop")))
    .with(
        "limit",
        rules.voltage_drop.value.amount(),
        rules.voltage_drop.origin(),
    );
    ledger.put(id("length"), length);
    ledger.put(id("drop"), drop);
    ledger.put(id("gauge"), gauge);
}

fn gauge_source(job: &Job, wire: &WireRun) -> String {
    let gauges = &job.practice.wire.gauge;
    let source = gauges.iter().find(|g| g.name == wire.gauge);
    format!(
        "practice wire.gauge {}: {}",
        wire.gauge,
        source.map_or("", |g| g.source.as_str())
    )
}

#[cfg(test)]
mod tests {
    use super::*;

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
    }
}
