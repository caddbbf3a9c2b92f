//! How a figure came about.

use ::plan::Plan;
use quantity::Units;
use serde::Serialize;
use utoipa::ToSchema;

use super::figures::value;

/// How a figure came about.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct WorkingView {
    /// The figure's id.
    pub id: String,
    /// What it is.
    pub label: String,
    /// Its value.
    pub value: String,
    /// The formula.
    pub formula: String,
    /// What went into it.
    pub inputs: Vec<InputView>,
    /// Where the formula is from.
    pub source: String,
    /// In what it is approximate; empty if in nothing.
    pub approximate: String,
}

/// What went into a figure.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct InputView {
    /// Its name in the formula.
    pub name: String,
    /// Its value.
    pub value: String,
    /// Where it is from: the id of another figure, or words.
    pub from: String,
    /// Whether it is a figure that has a working of its own.
    pub figure: bool,
}

/// The working of a figure, if the plan has it.
pub fn working(plan: &Plan, id: &str, units: Units) -> Option<WorkingView> {
    let working = plan.workings.get(id)?;
    let currency = &plan.price.currency;
    let inputs = working.inputs.iter().map(|input| {
        let of = input.from.strip_prefix("figure ");
        let of = of.filter(|of| plan.workings.may_hold(of));
        InputView {
            name: input.name.clone(),
            value: value(&input.value, units, currency),
            from: of.unwrap_or(&input.from).to_owned(),
            figure: of.is_some(),
        }
    });
    Some(WorkingView {
        id: id.to_owned(),
        label: working.label.clone(),
        value: value(&working.value, units, currency),
        formula: working.formula.clone(),
        inputs: inputs.collect(),
        source: working.source.clone(),
        approximate: working.approximate.clone(),
    })
}
