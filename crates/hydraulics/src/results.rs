//! What the water does: the result of this stage.

use crate::{Cold, Surges, WireRun, Wiring};
use job::Finding;
use quantity::{Flow, Length, Pressure, Velocity};
use routes::{NodeId, StretchId};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Sizes, pressures, surge and wire of the whole system.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Hydraulics {
    /// One pipe for every stretch of every pipe line, by line and then in the line's branch order.
    pub pipes: Vec<Pipe>,
    /// Every circuit, in the job's order.
    pub circuits: Vec<CircuitResult>,
    /// Every head and drip point, in the job's order.
    pub outlets: Vec<OutletResult>,
    /// Every wired valve, in the job's order.
    pub wires: Vec<WireRun>,
    /// The wire as a whole.
    #[serde(default)]
    pub wiring: Wiring,
    /// What closing valves do to service and main.
    #[serde(default)]
    pub surge: Surges,
    /// Winter: low points, what is in the pipes, low heads.
    #[serde(default)]
    pub cold: Cold,
    /// What stands against the result.
    pub findings: Vec<Finding>,
}

/// The pipe of one line in one stretch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Pipe {
    /// Index into the network's lines.
    pub line: usize,
    /// The stretch it lies in.
    pub stretch: StretchId,
    /// The end nearer the source.
    pub from: NodeId,
    /// The end farther from it.
    pub to: NodeId,
    /// Pipe family.
    pub family: String,
    /// Nominal size.
    pub size: String,
    /// Outside diameter.
    pub outside: Length,
    /// Inside diameter.
    pub inside: Length,
    /// Flow when its circuit runs; for the main, the largest of the circuits behind it.
    pub flow: Flow,
    /// Velocity at that flow.
    pub velocity: Velocity,
    /// Loss by friction at that flow.
    pub friction: Pressure,
    /// Loss in fittings at that flow.
    pub minor: Pressure,
}

/// A circuit at work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CircuitResult {
    /// The circuit's id.
    pub circuit: String,
    /// The sum of what its outlets need.
    pub flow: Flow,
    /// What the source gives at that flow.
    pub source_pressure: Pressure,
    /// At the valve's inlet.
    pub valve_pressure: Pressure,
    /// The outlet with the least margin.
    pub worst_outlet: String,
    /// Pressure there.
    pub worst_pressure: Pressure,
    /// What it needs.
    pub worst_needs: Pressure,
    /// Highest less lowest pressure among its outlets.
    pub spread: Pressure,
    /// Fastest water in its laterals and in the main that feeds it.
    pub fastest: Velocity,
    /// Rise of pressure when its valve closes, in the pipe between source and valve whose highest
    /// pressure comes nearest to its rating; 0 if no pipe lies between them.
    pub surge: Pressure,
    /// Highest pressure in that pipe.
    pub surge_peak: Pressure,
    /// The rating of that pipe at its temperature; 0 if there is none.
    pub rating: Pressure,
}

/// A head or drip point at work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OutletResult {
    /// The outlet's id.
    pub outlet: String,
    /// Its circuit.
    pub circuit: String,
    /// Pressure that reaches it.
    pub pressure: Pressure,
    /// Pressure that it needs.
    pub needs: Pressure,
}
