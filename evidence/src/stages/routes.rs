//! Least networks and shortest ways.

use std::ops::ControlFlow;

use anyhow::{Context, Result, bail};
use geo::{Coord, MultiPolygon, unary_union};
use quantity::Length;
use routes::{junction, shortest_path};
use steiner::{Limits, Solution, check, solve, text};

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("least network", least_network),
    ("bound of a network", bound),
    ("shortest way", shortest_way),
    ("length through a junction", through_junction),
    ("junction", junction_or_not),
];

/// The open instances that the crate keeps for its own tests.
const INSTANCES: [(&str, &str); 4] = [
    (
        "t1-007",
        include_str!("../../../crates/steiner/tests/data/t1-007.gr"),
    ),
    (
        "t1-033",
        include_str!("../../../crates/steiner/tests/data/t1-033.gr"),
    ),
    (
        "t1-053",
        include_str!("../../../crates/steiner/tests/data/t1-053.gr"),
    ),
    (
        "t2-001",
        include_str!("../../../crates/steiner/tests/data/t2-001.gr"),
    ),
];

/// Solved within the work that the crate's own tests allow.
fn solution(inputs: &Inputs) -> Result<(Solution, f64)> {
    let name = inputs.text("instance")?;
    let (_, instance) = INSTANCES
        .iter()
        .find(|(known, _)| *known == name)
        .with_context(|| format!("there is no instance \"{name}\""))?;
    let problem = text::read(instance)?;
    let limits = Limits {
        work: 20_000_000,
        seed: 1,
    };
    let solution = solve(&problem, limits, &|_| ControlFlow::Continue(()))?;
    let cost = check(&problem, &solution.trees)?;
    Ok((solution, cost))
}

fn least_network(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(solution(inputs)?.1))
}

fn bound(inputs: &Inputs) -> Result<Value> {
    Ok(Value::number(solution(inputs)?.0.bound))
}

fn shortest_way(inputs: &Inputs) -> Result<Value> {
    let boundary = inputs.polygons("boundary")?;
    let boundary = boundary.first().context("the boundary is empty")?;
    let obstacles: MultiPolygon = unary_union(&inputs.polygons("obstacles")?);
    let (from, to) = (inputs.place("from")?, inputs.place("to")?);
    match shortest_path(boundary, &obstacles, from, to) {
        Some(length) => Ok(Value::of(Length::m(length))),
        None => bail!("there is no way"),
    }
}

fn weighted(inputs: &Inputs) -> Result<Vec<(Coord, f64)>> {
    let (places, weights) = (inputs.places("places")?, inputs.numbers("weights")?);
    if places.len() != weights.len() {
        bail!("{} places have {} weights", places.len(), weights.len());
    }
    Ok(places.into_iter().zip(weights).collect())
}

fn through_junction(inputs: &Inputs) -> Result<Value> {
    let places = weighted(inputs)?;
    let at = junction(&places).context("no junction is gained")?;
    let length = |(place, weight): &(Coord, f64)| {
        let away = *place - at;
        weight * away.x.hypot(away.y)
    };
    Ok(Value::of(Length::m(places.iter().map(length).sum())))
}

fn junction_or_not(inputs: &Inputs) -> Result<Value> {
    let gained = junction(&weighted(inputs)?).is_some();
    Ok(Value::word(if gained { "gained" } else { "not gained" }))
}
