//! Cost lines and the price, to the cent.
//!
//! Takes the labour and the machines' days of the schedule, the material list and the earthwork, and
//! gives cost lines by group, overhead, profit, taxes and the price. Labour is taken from the schedule alone
//! and material from the list alone, so that nothing is counted twice; what digging says a stretch costs
//! serves the choice of method and does not enter.
//!
//! What always holds, in integer cents: the lines sum to the cost; cost + overhead + profit = price before
//! tax; with the taxes it is what the customer pays; the parts of the price sum to it. Each line and each tax
//! is rounded once. The order of the lines does not matter.
//!
//! # Words
//! - *burden*: what an employer pays on top of a wage, as a share of it.
//! - *overhead*: a share of the cost, added to it.
//! - *margin*: profit as a share of the price before tax; *markup*: the same profit as a share of the cost
//!   with overhead.
//! - *spread*: divided over the other lines in proportion, as overhead and profit are.

mod allocate;
mod fees;
mod labour;
mod lines;
mod machines;
mod material;
mod other;
mod range;
mod results;
mod spread;
mod subtrades;
mod sums;
mod workings;

pub use allocate::allocate;
pub use range::{Changes, range};
pub use results::*;
pub use spread::Contingency;
pub use sums::{Added, Settled, Terms, add, margin_of, markup_of, settle};

use crew::Schedule;
use digging::Digging;
use job::Job;
use lines::Lines;
use routes::Network;
use takeoff::Takeoff;
use working::Ledger;

/// What of a plan is priced.
#[derive(Debug, Clone, Copy)]
pub struct Planned<'a> {
    /// Where trenches run.
    pub network: &'a Network,
    /// How they are dug.
    pub digging: &'a Digging,
    /// The material list.
    pub takeoff: &'a Takeoff,
    /// The crew's days.
    pub schedule: &'a Schedule,
}

/// Prices a plan and puts the working of every line into the ledger.
pub fn price(
    job: &Job,
    planned: &Planned,
    contingency: &Contingency,
    ledger: &mut Ledger,
) -> Price {
    let Planned {
        network,
        digging,
        takeoff,
        schedule,
    } = planned;
    let mut lines = Lines::new(ledger);
    labour::add(job, schedule, &mut lines);
    machines::add(job, digging, schedule, &mut lines);
    material::add(takeoff, &mut lines);
    subtrades::add(job, network, digging, &mut lines);
    other::add(job, network, digging, &mut lines);
    fees::add(job, &mut lines);
    spread::add_purchase_taxes(job, &mut lines);
    spread::add_contingency(job, contingency, &mut lines);
    let lines = lines.finish();
    let settled = settle(&lines, &Terms::of(&job.prices));
    workings::put(job, &lines, &settled, ledger);
    let added = settled.added;
    Price {
        currency: job.prices.currency.value.clone(),
        lines,
        cost: settled.cost,
        overhead: added.overhead,
        profit: added.profit,
        profit_by: job.prices.profit.by.value,
        margin: added.margin,
        markup: added.markup,
        total: added.total,
        taxes: settled.taxes,
        with_tax: settled.with_tax,
        parts: settled.parts,
        ranged: None,
    }
}
