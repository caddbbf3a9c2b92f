//! The schedule of valves and wire.

use crate::told::Told;
use crate::{Block, Cell, Column, Page, Sheet, Table};
use quantity::Style;

pub fn pages(told: &Told) -> Vec<Page> {
    let circuits = circuits(told);
    let wires = wires(told);
    if circuits.is_empty() && wires.is_empty() {
        return Vec::new();
    }
    let mut blocks = Vec::new();
    if !circuits.is_empty() {
        blocks.push(Block::Table(circuits));
        blocks.push(Block::Note(
            "At the valve: pressure before it while the circuit runs alone. To spare: what its flow control takes, \
             so that the worst head has what it needs. Measure at the worst head when it runs."
                .to_owned(),
        ));
    }
    if !wires.is_empty() {
        blocks.push(Block::Table(wires));
        blocks.push(Block::Note(wiring(told)));
        blocks.extend(splices(told));
    }
    vec![Page {
        title: Sheet::ValvesAndWire.title().to_owned(),
        paper: told.paper().across(),
        blocks,
    }]
}

fn circuits(told: &Told) -> Table {
    let units = told.units;
    let columns = vec![
        Column::left("circuit"),
        Column::words("name", 2),
        Column::left("valve"),
        Column::words("box", 1),
        Column::right("heads"),
        Column::measure("flow", Style::Flow, units),
        Column::measure("at the valve", Style::Pressure, units),
        Column::measure("to spare", Style::Pressure, units),
        Column::left("worst head"),
        Column::measure("it has", Style::Pressure, units),
        Column::measure("it needs", Style::Pressure, units),
        Column::blank(&format!("measured, {}", told.unit(Style::Pressure)), 22.0),
    ];
    let mut table = Table::new("valves", columns).titled("Circuits and valves");
    for result in &told.plan.hydraulics.circuits {
        let circuit = told.job.circuit(&result.circuit);
        let valve = told.job.valve_of(&result.circuit);
        let manifold = valve.and_then(|valve| valve.manifold.as_deref());
        table.row(vec![
            Cell::text(&result.circuit),
            Cell::text(circuit.map_or("", |circuit| &circuit.name)),
            Cell::text(valve.map_or("", |valve| &valve.id)),
            Cell::text(manifold.unwrap_or("its own")),
            Cell::text(told.job.outlets_of(&result.circuit).count().to_string()),
            Cell::number(result.flow.amount(), units),
            Cell::number(result.valve_pressure.amount(), units),
            Cell::number(result.taken.amount(), units),
            Cell::text(&result.worst_outlet),
            Cell::number(result.worst_pressure.amount(), units),
            Cell::number(result.worst_needs.amount(), units),
            Cell::blank(),
        ]);
    }
    table
}

fn wires(told: &Told) -> Table {
    let units = told.units;
    let columns = vec![
        Column::left("valve"),
        Column::left("circuit"),
        Column::words("own wire", 2),
        Column::left("colour"),
        Column::words("common wire", 2),
        Column::left("its colour"),
        Column::measure("way", Style::Length, units),
        Column::measure("lost opening", Style::Voltage, units),
        Column::measure("lost holding", Style::Voltage, units),
        Column::tick("spliced"),
        Column::blank("ohms read", 22.0),
    ];
    let mut table = Table::new("wire", columns).titled("Wire");
    let common = &told.plan.hydraulics.wiring.common_colour;
    for run in &told.plan.hydraulics.wires {
        let valve = told
            .job
            .system
            .valves
            .iter()
            .find(|valve| valve.id == run.valve);
        table.row(vec![
            Cell::text(&run.valve),
            Cell::text(valve.map_or("", |valve| &valve.circuit)),
            Cell::text(&run.gauge),
            Cell::text(&run.colour),
            Cell::text(&run.common),
            Cell::text(common),
            Cell::number(run.length.amount(), units),
            Cell::number(run.drop.amount(), units),
            Cell::number(run.hold_drop.amount(), units),
            Cell::Tick,
            Cell::blank(),
        ]);
    }
    table
}

fn wiring(told: &Told) -> String {
    let tail = &told.job.practice.takeoff.wire_tail.value;
    format!(
        "Way: along the trenches from the controller, slack and tails not counted. Leave a tail of {} at every \
         splice and in every box. Low voltage only; the supply of the controller is for those licensed for it.",
        told.show(tail.amount())
    )
}

/// Where connectors go.
fn splices(told: &Told) -> Option<Block> {
    let columns = vec![
        Column::words("place", 2),
        Column::right("connectors"),
        Column::words("what is joined", 4),
        Column::tick("done"),
    ];
    let mut table = Table::new("splices", columns).titled("Splices");
    for splice in &told.plan.takeoff.splices {
        table.row(vec![
            Cell::text(layers::words::node(told.job, told.plan, splice.at)),
            Cell::text(splice.connectors.to_string()),
            Cell::text(&splice.joins),
            Cell::Tick,
        ]);
    }
    (!table.is_empty()).then_some(Block::Table(table))
}
