//! Method, section and earthwork of each stretch, and which machines to hire.
//!
//! Takes the network of trenches and the pipe sizes and gives, for every stretch, the way it goes
//! in with the reason, the cross-section, what earth is moved, and, for the job, the machines to
//! hire. Every method of the price book is tried on every stretch ([`feasible`]); what it costs
//! there is worked out from the section ([`section`]), the earth ([`earth`]) and the time
//! ([`work`]); then all sets of machines are compared with their hire ([`hire`]). Pulled pipe is held
//! against its tension, its bends and the stones in the soil, and gets its pits ([`pull`]).
//! Where a stretch meets a buried service, their separation is worked out ([`crossings`]).
//!
//! What always holds: every stretch has one method, and where none is feasible it is dug by hand
//! and a [`job::Finding`] names it; bank volume = backfill + surplus.
//!
//! What is left out: a change of depth where stretches meet.
//! Says nothing about whether an excavation may be entered: local code and a competent person do.

pub mod contents;
pub mod crossings;
mod decided;
pub mod earth;
pub mod feasible;
mod figures;
pub mod fill;
mod findings;
#[cfg(test)]
mod fixture;
pub mod hire;
mod markers;
mod narrows;
mod offers;
pub mod pull;
mod reasons;
mod rental;
mod results;
pub mod runs;
pub mod section;
pub mod slack;
#[cfg(test)]
mod tests;
mod unit;
mod uses;
pub mod work;

pub use crossings::{CrossingCheck, HandZone, Meeting, NearService, Passes, Separation, Verdict};
pub use narrows::{KeptAway, Narrow};
pub use pull::{Pit, PitKind, Precaution, Pull, PulledPipe, Scoring};
pub use rental::{MachineId, Rental, rentals};
pub use results::*;
pub use unit::{UnitCosts, unit_cost};
pub use uses::{KeptFrom, MethodUse};

use hydraulics::Hydraulics;
use job::{Finding, Job};
use quantity::Money;
use routes::Network;
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use working::Ledger;

/// Chooses how every stretch goes in and which machines to hire, at the least cost that the search
/// finds (see [`hire::choose`] for what is exact about it).
///
/// Puts the working of every figure into the ledger: `stretch.S1.depth`, `hire.<method>.days`,
/// `dig.cost` and their kin.
pub fn dig(job: &Job, network: &Network, water: &Hydraulics, ledger: &mut Ledger) -> Digging {
    let going_on = || ControlFlow::Continue(());
    let search = hire::Search::Proven;
    dig_watched((job, network, water), search, &going_on, ledger).expect("nobody stops it")
}

/// The same after a short search for the machines: they may not be the cheapest, by the gap that is told,
/// and what the job would cost with one machine more or less may be told too dear.
pub fn dig_quickly(
    job: &Job,
    network: &Network,
    water: &Hydraulics,
    ledger: &mut Ledger,
) -> Digging {
    let going_on = || ControlFlow::Continue(());
    let search = hire::Search::Short;
    dig_watched((job, network, water), search, &going_on, ledger).expect("nobody stops it")
}

/// The same with a search of either kind; nothing if `ask` stops it on the way.
pub fn dig_watched(
    (job, network, water): (&Job, &Network, &Hydraulics),
    search: hire::Search,
    ask: &dyn Fn() -> ControlFlow<()>,
    ledger: &mut Ledger,
) -> Option<Digging> {
    let Some(book) = offers::Book::new(job) else {
        return Some(without_methods());
    };
    let mut sites = offers::sites(&book, network, water);
    let priced: Vec<Vec<hire::Offer>> = sites.iter().map(offers::Site::priced).collect();
    ask().continue_value()?;
    let mut choice = hire::choose_within(&priced, &book.machines(), search);
    ask().continue_value()?;
    let gap = choice.total - choice.least;
    pull::lay::settle(&book, network, &mut sites, &mut choice);
    let digging = results_of(&book, network, &sites, &choice, gap);
    ask().continue_value()?;
    figures::put(&book, network, &sites, &digging, ledger);
    pull::figures::put(&book, &sites, &digging, ledger);
    crossings::put_figures(job, &digging, ledger);
    Some(digging)
}

fn results_of(
    book: &offers::Book,
    network: &Network,
    sites: &[offers::Site],
    choice: &hire::Choice,
    gap: Money,
) -> Digging {
    let hired: BTreeSet<&MachineId> = choice
        .hires
        .iter()
        .map(|h| &book.rentals[h.machine].id)
        .collect();
    let at_hand: Vec<bool> = (0..book.len())
        .map(|m| book.is_at_hand(m, |id| hired.contains(id)))
        .collect();
    let digs: Vec<Dig> = sites
        .iter()
        .zip(&choice.methods)
        .map(|(site, method)| reasons::dig(book, site, *method, &at_hand))
        .collect();
    let hires = choice
        .hires
        .iter()
        .map(|h| hire_of(book, network, &digs, h, choice))
        .collect();
    let not_hired = choice
        .changes
        .iter()
        .filter(|change| !choice.hires.iter().any(|h| h.machine == change.machine));
    let not_hired: Vec<NotHired> = not_hired
        .filter_map(|change| {
            let rental = &book.rentals[change.machine];
            // What carries attachments is told with each of them.
            let own = book.job.prices.method.keys().any(|id| id.0 == rental.id.0);
            let extra = change.extra.filter(|_| own)?;
            Some(NotHired {
                machine: rental.id.clone(),
                extra,
            })
        })
        .collect();
    let crossings = crossings::checks(book.job, network, &digs);
    let near_services = crossings::near_services(book.job, network);
    let mut findings = findings::of(book, network, sites, &digs, (choice, gap));
    findings.extend(crossings::findings(book.job, &crossings, &near_services));
    Digging {
        methods: uses::of(book, sites, &digs, &not_hired),
        hires,
        not_hired,
        gap,
        sets_compared: choice.sets,
        crossings,
        near_services,
        hand_zones: crossings::hand_zones(book.job, network),
        narrows: narrows::narrows(network),
        digs,
        findings,
    }
}

fn hire_of(
    book: &offers::Book,
    network: &Network,
    digs: &[Dig],
    hired: &hire::Hired,
    choice: &hire::Choice,
) -> Hire {
    let rental = &book.rentals[hired.machine];
    let change = choice
        .changes
        .iter()
        .find(|change| change.machine == hired.machine);
    let put_in = digs
        .iter()
        .filter(|dig| rental.methods.contains(&dig.method));
    Hire {
        machine: rental.id.clone(),
        label: rental.label.to_owned(),
        hours: hired.hours,
        days: rental.tariff.days(hired.hours),
        term: hired.step.term.to_string(),
        cost: hired.step.cost,
        length: put_in.map(|dig| network.stretch(dig.stretch).length).sum(),
        without: change.and_then(|change| change.extra),
    }
}

fn without_methods() -> Digging {
    Digging {
        digs: Vec::new(),
        methods: Vec::new(),
        hires: Vec::new(),
        not_hired: Vec::new(),
        gap: Money::ZERO,
        sets_compared: 0,
        crossings: Vec::new(),
        near_services: Vec::new(),
        hand_zones: Vec::new(),
        narrows: Vec::new(),
        findings: vec![Finding::error(
            "no-methods",
            "prices method",
            "the price book holds no method, so nothing can be dug",
            "give at least one method of kind \"hand\" in the price book",
        )],
    }
}
