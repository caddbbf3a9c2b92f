//! How each part is tested before it is covered: at what pressure, how long, what the gauge may lose.
//!
//! The main stands under a share of what the source gives with nothing running, never above what its weakest
//! pipe bears; a circuit is looked at while it runs, since its heads are open.

use crate::closing::{at_rest, rating};
use crate::model::{Model, Sizes};
use crate::{CircuitResult, Hydraulics};
use job::practice::PressureTest;
use quantity::{Amount, Duration, Flow, Pressure};
use routes::LineKind;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use working::{Ledger, Working};

/// How one part is tested.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PartTest {
    /// `main`, or the name of a circuit's line.
    pub part: String,
    /// Its id among the figures, `test.` with it.
    pub id: String,
    /// At the gauge: of the main at the source, of a circuit before its valve.
    pub pressure: Pressure,
    /// How long it is watched.
    pub held: Duration,
    /// What the gauge may lose meanwhile.
    pub may_lose: Pressure,
}

/// The tests of the main and of every circuit, each figure with its working.
pub(crate) fn tests(
    model: &Model,
    sizes: &Sizes,
    result: &Hydraulics,
    ledger: &mut Ledger,
) -> Vec<PartTest> {
    let rules = &model.job.practice.test;
    let main = of_main(model, sizes, result, ledger);
    let circuits = result.circuits.iter().map(|c| of_circuit(model, c, ledger));
    let tests: Vec<PartTest> = main.into_iter().chain(circuits).collect();
    for test in &tests {
        put_rules(rules, test, ledger);
    }
    tests
}

/// The weakest pipe of the main: what the gauge at the source shows when that pipe, at its lower end, is under
/// its rating.
fn weakest(model: &Model, sizes: &Sizes, result: &Hydraulics) -> Option<(usize, Pressure)> {
    let is_main = |run: &usize| {
        let kind = &model.network.lines[result.pipes[*run].line].kind;
        matches!(kind, LineKind::Service | LineKind::Main)
    };
    let runs = (0..result.pipes.len()).filter(is_main);
    let at_gauge = runs.map(|run| {
        let below = at_rest(model, run) - model.source(Flow::ZERO);
        (run, rating(model, run, sizes) - below)
    });
    at_gauge.min_by(|a, b| a.1.total_cmp(&b.1))
}

fn of_main(
    model: &Model,
    sizes: &Sizes,
    result: &Hydraulics,
    ledger: &mut Ledger,
) -> Option<PartTest> {
    let rules = &model.job.practice.test;
    let (run, bears) = weakest(model, sizes, result)?;
    let still = model.source(Flow::ZERO);
    let wanted = still * rules.pressure.value.to_one();
    let pressure = wanted.min(bears).max(Pressure::ZERO);
    let weakest = &result.pipes[run];
    let working = Working::new(
        "test pressure of the main, at the source",
        pressure.amount(),
        "share × pressure of the source with nothing running, but not more than the rating of the weakest pipe \
         less the height of water between the gauge and that pipe",
        rules.pressure.origin(),
    )
    .with("share", Amount::ratio(rules.pressure.value.to_one()), rules.pressure.origin())
    .with(
        "source, nothing running",
        still.amount(),
        format!("job feature {}", model.job.system.source.id),
    )
    .with(
        format!("the gauge when the pipe in {} is under its rating", weakest.stretch),
        bears.amount(),
        "rating of the pipe at its temperature, the network's elevations",
    )
    .approximately("valves and the backflow assembly may bear less; their makers say so");
    ledger.put("test.main.pressure", working);
    Some(PartTest {
        part: "main".to_owned(),
        id: "main".to_owned(),
        pressure,
        held: rules.hold_main.value,
        may_lose: rules.may_lose.value,
    })
}

fn of_circuit(model: &Model, circuit: &CircuitResult, ledger: &mut Ledger) -> PartTest {
    let rules = &model.job.practice.test;
    let id = circuit.circuit.clone();
    let working = Working::new(
        format!("pressure before the valve while circuit {id} is looked at"),
        circuit.valve_pressure.amount(),
        "its heads are open, so it is looked at while it runs: the pressure at the inlet of its valve",
        "common practice",
    )
    .with(
        "at the inlet of its valve",
        circuit.valve_pressure.amount(),
        format!("figure circuit.{id}.valve_pressure"),
    );
    ledger.put(format!("test.{id}.pressure"), working);
    PartTest {
        part: LineKind::Lateral(id.clone()).in_words(),
        id,
        pressure: circuit.valve_pressure,
        held: rules.hold_circuit.value,
        may_lose: rules.may_lose.value,
    }
}

/// The workings of what the practice states.
fn put_rules(rules: &PressureTest, test: &PartTest, ledger: &mut Ledger) {
    let hold = match test.id.as_str() {
        "main" => rules.hold_main.origin(),
        _ => rules.hold_circuit.origin(),
    };
    let held = Working::new(
        format!("how long {} is watched", test.part),
        test.held.amount(),
        "as the practice states it",
        hold,
    );
    let lose = Working::new(
        format!("what the gauge may lose while {} is watched", test.part),
        test.may_lose.amount(),
        "as the practice states it",
        rules.may_lose.origin(),
    );
    ledger.put(format!("test.{}.held", test.id), held);
    ledger.put(format!("test.{}.may_lose", test.id), lose);
}
