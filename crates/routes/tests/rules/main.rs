//! What holds for routes, against closed forms and among each other.

#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../support/mod.rs"]
mod support;

mod at_walls;
mod closed_forms;
mod in_the_way;
mod moved_site;
mod turning;

use ground::{Ground, StretchGround};
use job::Job;
use routes::{LineKind, Network, RouteCosts, Router};
use std::ops::ControlFlow;

/// Digging a metre costs this anywhere.
const DIG: f64 = 10.0;
/// Laying a metre of any line.
const LAY: f64 = 1.0;

/// The network at one price everywhere, with these prices for digging and laying a metre.
fn at_prices(job: &Job, dig: f64, lay: f64) -> Network {
    at_turning_prices(job, dig, lay, [0.0, 0.0])
}

/// The same with a price for a bend and one for a junction.
fn at_turning_prices(job: &Job, dig: f64, lay: f64, [bend, junction]: [f64; 2]) -> Network {
    let trench = |_: &StretchGround| dig;
    let line = |_: &LineKind| lay;
    let costs = RouteCosts {
        trench: &trench,
        line: &line,
        sleeve_new: 40.0,
        sleeve_existing: 2.0,
        crossing: 50.0,
        bend,
        junction,
    };
    let ground = Ground::new(job);
    let mut router = Router::new(job, &ground);
    router
        .route(&costs, true, &|_| ControlFlow::Continue(()))
        .unwrap()
}

fn network(job: &Job) -> Network {
    at_prices(job, DIG, LAY)
}

/// Length of what carries a line, metres.
fn length_of(network: &Network, kind: &LineKind) -> f64 {
    let line = network.lines.iter().position(|l| l.kind == *kind).unwrap();
    let carries = network
        .stretches
        .iter()
        .filter(|s| s.carries.contains(&line));
    carries.map(|s| s.length.to_m()).sum()
}
