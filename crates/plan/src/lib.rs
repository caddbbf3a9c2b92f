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
use digging::Digging;
use ground::{Ground, StretchGround};
use hydraulics::Hydraulics;
use job::{Finding, Job, MethodId, Severity};
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
    let mut rates = LineRates::guessed(job);
    let mut hired: Option<BTreeSet<MethodId>> = None;
    let mut best: Option<Plan> = None;
    let most = if job.system.outlets.len() > LARGE_JOB {
        ROUNDS - 1
    } else {
        ROUNDS
    };
    for round in 1..=most {
        let found = one_round(job, &mut router, &rates, hired.as_ref(), round, progress)?;
        let total = |plan: &Plan| plan.price.total;
        let better = best
            .as_ref()
            .is_none_or(|earlier| total(&found) < total(earlier));
        rates = LineRates::of(job, &found.network, &found.hydraulics);
        let next: BTreeSet<MethodId> = found
            .digging
            .hires
            .iter()
            .map(|h| h.method.clone())
            .collect();
        let settled = hired.as_ref() == Some(&next) && !better;
        hired = Some(next);
        if better {
            best = Some(found);
        }
        if let Some(plan) = &mut best {
            plan.rounds = round;
        }
        if settled || (!better && round > 1) {
            break;
        }
    }
    best.ok_or(PlanError::Stopped)
}

fn one_round(
    job: &Job,
    router: &mut Router<'_>,
    rates: &LineRates,
    hired: Option<&BTreeSet<MethodId>>,
    round: u32,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    let trench = |ground: &StretchGround| digging::unit_cost(job, ground, hired);
    let line = |kind: &routes::LineKind| rates.of_line(kind);
    let costs = RouteCosts {
        trench: &trench,
        line: &line,
        sleeve_new: costs::sleeve_new(job),
        sleeve_existing: costs::sleeve_existing(job),
        crossing: costs::crossing(job),
    };
    let told = |words: &str| match words {
        "" => progress(""),
        words => progress(&format!("round {round}: {words}")),
    };
    let mut ledger = Ledger::new();
    let network = router.route(&costs, &told)?;
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
        rounds: round,
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
