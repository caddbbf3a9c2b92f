//! Cost lines and the price, to the cent.
//!
//! Takes the labour and the machines' days of the schedule, the material list and the earthwork, and
//! gives cost lines by group with overhead and margin. Labour is taken from the schedule alone and
//! material from the list alone, so that nothing is counted twice; what digging says a stretch costs
//! serves the choice of method and does not enter.
//!
//! What always holds: the lines sum to the cost, and cost + overhead + margin = total, in integer cents;
//! each line is rounded once. Taxes are left out.
//!
//! # Words
//! - *overhead*: a share of the cost, added to it.
//! - *margin*: a share of the price, not of the cost.

mod labour;
mod lines;
mod machines;
mod material;
mod other;
mod results;
mod sums;

pub use results::*;
pub use sums::{Sums, sums};

use crew::Schedule;
use digging::Digging;
use hydraulics::Hydraulics;
use job::Job;
use lines::Lines;
use routes::Network;
use takeoff::Takeoff;
use working::Ledger;

/// Prices a plan and puts the working of every line into the ledger.
///
/// The margin is under 100 % of the price; with more there is no price, and none is added.
pub fn price(
    job: &Job,
    network: &Network,
    _water: &Hydraulics,
    digging: &Digging,
    takeoff: &Takeoff,
    schedule: &Schedule,
    ledger: &mut Ledger,
) -> Price {
    let mut lines = Lines::new(ledger);
    labour::add(job, schedule, &mut lines);
    machines::add(job, digging, schedule, &mut lines);
    material::add(takeoff, &mut lines);
    other::add(job, network, digging, &mut lines);
    let lines = lines.finish();
    let sums = sums(
        lines.iter().map(|line| line.amount).sum(),
        job.prices.overhead.value,
        job.prices.margin.value,
    );
    sums::put_workings(job, &lines, &sums, ledger);
    Price {
        currency: job.prices.currency.value.clone(),
        lines,
        cost: sums.cost,
        overhead: sums.overhead,
        margin: sums.margin,
        total: sums.total,
    }
}
