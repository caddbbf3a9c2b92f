//! Pipe sizes, pressures, velocities, surge and wire gauges.
//!
//! Takes a checked job and the network of its trenches; gives a size for every pipe of every
//! stretch, what each circuit and outlet gets when its circuit runs alone, the surge when its valve
//! closes, and the gauge of the valve wires; and what stands against it as findings.
//!
//! What always holds: the flow into every node is the flow out of it plus what is drawn there; in a
//! line no pipe is smaller than one it feeds.
//!
//! # What is approximate
//! Outlets draw what they need, whatever their pressure. Losses of valve and backflow assembly are
//! one figure each, at any flow. Risers and swing joints up to the heads are not counted. The
//! source curve runs on beyond the flowing test. Sizes are found step by step and not proven least
//! in price.
//!
//! Does no I/O, lays out no route and chooses no method.

mod account;
mod check;
mod closing;
pub mod cold;
pub mod derating;
pub mod friction;
pub mod minor;
mod model;
pub mod outlets;
mod piping;
pub mod recurring;
mod report;
mod results;
mod sizing;
pub mod supply;
pub mod surge;
pub mod transient;
pub mod two_wire;
pub mod water;
pub mod wire;

pub use closing::{Closing, Strain, Surges};
pub use cold::{Cold, LineVolume, LowHead, LowPoint};
pub use results::*;
pub use water::Water;
pub use wire::{LongestRun, WireRun, Wiring};

use job::Job;
use model::Model;
use routes::Network;
use working::Ledger;

/// Sizes the pipes and wires of a network and says what the water does in them.
///
/// Every figure that it reports goes into the ledger with its working. Nothing in a job makes it
/// fail: what is missing or does not work out is a finding.
pub fn size(job: &Job, network: &Network, ledger: &mut Ledger) -> Hydraulics {
    let model = Model::new(job, network);
    let sizes = sizing::choose(&model);
    let mut result = report::report(&model, &sizes);
    result.findings = check::findings(&model, &sizes, &result);
    account::put(&model, &sizes, &result, ledger);
    closing::put(&model, &sizes, &mut result, ledger);
    cold::put(job, network, &mut result, ledger);
    (result.wires, result.wiring) = wire::runs(job, network, &mut result.findings, ledger);
    result
}
