//! The shortest schedule of tasks that share resources.

use anyhow::{Context, Result, bail};
use schedule::{Limits, check, solve, text};
use std::ops::ControlFlow;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[("shortest schedule", shortest)];

/// Far more than any of the rows needs.
const LIMITS: Limits = Limits {
    work: 2_000_000_000,
    seed: 1,
};

/// Of a project in the words of a file of Patterson's format, if it is proved to be the shortest.
fn shortest(inputs: &Inputs) -> Result<Value> {
    let problem = text::read(inputs.text("project")?).context("the project does not read")?;
    let found = solve(&problem, LIMITS, &|_| ControlFlow::Continue(()))?;
    let (makespan, _) = check(&problem, &found.starts)?;
    if !found.optimal {
        bail!("{makespan} is not proved to be the shortest");
    }
    Ok(Value::number(makespan as f64))
}
