//! From a job to a plan: runs the stages until the cost stops improving.
//!
//! [`plan`] is a pure function of a checked [`job::Job`]: the same job gives the same plan, byte for byte,
//! whatever the number of threads. It runs routes, sizes, methods, material, days and price in turn, then
//! routes again with what the hired machines and chosen sizes made of the costs, and keeps the best round.
//!
//! Does no I/O. `progress` is told in words what is going on and may stop the work.

mod cautions;
mod costs;
mod figures;
mod results;
mod sleeves;

// Faces know the plan alone: the types of its parts reach them from here.
pub use results::*;
pub use {crew, digging, hydraulics, price, routes, takeoff};

use costs::LineRates;
use digging::{Digging, MachineId};
use ground::{Ground, StretchGround};
use hydraulics::Hydraulics;
use job::{Finding, Job, Severity};
use quantity::Money;
use routes::{Network, RouteCosts, RouteError, Router};
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use working::Ledger;

/// Version of the form of plan that this crate makes.
pub const FORMAT: u32 = 1;

/// Rounds of route, size, method and cost for small jobs.
const ROUNDS: u32 = 3;
/// Above this many outlets one round is left out, since each takes long.
const LARGE_JOB: usize = 300;

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq)]
pub enum PlanError {
    /// The job cannot be planned before these are mended.
    Findings(Vec<Finding>),
    /// The user stopped it.
    Stopped,
}

impl From<RouteError> for PlanError {
    fn from(error: RouteError) -> Self {
        match error {
            RouteError::Unreachable(findings) => Self::Findings(findings),
            RouteError::Stopped => Self::Stopped,
        }
    }
}

/// Errors of a job that show only when its ground is laid out: components that no trench can reach.
pub fn check(job: &Job) -> Vec<Finding> {
    Router::new(job, &Ground::new(job)).unreachable()
}

/// The plan of a job.
///
/// # Errors
/// If a component cannot be reached, or `progress` stops the work.
pub fn plan(job: &Job, progress: &dyn Fn(&str) -> ControlFlow<()>) -> Result<Plan, PlanError> {
    let ground = Ground::new(job);
    stopped(progress("laying out where trenches might run"))?;
    let mut router = Router::new(job, &ground);
    let mut prices = Prices {
        rates: LineRates::guessed(job),
        hired: None,
    };
    let mut best: Option<(Plan, Prices)> = None;
    let most = if job.system.outlets.len() > LARGE_JOB {
        ROUNDS - 1
    } else {
        ROUNDS
    };
    let mut rounds = 0;
    while rounds < most {
        rounds += 1;
        let told = |words: &str| told(progress, &format!("round {rounds}"), words);
        let found = one_round(job, &mut router, &prices, false, &told)?;
        let better = best
            .as_ref()
            .is_none_or(|(earlier, _)| found.price.total < earlier.price.total);
        let next = Prices::after(job, &found);
        if better {
            best = Some((found, prices));
        }
        prices = next;
        if !better {
            break;
        }
    }
    let (best, prices) = best.ok_or(PlanError::Stopped)?;
    let told = |words: &str| told(progress, "last round", words);
    let proven = one_round(job, &mut router, &prices, true, &told)?;
    Ok(Plan {
        rounds: rounds + 1,
        ..cheaper(job, best, proven)
    })
}

/// The plan of a job that has changed a little since `last` was made: a head moved, an obstacle found, a
/// trench fixed. Begins with the last plan's trenches, sizes and machines and goes one round, so that it is
/// there much sooner; how much cheaper it could be is not proven (the bound is 0).
///
/// # Errors
/// If a component cannot be reached, or `progress` stops the work.
pub fn replan(
    job: &Job,
    last: &Plan,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    let ground = Ground::new(job);
    stopped(progress("laying out where trenches might run"))?;
    let mut router = Router::new(job, &ground);
    router.recall(&last.network);
    let told = |words: &str| told(progress, "after a change", words);
    one_round(job, &mut router, &Prices::after(job, last), false, &told)
}

/// The cheaper of the best plan and the one whose bound was proven at the same prices of the router.
/// The proof's graph contains every trench tried before, so its bound holds for both.
fn cheaper(job: &Job, mut best: Plan, proven: Plan) -> Plan {
    if proven.price.total <= best.price.total {
        return proven;
    }
    best.network.bound = proven.network.bound.min(best.network.cost);
    best.network.least_laying = proven.network.least_laying.min(best.network.laying());
    best.network.candidates = proven.network.candidates;
    best.network.refinement = proven.network.refinement;
    figures::of_routes(job, &best.network, &mut best.workings);
    best
}

/// What the router's prices are made from.
struct Prices {
    rates: LineRates,
    hired: Option<BTreeSet<MachineId>>,
}

impl Prices {
    /// Prices by the sizes and machines that a plan came to.
    fn after(job: &Job, plan: &Plan) -> Self {
        Self {
            rates: LineRates::of(job, &plan.network, &plan.hydraulics),
            hired: Some(
                plan.digging
                    .hires
                    .iter()
                    .map(|hire| hire.machine.clone())
                    .collect(),
            ),
        }
    }
}

/// Passes on what is going on, with the round before it; no words only ask whether to stop.
fn told(progress: &dyn Fn(&str) -> ControlFlow<()>, round: &str, words: &str) -> ControlFlow<()> {
    match words {
        "" => progress(""),
        words => progress(&format!("{round}: {words}")),
    }
}

fn one_round(
    job: &Job,
    router: &mut Router<'_>,
    prices: &Prices,
    proof: bool,
    told: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    let trench = |ground: &StretchGround| digging::unit_cost(job, ground, prices.hired.as_ref());
    let line = |kind: &routes::LineKind| prices.rates.of_line(kind);
    let costs = RouteCosts {
        trench: &trench,
        line: &line,
        sleeve_new: costs::sleeve_new(job),
        sleeve_existing: costs::sleeve_existing(job),
        crossing: costs::crossing(job),
        bend: costs::bend(job),
        junction: costs::junction(job),
    };
    let mut ledger = Ledger::new();
    let network = router.route(&costs, proof, told)?;
    debug_assert_eq!(routes::audit::faults(job, &network), Vec::<String>::new());
    figures::of_routes(job, &network, &mut ledger);
    stopped(told("sizing pipes"))?;
    let water = hydraulics::size(job, &network, &mut ledger);
    stopped(told("choosing methods"))?;
    let digging = digging::dig(job, &network, &water, &mut ledger);
    stopped(told("listing material, days and cost"))?;
    let takeoff = takeoff::take_off(job, &network, &water, &digging, &mut ledger);
    let schedule = crew::schedule(job, &network, &water, &digging, &takeoff, &mut ledger);
    let price = price::price(
        job,
        &network,
        &water,
        &digging,
        &takeoff,
        &schedule,
        &mut ledger,
    );
    let findings = gather(job, &network, &water, &digging);
    Ok(Plan {
        format: FORMAT,
        job: job.name.clone(),
        invented: job.invented,
        network,
        hydraulics: water,
        digging,
        takeoff,
        schedule,
        price,
        rounds: 1,
        findings,
        workings: ledger,
    })
}

fn stopped(flow: ControlFlow<()>) -> Result<(), PlanError> {
    match flow {
        ControlFlow::Continue(()) => Ok(()),
        ControlFlow::Break(()) => Err(PlanError::Stopped),
    }
}

fn gather(job: &Job, network: &Network, water: &Hydraulics, digging: &Digging) -> Vec<Finding> {
    let mut all = network.findings.clone();
    all.extend(water.findings.clone());
    all.extend(digging.findings.clone());
    all.extend(sleeves::too_small(job, network, digging));
    all.extend(cautions::usual(job, network));
    all.sort();
    all.dedup();
    all
}

impl Plan {
    /// The findings of one weight.
    pub fn of(&self, severity: Severity) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |f| f.severity == severity)
    }

    /// What the customer pays, taxes left out.
    pub fn total(&self) -> Money {
        self.price.total
    }
}
