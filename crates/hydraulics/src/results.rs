//! What the water does: the result of this stage.

use crate::{Cold, PartTest, Surges, WireRun, Wiring};
use job::Finding;
use quantity::{Flow, Length, Money, Pressure, Ratio, Velocity};
use routes::{Network, NodeId, StretchId};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Sizes, pressures, surge and wire of the whole system.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Hydraulics {
    /// One pipe for every stretch of every pipe line, by line and then in the line's branch order.
    pub pipes: Vec<Pipe>,
    /// Every circuit, in the job's order.
    pub circuits: Vec<CircuitResult>,
    /// Every head and drip point, in the job's order.
    pub outlets: Vec<OutletResult>,
    /// Circuits that may run together, each pair once.
    #[serde(default)]
    pub together: Vec<Together>,
    /// What the pipes cost and what is proven of their sizes.
    #[serde(default)]
    pub sizing: Sizing,
    /// How well the flows settled.
    #[serde(default)]
    pub settled: Settled,
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
    /// How each part is tested before it is covered.
    #[serde(default)]
    pub tests: Vec<PartTest>,
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
    /// Flow when its circuit runs; for the main, the largest of what runs at a time behind it.
    pub flow: Flow,
    /// Velocity at that flow.
    pub velocity: Velocity,
    /// Loss by friction at that flow.
    pub friction: Pressure,
    /// Loss in fittings at that flow.
    pub minor: Pressure,
}

impl Pipe {
    /// The id under which one of its figures is in the ledger.
    pub fn figure_id(&self, network: &Network, figure: &str) -> String {
        let line = network.lines[self.line].name.replace(' ', "-");
        format!("pipe.{}.{line}.{figure}", self.stretch)
    }
}

/// What the pipes cost and what is proven of their sizes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Sizing {
    /// Pipe of the chosen sizes, at the price book's figures, waste and fittings left out.
    pub cost: Money,
    /// No sizes that keep the rules cost less than this.
    pub bound: Money,
    /// What the smallest sizes that keep the velocity would cost.
    pub by_velocity: Money,
    /// Outlets that would lack pressure with those.
    pub lacking_by_velocity: usize,
}

impl Sizing {
    /// Whether no sizes cost less.
    pub fn is_proven(&self) -> bool {
        self.bound == self.cost
    }
}

/// How well the flows settled, all circuits together.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Settled {
    /// Rounds of the solver.
    pub rounds: usize,
    /// Largest disagreement of the pressures at both ends of a pipe with what it takes.
    pub error: Pressure,
}

/// Two circuits at work at the same time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Together {
    /// The circuits' ids.
    pub circuits: [String; 2],
    /// What both draw.
    pub flow: Flow,
    /// What the source gives at that flow.
    pub source_pressure: Pressure,
    /// What each has behind its open valve beyond what it needs there; below 0 if it lacks.
    pub spare: [Pressure; 2],
}

impl Hydraulics {
    /// The length of all pipe, each counted in every stretch that it lies in.
    pub fn pipe_length(&self, network: &Network) -> Length {
        let lengths = self.pipes.iter();
        lengths
            .map(|pipe| network.stretch(pipe.stretch).length)
            .sum()
    }

    /// The outlet with the least pressure to spare; the first in a tie.
    pub fn least_to_spare(&self) -> Option<&OutletResult> {
        let by_margin = |a: &&OutletResult, b: &&OutletResult| a.margin.total_cmp(&b.margin);
        self.outlets.iter().min_by(by_margin)
    }
}

/// A circuit at work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CircuitResult {
    /// The circuit's id.
    pub circuit: String,
    /// What its outlets draw.
    pub flow: Flow,
    /// The sum of what they need.
    #[serde(default)]
    pub asked: Flow,
    /// What the source gives at that flow.
    pub source_pressure: Pressure,
    /// At the valve's inlet.
    pub valve_pressure: Pressure,
    /// What the valve's flow control takes, so that the outlet with the least margin has what it needs;
    /// it is what the circuit has to spare.
    #[serde(default)]
    pub taken: Pressure,
    /// The outlet with the least margin.
    pub worst_outlet: String,
    /// Pressure there.
    pub worst_pressure: Pressure,
    /// What it needs.
    pub worst_needs: Pressure,
    /// Highest less lowest pressure among its outlets.
    pub spread: Pressure,
    /// Largest less smallest flow among its outlets, each over what it needs.
    #[serde(default)]
    pub flow_spread: Ratio,
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
    /// What it draws at that pressure.
    #[serde(default)]
    pub flow: Flow,
    /// Pressure that it could still lose: what it has beyond its need, and what the valve's flow control
    /// takes. Below 0 if it lacks.
    #[serde(default)]
    pub margin: Pressure,
}

impl OutletResult {
    /// The pressure that it could still lose as a share of what it needs; below 0 if it lacks, and the plain number
    /// of pascals if it needs none.
    pub fn spare_share(&self) -> f64 {
        self.margin.si() / self.needs.si().max(1.0)
    }
}
