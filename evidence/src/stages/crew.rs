//! When the last task of a list ends.

use anyhow::{Context, Result, bail};
use crew::list::{Placed, Spec, list};
use quantity::Duration;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[("finish of a list", finish)];

/// Tasks by hours in the order of the list; `after` has for every task the numbers of those before
/// it, counted from 1: `5:4, 6:4` or `3:1+2`. One person does a task.
fn finish(inputs: &Inputs) -> Result<Value> {
    let mut specs: Vec<Spec> = inputs.numbers("hours")?.into_iter().map(task).collect();
    for part in inputs.optional("after").unwrap_or_default().split(',') {
        if !part.trim().is_empty() {
            follow(&mut specs, part.trim())?;
        }
    }
    let placed = list(&specs, inputs.number("people")?);
    let last = placed
        .iter()
        .map(Placed::end)
        .fold(Duration::ZERO, Duration::max);
    Ok(Value::of(last))
}

fn task(hours: f64) -> Spec {
    Spec {
        work: Duration::h(hours),
        least: 1,
        most: 1,
        machine: None,
        rank: 0,
        not_before: Duration::ZERO,
        after: Vec::new(),
    }
}

fn follow(specs: &mut [Spec], part: &str) -> Result<()> {
    let wrong = || format!("\"{part}\" is not written task:before+before");
    let (task, before) = part.split_once(':').with_context(wrong)?;
    let task: usize = task.trim().parse().with_context(wrong)?;
    for one in before.split('+') {
        let one: usize = one.trim().parse().with_context(wrong)?;
        if one == 0 || one >= task || task > specs.len() {
            bail!("{}: a task follows those that stand before it", wrong());
        }
        specs[task - 1].after.push(one - 1);
    }
    Ok(())
}
