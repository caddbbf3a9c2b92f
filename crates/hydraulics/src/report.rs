//! What the chosen sizes come to: the result without its findings and wires.

use crate::model::{Model, Sizes, State, worst};
use crate::piping::Way;
use crate::{CircuitResult, Cold, Hydraulics, OutletResult, Pipe, Surges, Wiring, sizing};
use quantity::{Pressure, Velocity};
use std::collections::BTreeMap;

pub(crate) fn report(model: &Model, sizes: &Sizes) -> Hydraulics {
    let ways = &model.piping.ways;
    let states: Vec<State> = ways.iter().map(|w| model.state(w, sizes, 1.0)).collect();
    Hydraulics {
        pipes: (0..model.piping.runs.len())
            .map(|run| pipe(model, run, sizes))
            .collect(),
        circuits: ways
            .iter()
            .zip(&states)
            .map(|(way, state)| circuit(model, way, state, sizes))
            .collect(),
        outlets: outlets(model, &states),
        wires: Vec::new(),
        wiring: Wiring::default(),
        surge: Surges::default(),
        cold: Cold::default(),
        findings: Vec::new(),
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

fn circuit(model: &Model, way: &Way, state: &State, sizes: &Sizes) -> CircuitResult {
    let worst = worst(way, state);
    let outlet = worst.map(|(tap, _)| way.taps[tap].outlet);
    CircuitResult {
        circuit: way.circuit.id.clone(),
        flow: way.flow,
        source_pressure: state.source,
        valve_pressure: state.valve,
        worst_outlet: outlet.map_or_else(String::new, |o| o.id.clone()),
        worst_pressure: worst.map_or(Pressure::ZERO, |(_, p)| p),
        worst_needs: outlet.map_or(Pressure::ZERO, |o| o.pressure),
        spread: sizing::spread(state),
        fastest: fastest(model, way, sizes).map_or(Velocity::ZERO, |(_, v)| v),
        surge: Pressure::ZERO,
        surge_peak: Pressure::ZERO,
        rating: Pressure::ZERO,
    }
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
fn outlets(model: &Model, states: &[State]) -> Vec<OutletResult> {
    let mut pressures: BTreeMap<&str, Pressure> = BTreeMap::new();
    for (way, state) in model.piping.ways.iter().zip(states) {
        for (tap, pressure) in way.taps.iter().zip(&state.outlets) {
            pressures.insert(&tap.outlet.id, pressure.unwrap_or(Pressure::ZERO));
        }
    }
    let outlets = model.job.system.outlets.iter();
    outlets
        .map(|outlet| OutletResult {
            outlet: outlet.id.clone(),
            circuit: outlet.circuit.clone(),
            pressure: pressures
                .get(outlet.id.as_str())
                .copied()
                .unwrap_or(Pressure::ZERO),
            needs: outlet.pressure,
        })
        .collect()
}
