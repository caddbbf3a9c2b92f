//! staking.csv: what the crew marks on the ground, and how it is measured.

use crate::failure::Failure;
use crate::files::csv;
use job::Job;
use layers::{Cell, Shape};
use plan::Plan;
use quantity::Units;

/// One row for every point; its coordinates are those of the job file.
pub fn rows(job: &Job, plan: &Plan, units: Units) -> Result<String, Failure> {
    let layer = layers::stakes(job, plan, units);
    let unit = job.length_unit.name();
    let mut heads = vec!["point".to_owned(), format!("x_{unit}"), format!("y_{unit}")];
    heads.extend(layer.columns.iter().map(|column| column.name.clone()));
    let mut rows = vec![heads];
    for row in &layer.rows {
        let mut line = vec![row.id.clone()];
        if let Shape::Point(at) = &row.shape {
            line.extend(
                [at.x(), at.y()].map(|metres| format!("{:.3}", metres / job.length_unit.to_m())),
            );
        }
        line.extend(row.cells.iter().map(|cell| match cell {
            Cell::Empty => String::new(),
            Cell::Text(text) => text.clone(),
            Cell::Whole(number) => number.to_string(),
            Cell::Real(number) => number.to_string(),
            Cell::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
        }));
        rows.push(line);
    }
    csv("staking.csv", &rows)
}
