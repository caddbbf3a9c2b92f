//! What the chosen sizes come to: the result without its findings and wires.

use crate::model::{Model, Sizes, worst};
use crate::piping::Way;
use crate::sizing::{Chosen, behind_valve_with};
use crate::steady::Running;
use crate::{CircuitResult, Hydraulics, OutletResult, Pipe, Settled, Sizing, Together, model};
use quantity::{Flow, Money, Pressure, Ratio, Velocity};
use std::collections::BTreeMap;

/// `model` is taken at the flows of `running`.
pub(crate) fn report(model: &Model, chosen: &Chosen, running: &[Running]) -> Hydraulics {
    let sizes = &chosen.sizes;
    let circuits = model.piping.ways.iter().zip(running);
    Hydraulics {
        pipes: (0..model.piping.runs.len())
            .map(|run| pipe(model, run, sizes))
            .collect(),
        circuits: circuits
            .map(|(way, running)| circuit(model, way, running, sizes))
            .collect(),
        outlets: outlets(model, running),
        together: together(model, running, sizes),
        sizing: sizing(chosen),
        settled: Settled {
            rounds: running.iter().map(|r| r.rounds).sum(),
            error: running
                .iter()
                .map(|r| r.head_error)
                .fold(Pressure::ZERO, Pressure::max),
        },
        ..Hydraulics::default()
    }
}

fn sizing(chosen: &Chosen) -> Sizing {
    let cost = Money::from_units(chosen.cost);
    let bound = Money::from_units(chosen.bound);
    Sizing {
        cost,
        bound,
        by_velocity: Money::from_units(chosen.by_velocity),
        lacking_by_velocity: chosen.lacking_by_velocity,
    }
}

fn pipe(model: &Model, run: usize, sizes: &Sizes) -> Pipe {
    let this = &model.piping.runs[run];
    let size = model.size_of_run(run, sizes);
    let loss = model.loss(run, this.flow, sizes);
    Pipe {
        line: this.line,
        stretch: this.branch.stretch,
        from: this.branch.from,
        to: this.branch.to,
        family: model.piping.sections[this.section].key.to_owned(),
        size: size.name.clone(),
        outside: size.outside,
        inside: size.inside,
        flow: this.flow,
        velocity: model.velocity(run, this.flow, sizes),
        friction: loss.friction,
        minor: loss.minor,
    }
}

fn circuit(model: &Model, way: &Way, running: &Running, sizes: &Sizes) -> CircuitResult {
    let state = model::State {
        outlets: running.pressures.clone(),
    };
    let worst = worst(way, &state);
    let outlet = worst.map(|(tap, _)| way.taps[tap].outlet);
    CircuitResult {
        circuit: way.circuit.id.clone(),
        flow: way.flow,
        asked: way.taps.iter().map(|t| t.outlet.flow).sum(),
        source_pressure: model.source(way.flow),
        valve_pressure: model.at_valve(way, way.flow, sizes),
        taken: running.taken,
        worst_outlet: outlet.map_or_else(String::new, |o| o.id.clone()),
        worst_pressure: worst.map_or(Pressure::ZERO, |(_, p)| p),
        worst_needs: outlet.map_or(Pressure::ZERO, |o| o.pressure),
        spread: spread(&running.pressures),
        flow_spread: flow_spread(way, running),
        fastest: fastest(model, way, sizes).map_or(Velocity::ZERO, |(_, v)| v),
        surge: Pressure::ZERO,
        surge_peak: Pressure::ZERO,
        rating: Pressure::ZERO,
    }
}

/// Highest less lowest pressure among the outlets of a circuit.
fn spread(pressures: &[Option<Pressure>]) -> Pressure {
    let reached = || pressures.iter().flatten().copied();
    let most = reached().reduce(Pressure::max);
    let least = reached().reduce(Pressure::min);
    most.zip(least).map_or(Pressure::ZERO, |(m, l)| m - l)
}

fn flow_spread(way: &Way, running: &Running) -> Ratio {
    let taps = way
        .taps
        .iter()
        .zip(&running.flows)
        .filter(|(tap, _)| tap.node.is_some());
    let shares: Vec<f64> = taps.map(|(tap, flow)| *flow / tap.outlet.flow).collect();
    let most = shares.iter().copied().reduce(f64::max);
    let least = shares.iter().copied().reduce(f64::min);
    Ratio::one(most.zip(least).map_or(0.0, |(m, l)| m - l))
}

/// The run of a circuit in which its water is fastest, main included; the first in a tie.
pub(crate) fn fastest(model: &Model, way: &Way, sizes: &Sizes) -> Option<(usize, Velocity)> {
    way.upstream
        .iter()
        .copied()
        .chain(way.laterals.clone())
        .map(|run| (run, model.velocity(run, model.flow_in(run, way), sizes)))
        .reduce(|most, next| if next.1 > most.1 { next } else { most })
}

/// In the job's order; an outlet that the network does not reach gets nothing.
fn outlets(model: &Model, running: &[Running]) -> Vec<OutletResult> {
    let mut got: BTreeMap<&str, (Pressure, Flow, Pressure)> = BTreeMap::new();
    for (way, running) in model.piping.ways.iter().zip(running) {
        let at = running.pressures.iter().zip(&running.flows);
        for (tap, (pressure, flow)) in way.taps.iter().zip(at) {
            let pressure = pressure.unwrap_or(Pressure::ZERO);
            let margin = pressure - tap.outlet.pressure + running.taken;
            got.insert(&tap.outlet.id, (pressure, *flow, margin));
        }
    }
    let outlets = model.job.system.outlets.iter();
    outlets
        .map(|outlet| {
            let nothing = (Pressure::ZERO, Flow::ZERO, Pressure::ZERO - outlet.pressure);
            let (pressure, flow, margin) = got.get(outlet.id.as_str()).copied().unwrap_or(nothing);
            OutletResult {
                outlet: outlet.id.clone(),
                circuit: outlet.circuit.clone(),
                pressure,
                needs: outlet.pressure,
                flow,
                margin,
            }
        })
        .collect()
}

/// The least that an outlet has beyond its need while its circuit runs alone.
fn beyond_need(way: &Way, running: &Running) -> Pressure {
    let taps = way.taps.iter().zip(&running.pressures);
    let spares = taps.filter_map(|(tap, p)| p.map(|p| p - tap.outlet.pressure));
    spares.reduce(Pressure::min).unwrap_or(Pressure::ZERO)
}

/// Every pair that may run together and is reached.
fn together(model: &Model, running: &[Running], sizes: &Sizes) -> Vec<Together> {
    let ways = &model.piping.ways;
    let reached =
        |(a, b): &&(usize, usize)| ways[*a].valve_node.is_some() && ways[*b].valve_node.is_some();
    let pairs = model.piping.pairs.iter().filter(reached);
    pairs
        .map(|(a, b)| {
            let flow = ways[*a].flow + ways[*b].flow;
            let spare = |one: usize, other: usize| {
                let beyond = beyond_need(&ways[one], &running[one]);
                behind_valve_with(model, one, other, sizes) - running[one].behind_valve + beyond
            };
            Together {
                circuits: [ways[*a].circuit.id.clone(), ways[*b].circuit.id.clone()],
                flow,
                source_pressure: model.source(flow),
                spare: [spare(*a, *b), spare(*b, *a)],
            }
        })
        .collect()
}
