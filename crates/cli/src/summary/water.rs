//! What the water does: pipe by line and size, every head, pairs that run together, wires.

use super::{Report, many, words};
use crate::table::{Table, wrapped};
use plan::hydraulics::{OutletResult, Pipe};
use quantity::{Amount, Length, Money, Pressure, Style, Velocity, Volume};

/// What the pipes cost, and what is proven of their sizes.
pub fn sizing(report: &Report) -> String {
    let water = &report.plan.hydraulics;
    let sizing = &water.sizing;
    if water.pipes.is_empty() {
        return String::new();
    }
    let proof = if sizing.is_proven() {
        "no sizes that keep the rules cost less for these flows".to_owned()
    } else {
        format!(
            "sizes that keep the rules cost {} at least",
            report.money(sizing.bound)
        )
    };
    let difference = sizing.cost - sizing.by_velocity;
    let against = if difference == Money::ZERO {
        "it is what the rule of velocity alone would buy".to_owned()
    } else if difference > Money::ZERO {
        format!("the rule of velocity alone would buy for {difference} less")
    } else {
        format!(
            "the rule of velocity alone would buy for {} more",
            Money::ZERO - difference
        )
    };
    let lacking = match sizing.lacking_by_velocity {
        0 => String::new(),
        n => format!(", and {} would lack pressure", many(n, "head", "heads")),
    };
    let words = format!(
        "pipe {}: {proof}; {against}{lacking}",
        report.money(sizing.cost)
    );
    wrapped(&words, "  ", "  ")
}

/// Pipe by line, family and size.
pub fn pipes(report: &Report) -> String {
    let water = &report.plan.hydraulics;
    let mut kinds: Vec<(&Pipe, Length, Velocity)> = Vec::new();
    for pipe in &water.pipes {
        let length = report.plan.network.stretch(pipe.stretch).length;
        let same =
            |k: &&mut (&Pipe, Length, Velocity)| k.0.line == pipe.line && k.0.size == pipe.size;
        match kinds.iter_mut().find(same) {
            Some(kind) => {
                kind.1 += length;
                kind.2 = kind.2.max(pipe.velocity);
                if pipe.flow > kind.0.flow {
                    kind.0 = pipe;
                }
            }
            None => kinds.push((pipe, length, pipe.velocity)),
        }
    }
    if kinds.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .left("line")
        .left("pipe")
        .left("size")
        .right("length", report.unit(Style::Length))
        .right("most flow", report.unit(Style::Flow))
        .right("fastest", report.unit(Style::Velocity));
    kinds.sort_by(|a, b| {
        a.0.line
            .cmp(&b.0.line)
            .then(b.0.inside.total_cmp(&a.0.inside))
    });
    for (pipe, length, fastest) in kinds {
        let family = report.job.practice.pipe.get(&pipe.family);
        table.row(vec![
            report.plan.network.lines[pipe.line].name.clone(),
            family.map_or_else(|| pipe.family.clone(), |f| f.label.clone()),
            pipe.size.clone(),
            report.number(length.amount()),
            report.number(pipe.flow.amount()),
            report.number(fastest.amount()),
        ]);
    }
    table.text("  ") + &wrapped("every pipe with its losses stands in pipes.csv", "  ", "  ")
}

/// Every head and drip point with its pressure, those with least to spare first in each circuit.
pub fn heads(report: &Report) -> String {
    let outlets = &report.plan.hydraulics.outlets;
    if outlets.is_empty() {
        return String::new();
    }
    let pressure = report.unit(Style::Pressure);
    let mut table = Table::new()
        .left("circuit")
        .left("head")
        .right("flow", report.unit(Style::Flow))
        .right("pressure", pressure)
        .right("needs", pressure)
        .right("to spare", pressure);
    for circuit in &report.plan.hydraulics.circuits {
        let own = outlets.iter().filter(|o| o.circuit == circuit.circuit);
        let mut own: Vec<&OutletResult> = own.collect();
        own.sort_by(|a, b| a.margin.total_cmp(&b.margin).then(a.outlet.cmp(&b.outlet)));
        for (i, outlet) in own.into_iter().enumerate() {
            table.row(vec![
                if i == 0 {
                    circuit.circuit.clone()
                } else {
                    String::new()
                },
                outlet.outlet.clone(),
                report.number(outlet.flow.amount()),
                report.number(outlet.pressure.amount()),
                report.number(outlet.needs.amount()),
                report.number(outlet.margin.amount()),
            ]);
        }
    }
    let note = "to spare: what it could still lose, the flow control of its valve opened";
    table.text("  ") + &wrapped(note, "  ", "  ")
}

/// Circuits that may run together.
pub fn together(report: &Report) -> String {
    let pairs = &report.plan.hydraulics.together;
    if pairs.is_empty() {
        return String::new();
    }
    let pressure = report.unit(Style::Pressure);
    let mut table = Table::new()
        .left("circuit")
        .left("while")
        .right("both draw", report.unit(Style::Flow))
        .right("source", pressure)
        .right("to spare", pressure);
    for pair in pairs {
        for (i, spare) in pair.spare.iter().enumerate() {
            table.row(vec![
                pair.circuits[i].clone(),
                pair.circuits[1 - i].clone(),
                report.number(pair.flow.amount()),
                report.number(pair.source_pressure.amount()),
                report.number(spare.amount()),
            ]);
        }
    }
    table.text("  ")
}

/// The wire to every valve.
pub fn wires(report: &Report) -> String {
    let water = &report.plan.hydraulics;
    if water.wires.is_empty() {
        return String::new();
    }
    let volt = report.unit(Style::Voltage);
    let mut table = Table::new()
        .left("valve")
        .right("way", report.unit(Style::Length))
        .left("own")
        .left("colour")
        .left("common")
        .right("lost opening", volt)
        .right("lost holding", volt);
    for wire in &water.wires {
        table.row(vec![
            wire.valve.clone(),
            report.number(wire.length.amount()),
            wire.gauge.clone(),
            wire.colour.clone(),
            wire.common.clone(),
            report.number(wire.drop.amount()),
            report.number(wire.hold_drop.amount()),
        ]);
    }
    table.text("  ")
}

/// Emptying before the frost, and heads through which laterals run empty.
pub fn winter(report: &Report) -> String {
    let cold = &report.plan.hydraulics.cold;
    let liquid = |volume: Volume| Amount::new(volume.to_m3(), Style::Liquid);
    let mut out = String::new();
    let pushed: Vec<_> = cold
        .volumes
        .iter()
        .filter(|v| v.air_cap.is_some())
        .collect();
    if !pushed.is_empty() {
        let mut table = Table::new()
            .left("line")
            .right("water in it", report.unit(Style::Liquid))
            .right("air not above", report.unit(Style::Pressure));
        for volume in pushed {
            let cap = volume.air_cap.unwrap_or(Pressure::ZERO);
            table.row(vec![
                report.plan.network.lines[volume.line].name.clone(),
                report.number(liquid(volume.inside)),
                report.number(cap.amount()),
            ]);
        }
        out += &table.text("  ");
    }
    let at = |place: &usize| cold.low_points.get(*place);
    let drains: Vec<_> = cold.drains.iter().filter_map(at).collect();
    if !drains.is_empty() {
        let mut table = Table::new()
            .left("line")
            .left("drain at")
            .right("height", report.unit(Style::Head));
        for drain in drains {
            table.row(vec![
                report.plan.network.lines[drain.line].name.clone(),
                words::node(report.job, report.plan, drain.node),
                report.number(Amount::new(drain.elevation.to_m(), Style::Head)),
            ]);
        }
        out += &table.text("  ");
    }
    out
}
