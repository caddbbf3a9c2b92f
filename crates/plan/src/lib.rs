//! From a job to a plan: runs the stages until the cost stops improving.
//!
//! [`plan`] is a pure function of a checked [`job::Job`]: the same job gives the same plan, byte for byte,
//! whatever the number of threads. It runs routes, sizes, methods, material, days and price in turn, then
//! routes again with what the hired machines and chosen sizes made of the costs, and keeps the best round.
//!
//! Does no I/O. `progress` is told in words what is going on and may stop the work.

mod cautions;
pub mod compare;
mod costs;
mod desk;
mod figures;
mod grouping;
mod results;
mod sleeves;
pub mod totals;

// Faces know the plan alone: the types of its parts reach them from here.
pub use desk::{Desk, draft, told_draft};
pub use results::*;
pub use {circuits, crew, digging, hydraulics, price, risk, routes, staking, takeoff};

use costs::LineRates;
use crew::{Effort, Schedule};
use digging::{Digging, MachineId};
use ground::{Ground, StretchGround};
use grouping::Circuits;
use hydraulics::Hydraulics;
use hydraulics::cold::with_frost_depth;
use job::{Finding, Job, SetAsideBy, Severity};
use price::Contingency;
use quantity::Money;
use risk::Risk;
use routes::{Memory, Network, RouteCosts, RouteError, Router};
use staking::Staking;
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use takeoff::Takeoff;
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

/// Errors of a job that show only when its ground is laid out: heads that can be in no circuit, and
/// components that no trench can reach.
pub fn check(job: &Job) -> Vec<Finding> {
    let ground = Ground::new(job);
    match Circuits::of(job, &ground) {
        Ok(circuits) => Router::new(circuits.job(), &ground).unreachable(),
        Err(findings) => findings,
    }
}

/// The plan of a job.
///
/// # Errors
/// If a head can be in no circuit, a component cannot be reached, or `progress` stops the work.
pub fn plan(job: &Job, progress: &dyn Fn(&str) -> ControlFlow<()>) -> Result<Plan, PlanError> {
    let job = &*with_frost_depth(job);
    let ground = Ground::watched(job, &|| progress("")).ok_or(PlanError::Stopped)?;
    stopped(progress("looking at circuits"))?;
    let circuits = Circuits::compared(job, &ground).map_err(PlanError::Findings)?;
    let mut plan = routed(circuits.job(), &ground, progress)?;
    circuits.put_into(&mut plan);
    Ok(plan)
}

/// The plan of a job all of whose heads have a circuit.
fn routed(
    job: &Job,
    ground: &Ground,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    stopped(progress("laying out where trenches might run"))?;
    let mut router = Router::watched(job, ground, Memory::default(), progress)?;
    let memory = hydraulics::Memory::default();
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
        let found = one_round(job, (&mut router, &memory), &prices, Pace::Round, &told)?;
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
    let best = best.ok_or(PlanError::Stopped)?;
    let mut search = Search {
        job,
        router: &mut router,
        memory: &memory,
        progress,
        tried: 0,
        passed_over: 0,
    };
    let (best, prices) = search.other_machines(best)?;
    let (tried, passed_over) = (search.tried, search.passed_over);
    let told = |words: &str| told(progress, "last round", words);
    let proven = one_round(job, (&mut router, &memory), &prices, Pace::Proof, &told)?;
    let mut plan = cheaper(job, best, proven);
    plan.rounds = rounds + tried + 1;
    stopped(progress("ordering the days"))?;
    settle(job, &mut plan, &|| progress(""))?;
    figures::of_machines(tried, passed_over, &plan.digging, &mut plan.workings);
    Ok(plan)
}

/// A machine more or less is tried with trenches of its own where it makes digging on the trenches that
/// are there dearer by at most this share.
const WORTH_TRYING: f64 = 0.1;

/// The search for a set of machines that no single change makes cheaper.
struct Search<'a, 'r> {
    job: &'a Job,
    router: &'a mut Router<'r>,
    memory: &'a hydraulics::Memory,
    progress: &'a dyn Fn(&str) -> ControlFlow<()>,
    /// Changes tried with trenches of their own.
    tried: u32,
    /// Changes that are too dear on the trenches that are there.
    passed_over: u32,
}

impl Search<'_, '_> {
    /// The best plan after every single machine more or less has been tried with routes for it, until
    /// none gains. On large jobs only the likeliest change is tried.
    fn other_machines(&mut self, mut best: (Plan, Prices)) -> Result<(Plan, Prices), PlanError> {
        let mut seen: Vec<BTreeSet<MachineId>> = vec![hired(&best.0)];
        loop {
            let mut changes = self.changes(&best.0);
            changes.retain(|set| !seen.contains(set));
            if self.job.system.outlets.len() > LARGE_JOB {
                changes.truncate(usize::from(self.tried == 0));
            }
            let mut better = None;
            for set in changes {
                seen.push(set.clone());
                self.tried += 1;
                let prices = Prices {
                    rates: LineRates::of(self.job, &best.0.network, &best.0.hydraulics),
                    hired: Some(set),
                };
                let words = format!("other machines, {}", self.tried);
                let told = |what: &str| told(self.progress, &words, what);
                let found = one_round(
                    self.job,
                    (self.router, self.memory),
                    &prices,
                    Pace::Round,
                    &told,
                )?;
                if found.price.total < best.0.price.total {
                    better = Some((found, prices));
                    break;
                }
            }
            match better {
                Some(found) => best = found,
                None => return Ok(best),
            }
        }
    }

    /// The sets of machines that differ in one from that of a plan, the likeliest first.
    fn changes(&mut self, plan: &Plan) -> Vec<BTreeSet<MachineId>> {
        let now = hired(plan);
        let digging = &plan.digging;
        let without = digging
            .hires
            .iter()
            .filter_map(|h| Some((h.without?, &h.machine)));
        let with = digging.not_hired.iter().map(|n| (n.extra, &n.machine));
        let mut changes: Vec<(Money, &MachineId)> = without.chain(with).collect();
        changes.sort();
        let most = (digging.stretch_cost() + digging.hire_cost()).times(WORTH_TRYING);
        let likely = changes.partition_point(|(extra, _)| *extra <= most);
        self.passed_over = (changes.len() - likely) as u32;
        let other = |(_, machine): &(Money, &MachineId)| {
            let mut set = now.clone();
            if !set.remove(machine) {
                set.extend(with_carriers(self.job, machine));
            }
            set
        };
        changes[..likely].iter().map(other).collect()
    }
}

/// A machine with what carries it.
fn with_carriers(job: &Job, machine: &MachineId) -> Vec<MachineId> {
    let rentals = digging::rentals(job);
    let serves = rentals.iter().find(|rental| rental.id == *machine);
    let [method] = serves.map_or(&[][..], |rental| &rental.methods) else {
        return vec![machine.clone()];
    };
    let needed = rentals
        .iter()
        .filter(|rental| rental.methods.contains(method));
    needed.map(|rental| rental.id.clone()).collect()
}

fn hired(plan: &Plan) -> BTreeSet<MachineId> {
    plan.digging
        .hires
        .iter()
        .map(|hire| hire.machine.clone())
        .collect()
}

/// The plan of a job that has changed a little since `last` was made: a head moved, an obstacle found, a
/// trench fixed. Begins with the last plan's trenches, sizes and machines and goes one round, so that it is
/// there much sooner; how much cheaper it could be is not proven (the bound is 0), and given circuits are not
/// compared with a regrouping.
///
/// # Errors
/// If a component cannot be reached, or `progress` stops the work.
pub fn replan(
    job: &Job,
    last: &Plan,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    let job = &*with_frost_depth(job);
    let ground = Ground::watched(job, &|| progress("")).ok_or(PlanError::Stopped)?;
    stopped(progress("looking at circuits"))?;
    let circuits = Circuits::kept(job, &ground, last).map_err(PlanError::Findings)?;
    let job = circuits.job();
    stopped(progress("laying out where trenches might run"))?;
    let mut router = Router::watched(job, &ground, Memory::default(), progress)?;
    router.recall(&last.network);
    let told = |words: &str| told(progress, "after a change", words);
    let mut plan = one_round(
        job,
        (&mut router, &hydraulics::Memory::default()),
        &Prices::after(job, last),
        Pace::Round,
        &told,
    )?;
    settle(job, &mut plan, &|| told(""))?;
    circuits.put_into(&mut plan);
    Ok(plan)
}

/// The cheaper of the best plan and the one whose bound was proven at the same prices of the router.
/// The proof's graph contains every trench tried before, so its bound holds for both.
fn cheaper(job: &Job, mut best: Plan, proven: Plan) -> Plan {
    if proven.price.total <= best.price.total {
        return proven;
    }
    best.network.least_laying = proven.network.least_laying.min(best.network.laying());
    best.network.bound = proven.network.bound.min(best.network.least_laying);
    best.network.candidates = proven.network.candidates;
    best.network.refinement = proven.network.refinement;
    figures::of_routes(job, &best.network, &mut best.workings);
    best
}

/// How much is done in a round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pace {
    /// Whatever can be left out is; workings only if they are wanted.
    Draft { workings: bool },
    /// A round that is compared with others.
    Round,
    /// With a longer search for trenches and the proof of them.
    Proof,
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
            hired: Some(hired(plan)),
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
    (router, memory): (&mut Router<'_>, &hydraulics::Memory),
    prices: &Prices,
    pace: Pace,
    told: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    let units = digging::UnitCosts::new(job, prices.hired.as_ref());
    let trench = |ground: &StretchGround| units.of(ground);
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
    let mut ledger = match pace {
        Pace::Draft { workings: false } => Ledger::closed(),
        _ => Ledger::new(),
    };
    let network = router.route(&costs, pace == Pace::Proof, told)?;
    debug_assert_eq!(routes::audit::faults(job, &network), Vec::<String>::new());
    figures::of_routes(job, &network, &mut ledger);
    stopped(told("sizing pipes"))?;
    let ask = &|| told("");
    let search = match pace {
        Pace::Draft { .. } => hydraulics::Search::Coarse,
        _ => hydraulics::Search::Proven,
    };
    let water = hydraulics::size_watched((job, &network), search, memory, ask, &mut ledger);
    let water = water.ok_or(PlanError::Stopped)?;
    stopped(told("choosing methods"))?;
    let search = match pace {
        Pace::Draft { .. } => digging::hire::Search::Short,
        _ => digging::hire::Search::Proven,
    };
    let digging = digging::dig_watched((job, &network, &water), search, ask, &mut ledger);
    let digging = digging.ok_or(PlanError::Stopped)?;
    stopped(told("listing material, days and cost"))?;
    let stages = (&network, &water, &digging);
    let lists = material_and_days(job, stages, pace, ask, &mut ledger);
    let (takeoff, schedule) = lists.ok_or(PlanError::Stopped)?;
    let planned = price::Planned {
        network: &network,
        digging: &digging,
        takeoff: &takeoff,
        schedule: &schedule,
    };
    let price = price::price(job, &planned, &Contingency::Share, &mut ledger);
    let findings = gather(job, &network, &water, &digging);
    Ok(Plan {
        format: FORMAT,
        job: job.name.clone(),
        invented: job.invented,
        grouping: None,
        network,
        hydraulics: water,
        digging,
        takeoff,
        schedule,
        price,
        risk: Risk::default(),
        staking: Staking::default(),
        rounds: 1,
        findings,
        workings: ledger,
    })
}

/// What is bought and who does what when: neither needs the other. Rounds are compared by days that are
/// quick to make, and set the price book's share aside.
fn material_and_days(
    job: &Job,
    (network, water, digging): (&Network, &Hydraulics, &Digging),
    pace: Pace,
    ask: &dyn Fn() -> ControlFlow<()>,
    ledger: &mut Ledger,
) -> Option<(Takeoff, Schedule)> {
    let effort = match pace {
        Pace::Draft { .. } => Effort::Draft,
        _ => Effort::Quick,
    };
    let mut of_days = ledger.beside();
    let mut takeoff = None;
    let schedule = rayon::in_place_scope(|beside| {
        beside.spawn(|_| {
            takeoff = Some(match pace {
                Pace::Draft { .. } => {
                    takeoff::take_off_quickly(job, network, water, digging, ledger)
                }
                _ => takeoff::take_off(job, network, water, digging, ledger),
            });
        });
        crew::schedule_watched(job, network, digging, effort, ask, &mut of_days)
    });
    ledger.extend(of_days);
    takeoff.zip(schedule)
}

/// The plan that is kept gets the best days that are found, the trials of the ground, and the price with
/// both.
fn settle(job: &Job, plan: &mut Plan, ask: &dyn Fn() -> ControlFlow<()>) -> Result<(), PlanError> {
    let Plan {
        network,
        digging,
        takeoff,
        workings,
        ..
    } = plan;
    let schedule = crew::schedule_watched(job, network, digging, Effort::Full, ask, workings);
    let schedule = schedule.ok_or(PlanError::Stopped)?;
    debug_assert_eq!(crew::audit::faults(job, network, &schedule), [""; 0]);
    let planned = (&*network, &*digging, &*takeoff, &schedule);
    let risk = risk::assess_watched(job, planned, ask, workings).ok_or(PlanError::Stopped)?;
    let contingency = match job.prices.contingency.by.value {
        SetAsideBy::Share => Contingency::Share,
        SetAsideBy::Risk => Contingency::Amount(risk.contingency, figures::set_aside(job, &risk)),
    };
    let planned = price::Planned {
        network,
        digging,
        takeoff,
        schedule: &schedule,
    };
    plan.price = price::price(job, &planned, &contingency, workings);
    let changes = price::Changes {
        cost: [risk.cost.p10, risk.cost.p50, risk.cost.p90],
        rock_per_m: risk.rock_per_m,
    };
    plan.price.ranged = Some(price::range(job, &plan.price, &changes, workings));
    (plan.schedule, plan.risk) = (schedule, risk);
    let deepest = deepest(&plan.digging);
    plan.staking = staking::stake(job, &plan.network, deepest, &mut plan.workings);
    plan.findings.extend(plan.staking.findings.iter().cloned());
    plan.findings.sort();
    plan.findings.dedup();
    Ok(())
}

/// The deepest cut; of equal ones the first.
fn deepest(digging: &Digging) -> staking::Deepest {
    let depths = digging
        .digs
        .iter()
        .map(|dig| (dig.stretch, dig.section.depth));
    depths.reduce(|most, dig| if dig.1 > most.1 { dig } else { most })
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

    /// The job as it was planned: with the circuits proposed, if heads of it named none, and with the
    /// depth of frost worked out, if only a freezing index was given.
    pub fn planned(&self, job: &Job) -> Job {
        let job = with_frost_depth(job);
        match &self.grouping {
            Some(grouping) => grouping.apply(&job),
            None => job.into_owned(),
        }
    }

    /// The price before tax, by which plans are compared: with overhead and profit as shares it is the lower,
    /// the lower the cost, and it does not depend on who pays which tax to the authority.
    pub fn total(&self) -> Money {
        self.price.total
    }
}
