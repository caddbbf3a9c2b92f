//! The table of circuits.

use super::Report;
use crate::table::Table;
use quantity::Style;

pub fn text(report: &Report) -> String {
    let results = &report.plan.hydraulics.circuits;
    if results.is_empty() {
        return String::new();
    }
    let (pressure, flow) = (report.unit(Style::Pressure), report.unit(Style::Flow));
    let mut table = Table::new()
        .left("circuit")
        .left("name")
        .right("flow", flow)
        .right("at valve", pressure)
        .right("spare", pressure)
        .left("worst head")
        .right("has", pressure)
        .right("needs", pressure)
        .right("spread", pressure)
        .right("fastest", report.unit(Style::Velocity))
        .right("surge peak", pressure)
        .right("rating", pressure);
    for result in results {
        let name = report.job.circuit(&result.circuit);
        table.row(vec![
            result.circuit.clone(),
            name.map_or(String::new(), |circuit| short(&circuit.name)),
            report.number(result.flow.amount()),
            report.number(result.valve_pressure.amount()),
            report.number(result.taken.amount()),
            result.worst_outlet.clone(),
            report.number(result.worst_pressure.amount()),
            report.number(result.worst_needs.amount()),
            report.number(result.spread.amount()),
            report.number(result.fastest.amount()),
            report.number(result.surge_peak.amount()),
            report.number(result.rating.amount()),
        ]);
    }
    table.text("  ")
}

/// Names of the user's may be long; the table keeps to the terminal.
fn short(name: &str) -> String {
    let most = 18;
    if name.chars().count() <= most {
        return name.to_owned();
    }
    name.chars().take(most - 1).chain(['…']).collect()
}
