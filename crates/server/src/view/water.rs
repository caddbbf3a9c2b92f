//! Pipes, heads, circuits and valves.

use ::job::Job;
use ::plan::Plan;
use ::plan::hydraulics::Pipe;
use ::plan::routes::LineKind;
use serde::Serialize;
use std::collections::BTreeSet;
use utoipa::ToSchema;

use super::figures::Reader;
use super::{Fig, PlaceView, Plane};

/// What a pipe is part of.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum PipeKind {
    /// From the source to the backflow assembly.
    Service,
    /// From there to the valves.
    Main,
    /// Behind a valve.
    Lateral,
}

/// A pipe in a stretch.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PipeView {
    /// The name of its line.
    pub line: String,
    /// What it is part of.
    pub kind: PipeKind,
    /// The circuit of a lateral.
    #[schema(required)]
    pub circuit: Option<String>,
    /// The stretch.
    pub stretch: String,
    /// Where it runs, in the direction of flow.
    pub path: Vec<PlaceView>,
    /// Nominal size.
    pub size: String,
    /// Family and size.
    pub label: String,
    /// What flows through it.
    pub flow: Fig,
    /// How fast.
    pub velocity: Fig,
}

/// A head or the feeding point of a drip area.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct OutletView {
    /// Its id.
    pub id: String,
    /// Where it is.
    pub at: PlaceView,
    /// Its circuit.
    pub circuit: String,
    /// Pressure that reaches it.
    pub pressure: Fig,
    /// Pressure that it needs.
    pub needs: Fig,
    /// Pressure that it could still lose.
    pub margin: Fig,
    /// The same as a share of what it needs; below 0 if it lacks.
    pub spare: f64,
    /// Whether it has the least to spare of its circuit.
    pub worst: bool,
}

/// Heads that run together.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CircuitView {
    /// Its id.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// What it draws.
    pub flow: Fig,
    /// Pressure at its valve.
    pub valve_pressure: Fig,
    /// The head with the least to spare.
    pub worst: String,
    /// How many heads it has.
    pub outlets: usize,
    /// Whether the plan has proposed it.
    pub proposed: bool,
}

/// A valve.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ValveView {
    /// Its id.
    pub id: String,
    /// Where it is.
    pub at: PlaceView,
    /// The circuit that it opens.
    pub circuit: String,
    /// Whether the plan has proposed it.
    pub proposed: bool,
}

pub fn pipes(plane: Plane, reader: Reader<'_>) -> Vec<PipeView> {
    let pipes = reader.plan.hydraulics.pipes.iter();
    let views = pipes.filter_map(|pipe| {
        let line = reader.plan.network.lines.get(pipe.line)?;
        let (kind, circuit) = match &line.kind {
            LineKind::Service => (PipeKind::Service, None),
            LineKind::Main => (PipeKind::Main, None),
            LineKind::Lateral(circuit) => (PipeKind::Lateral, Some(circuit.clone())),
            LineKind::Wire | LineKind::Cable(_) => return None,
        };
        let of = |figure: &str| pipe.figure_id(&reader.plan.network, figure);
        Some(PipeView {
            line: line.name.clone(),
            kind,
            circuit,
            stretch: pipe.stretch.to_string(),
            path: flowing(plane, reader.plan, pipe),
            size: pipe.size.clone(),
            label: format!("{} {}", pipe.size, pipe.family),
            flow: reader.fig(pipe.flow.amount(), &of("flow")),
            velocity: reader.fig(pipe.velocity.amount(), &of("velocity")),
        })
    });
    views.collect()
}

fn flowing(plane: Plane, plan: &Plan, pipe: &Pipe) -> Vec<PlaceView> {
    plane.path(&plan.network.stretch(pipe.stretch).path_from(pipe.from))
}

pub fn outlets(job: &Job, plane: Plane, reader: Reader<'_>) -> Vec<OutletView> {
    let worst: BTreeSet<&str> = reader
        .plan
        .hydraulics
        .circuits
        .iter()
        .map(|circuit| circuit.worst_outlet.as_str())
        .collect();
    let results = reader.plan.hydraulics.outlets.iter();
    let views = results.filter_map(|result| {
        let outlet = job
            .system
            .outlets
            .iter()
            .find(|outlet| outlet.id == result.outlet)?;
        let of = |figure: &str| format!("head.{}.{figure}", result.outlet);
        Some(OutletView {
            id: result.outlet.clone(),
            at: plane.place(outlet.at),
            circuit: result.circuit.clone(),
            pressure: reader.fig(result.pressure.amount(), &of("pressure")),
            needs: reader.fig(result.needs.amount(), ""),
            margin: reader.fig(result.margin.amount(), &of("margin")),
            spare: result.spare_share(),
            worst: worst.contains(result.outlet.as_str()),
        })
    });
    views.collect()
}

pub fn circuits(job: &Job, reader: Reader<'_>) -> Vec<CircuitView> {
    let proposed = proposed(reader.plan);
    let results = reader.plan.hydraulics.circuits.iter();
    let views = results.map(|result| {
        let circuit = job.system.circuits.iter().find(|c| c.id == result.circuit);
        let of = |figure: &str| format!("circuit.{}.{figure}", result.circuit);
        let outlets = reader.plan.hydraulics.outlets.iter();
        CircuitView {
            id: result.circuit.clone(),
            name: circuit.map_or_else(|| result.circuit.clone(), |c| c.name.clone()),
            flow: reader.fig(result.flow.amount(), &of("flow")),
            valve_pressure: reader.fig(result.valve_pressure.amount(), &of("valve_pressure")),
            worst: result.worst_outlet.clone(),
            outlets: outlets.filter(|o| o.circuit == result.circuit).count(),
            proposed: proposed.contains(result.circuit.as_str()),
        }
    });
    views.collect()
}

pub fn valves(job: &Job, plane: Plane, reader: Reader<'_>) -> Vec<ValveView> {
    let proposed = proposed(reader.plan);
    let valves = job.system.valves.iter().map(|valve| ValveView {
        id: valve.id.clone(),
        at: plane.place(valve.at),
        circuit: valve.circuit.clone(),
        proposed: proposed.contains(valve.circuit.as_str()),
    });
    valves.collect()
}

/// The circuits that the plan has proposed.
fn proposed(plan: &Plan) -> BTreeSet<&str> {
    let grouping = plan.grouping.iter();
    let circuits = grouping.flat_map(|grouping| &grouping.circuits);
    circuits.map(|circuit| circuit.circuit.as_str()).collect()
}
