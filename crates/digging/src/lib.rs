//! Method, section and earthwork of each stretch, and which machines to hire.
//!
//! Takes the network of trenches and the pipe sizes and gives, for every stretch, the way it goes
//! in with the reason, the cross-section, what earth is moved, and, for the job, the machines to
//! hire. Every method of the price book is tried on every stretch ([`feasible`]); what it costs
//! there is worked out from the section ([`section`]), the earth ([`earth`]) and the time
//! ([`work`]); then all sets of machines are compared with their hire ([`hire`]).
//!
//! What always holds: every stretch has one method, and where none is feasible it is dug by hand
//! and a [`job::Finding`] names it; bank volume = backfill + surplus.
//!
//! What is left out: pits at the ends of pulled runs, and a change of depth where stretches meet.
//! Says nothing about whether an excavation may be entered: local code and a competent person do.

pub mod contents;
pub mod earth;
pub mod feasible;
mod figures;
pub mod fill;
mod findings;
#[cfg(test)]
mod fixture;
pub mod hire;
mod markers;
mod offers;
mod reasons;
mod results;
pub mod runs;
pub mod section;
pub mod slack;
#[cfg(test)]
mod tests;
mod unit;
pub mod work;

pub use results::*;
pub use unit::unit_cost;

use hydraulics::Hydraulics;
use job::{Finding, Job};
use quantity::Duration;
use routes::Network;
use working::Ledger;

/// Chooses how every stretch goes in and which machines to hire, at the least cost that the search
/// finds (see [`hire::choose`] for what is exact about it).
///
/// Puts the working of every figure into the ledger: `stretch.S1.depth`, `hire.<method>.days`,
/// `dig.cost` and their kin.
pub fn dig(job: &Job, network: &Network, water: &Hydraulics, ledger: &mut Ledger) -> Digging {
    let Some(book) = offers::Book::new(job) else {
        return without_methods();
    };
    let sites = offers::sites(&book, network, water);
    let day = Duration::h(job.practice.day.hours.value.to_one());
    let priced: Vec<Vec<hire::Offer>> = sites.iter().map(offers::Site::priced).collect();
    let choice = hire::choose(&priced, &book.machines(), day);
    let digging = results_of(&book, network, &sites, &choice);
    figures::put(&book, network, &sites, &digging, ledger);
    digging
}

fn results_of(
    book: &offers::Book,
    network: &Network,
    sites: &[offers::Site],
    choice: &hire::Choice,
) -> Digging {
    let hired: Vec<usize> = choice.hires.iter().map(|h| h.method).collect();
    let digs: Vec<Dig> = sites
        .iter()
        .zip(&choice.methods)
        .map(|(site, method)| reasons::dig(book, site, *method, &hired))
        .collect();
    let hires = choice
        .hires
        .iter()
        .map(|h| Hire {
            method: book.id(h.method).clone(),
            hours: h.hours,
            days: h.days,
            cost: h.cost,
            length: digs
                .iter()
                .filter(|d| d.method == *book.id(h.method))
                .map(|d| network.stretch(d.stretch).length)
                .sum(),
        })
        .collect();
    let findings = findings::of(book, network, sites, &digs, choice);
    Digging {
        digs,
        hires,
        sets_compared: choice.compared,
        findings,
    }
}

fn without_methods() -> Digging {
    Digging {
        digs: Vec::new(),
        hires: Vec::new(),
        sets_compared: 0,
        findings: vec![Finding::error(
            "no-methods",
            "prices method",
            "the price book holds no method, so nothing can be dug",
            "give at least one method of kind \"hand\" in the price book",
        )],
    }
}
