//! Which function answers for a quantity.

use anyhow::{Context, Result, bail};

use crate::inputs::Inputs;
use crate::stages;
use crate::value::Value;

/// Computes a quantity from the inputs of a row, with the functions that a plan uses.
pub type Function = fn(&Inputs) -> Result<Value>;

/// The quantities that are known, with their functions.
pub fn known() -> impl Iterator<Item = &'static (&'static str, Function)> {
    stages::ALL.iter().copied().flatten()
}

/// The value of a quantity.
///
/// # Errors
/// If the quantity is unknown, an input is missing, does not read or is left over, or there is no
/// such value.
pub fn value_of(quantity: &str, inputs: &str) -> Result<Value> {
    let (_, function) = known()
        .find(|(name, _)| *name == quantity)
        .with_context(|| format!("there is no quantity \"{quantity}\""))?;
    let inputs = Inputs::read(inputs)?;
    let value = function(&inputs)?;
    match inputs.left_over().as_slice() {
        [] => Ok(value),
        keys => bail!("\"{quantity}\" does not go by {}", keys.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_quantity_has_one_function() {
        let mut names = BTreeSet::new();
        for (name, _) in known() {
            assert!(names.insert(name), "{name} stands twice");
        }
    }
}
