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
//! Sizes are proven for the flows that they lead to, not over all flows. Where the job gives one figure
//! for the loss of valve or backflow assembly, it holds at any flow. Risers and swing joints up to the
//! heads are not counted. The source curve runs on beyond the flowing test.
//!
//! Does no I/O, lays out no route and chooses no method.

#[cfg(test)]
extern crate self as hydraulics;
#[cfg(test)]
#[path = "../tests/site/mod.rs"]
mod site;

mod account;
mod check;
mod closing;
pub mod cold;
pub mod derating;
pub mod friction;
mod least;
mod memory;
pub mod minor;
mod model;
pub mod outlets;
mod piping;
pub mod recurring;
mod report;
mod results;
mod sizing;
mod steady;
pub mod supply;
pub mod surge;
mod testing;
pub mod transient;
pub mod two_wire;
pub mod water;
pub mod wire;

pub use closing::{Closing, Strain, Surges};
pub use cold::{Cold, LineVolume, LowHead, LowLateral, LowPoint};
pub use memory::Memory;
pub use results::*;
pub use sizing::Search;
pub use testing::PartTest;
pub use water::Water;
pub use wire::{LongestRun, WireRun, Wiring};

use job::Job;
use model::Model;
use rayon::prelude::*;
use routes::Network;
use sizing::Chosen;
use std::ops::ControlFlow;
use steady::Running;
use working::Ledger;

/// Sizes the pipes and wires of a network and says what the water does in them.
///
/// Every figure that it reports goes into the ledger with its working. Nothing in a job makes it
/// fail: what is missing or does not work out is a finding.
pub fn size(job: &Job, network: &Network, ledger: &mut Ledger) -> Hydraulics {
    let going_on = || ControlFlow::Continue(());
    let memory = Memory::default();
    size_watched((job, network), Search::Proven, &memory, &going_on, ledger)
        .expect("nobody stops it")
}

/// The same after a first, coarse look: the sizes keep all rules that sizes of [`size`] keep, but may cost
/// more, and less is proven of them.
pub fn size_quickly(job: &Job, network: &Network, ledger: &mut Ledger) -> Hydraulics {
    let going_on = || ControlFlow::Continue(());
    let memory = Memory::default();
    size_watched((job, network), Search::Coarse, &memory, &going_on, ledger)
        .expect("nobody stops it")
}

/// The same with a search of either kind and a memory of earlier ones; nothing if `ask` stops it on the way.
pub fn size_watched(
    (job, network): (&Job, &Network),
    search: Search,
    memory: &Memory,
    ask: &dyn Fn() -> ControlFlow<()>,
    ledger: &mut Ledger,
) -> Option<Hydraulics> {
    let asked = Model::new(job, network);
    let (model, chosen, running) = settle(job, network, (search, memory), ask)?;
    ask().continue_value()?;
    let mut result = report::report(&model, &chosen, &running);
    result.findings = check::findings(&model, &asked, &chosen.sizes, &running, &result);
    account::put(&model, &chosen.sizes, &result, ledger);
    ask().continue_value()?;
    closing::put(&model, &chosen.sizes, memory, &mut result, ledger);
    ask().continue_value()?;
    cold::put(job, network, &mut result, ledger);
    result.tests = testing::tests(&model, &chosen.sizes, &result, ledger);
    (result.wires, result.wiring) = wire::runs(job, network, &mut result.findings, ledger);
    Some(result)
}

/// Rounds of sizes and of the flows that they lead to.
const ROUNDS: usize = 5;

/// Sizes for the flows that they lead to, and the model at these flows.
///
/// The first sizes are those for the flows that the outlets need. With them most outlets have a little
/// more pressure than they need, so they draw more; the next sizes are for what each drew at most so far.
fn settle<'a>(
    job: &'a Job,
    network: &'a Network,
    how: (Search, &Memory),
    ask: &dyn Fn() -> ControlFlow<()>,
) -> Option<(Model<'a>, Chosen, Vec<Running>)> {
    let mut model = Model::new(job, network);
    let mut chosen = sizing::choose(&model, how, ask)?;
    let mut running = run_all(&model, &chosen.sizes, ask)?;
    for _ in 1..ROUNDS {
        if !model.take_more(&running) {
            break;
        }
        let next = sizing::choose(&model, how, ask)?;
        let same = next.sizes == chosen.sizes;
        chosen = next;
        if same {
            break;
        }
        running = run_all(&model, &chosen.sizes, ask)?;
    }
    model.take(&running);
    Some((model, chosen, running))
}

fn run_all(
    model: &Model,
    sizes: &model::Sizes,
    ask: &dyn Fn() -> ControlFlow<()>,
) -> Option<Vec<Running>> {
    ask().continue_value()?;
    let ways = model.piping.ways.par_iter();
    Some(ways.map(|way| steady::run(model, way, sizes)).collect())
}
