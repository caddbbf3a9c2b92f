//! Drafts of a job that is being changed: plans made quickly from the last one.

use crate::grouping::Circuits;
use crate::{Pace, Plan, PlanError, Prices, figures, one_round, stopped, told};
use digging::MachineId;
use ground::Ground;
use hydraulics::cold::with_frost_depth;
use job::practice::Practice;
use job::{
    Circuit, Corridor, Finding, Job, KeepOut, Method, MethodId, PriceBook, SetAsideBy, Survey,
};
use price::Contingency;
use quantity::Units;
use risk::Risk;
use routes::{Memory, Router};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

/// Makes drafts of a job while it is being changed, and keeps what does not change between them: the
/// ground, as long as survey, practice, places kept out and methods are the same, what possible trenches go
/// through and cost, and the sizes of circuits.
///
/// What it keeps only saves time. A draft is the same, byte for byte, whatever was drafted before.
#[derive(Debug, Default)]
pub struct Desk {
    /// Whether drafts are made with their workings.
    workings: bool,
    land: Option<Land>,
}

/// A ground, with all that it was made from.
#[derive(Debug)]
struct Land {
    survey: Survey,
    practice: Practice,
    methods: BTreeMap<MethodId, Method>,
    keep_outs: Vec<KeepOut>,
    units: Units,
    ground: Ground,
    /// What was measured on it with these corridors.
    memory: Memory,
    corridors: Vec<Corridor>,
    /// What a metre of trench was priced by.
    priced: Option<Priced>,
    /// Sizes and closings that were worked out.
    water: hydraulics::Memory,
}

/// What the price of a metre of trench goes by, besides the ground and the rules.
#[derive(Debug, PartialEq)]
struct Priced {
    prices: PriceBook,
    circuits: Vec<Circuit>,
    hired: Option<BTreeSet<MachineId>>,
}

impl Priced {
    fn is_of(&self, job: &Job, prices: &Prices) -> bool {
        self.hired == prices.hired
            && self.circuits == job.system.circuits
            && self.prices == job.prices
    }
}

impl Land {
    fn of(job: &Job, progress: &dyn Fn(&str) -> ControlFlow<()>) -> Result<Self, PlanError> {
        let ask = || progress("");
        let ground = Ground::watched(job, &ask).ok_or(PlanError::Stopped)?;
        Ok(Self {
            survey: job.survey.clone(),
            practice: job.practice.clone(),
            methods: job.prices.method.clone(),
            keep_outs: job.decisions.keep_outs.clone(),
            units: job.units,
            ground,
            memory: Memory::default(),
            corridors: job.decisions.corridors.clone(),
            priced: None,
            water: hydraulics::Memory::default(),
        })
    }

    fn is_of(&self, job: &Job) -> bool {
        self.units == job.units
            && self.keep_outs == job.decisions.keep_outs
            && self.survey == job.survey
            && self.methods == job.prices.method
            && self.practice == job.practice
    }
}

impl Desk {
    /// A desk on which nothing lies yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// The draft of a job, see [`draft`].
    ///
    /// # Errors
    /// If a head can be in no circuit, a component cannot be reached, or `progress` stops the work.
    pub fn draft(
        &mut self,
        job: &Job,
        last: &Plan,
        progress: &dyn Fn(&str) -> ControlFlow<()>,
    ) -> Result<Plan, PlanError> {
        let job = &*with_frost_depth(job);
        stopped(progress("looking at the ground"))?;
        let mut land = match self.land.take().filter(|land| land.is_of(job)) {
            Some(land) => land,
            None => Land::of(job, progress)?,
        };
        if land.corridors != job.decisions.corridors {
            land.memory = Memory::default();
            land.corridors.clone_from(&job.decisions.corridors);
        }
        let pace = Pace::Draft {
            workings: self.workings,
        };
        let found = drafted(job, &mut land, last, pace, progress);
        self.land = Some(land);
        found
    }
}

/// The draft of a plan, from the last plan of a job that has changed since: what a page shows while
/// somebody drags a head. Any change may lie between the two, even another job.
///
/// It is a plan like that of [`replan`](crate::replan) with less to it, and says so in a finding
/// (`draft`):
/// - one round from the last plan's trenches, sizes and machines, with a short search: nothing is proven
///   of the routes (the bound is 0), and sizes are not searched to the end;
/// - the machines after a short search, wire cut from spools without one;
/// - circuits that were proposed stay, and heads that came since join one of them;
/// - days of a very short search, not the best that are found;
/// - no trials of the ground: `risk` is the last plan's, its range is not put on the price, and a contingency
///   that goes by risk is the last plan's amount;
/// - nothing to stake;
/// - no workings but those of risk and circuits: [`told_draft`] is the same draft with them.
///
/// Whoever makes several drafts keeps a [`Desk`], which saves most of the time.
///
/// # Errors
/// If a head can be in no circuit, a component cannot be reached, or `progress` stops the work.
pub fn draft(
    job: &Job,
    last: &Plan,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    Desk::new().draft(job, last, progress)
}

/// The very draft of [`draft`] with the working of every figure: a draft takes about a third longer with them, and
/// hardly anyone asks for one before the whole plan is there.
///
/// # Errors
/// As [`draft`].
pub fn told_draft(
    job: &Job,
    last: &Plan,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    let mut desk = Desk {
        workings: true,
        ..Desk::new()
    };
    desk.draft(job, last, progress)
}

fn drafted(
    job: &Job,
    land: &mut Land,
    last: &Plan,
    pace: Pace,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Plan, PlanError> {
    stopped(progress("looking at circuits"))?;
    let circuits = Circuits::adapted(job, &land.ground, last).map_err(PlanError::Findings)?;
    let job = circuits.job();
    stopped(progress("laying out where trenches might run"))?;
    let prices = Prices::after(job, last);
    let same = land.priced.take().filter(|p| p.is_of(job, &prices));
    let memory = std::mem::take(&mut land.memory).with_prices(same.is_some());
    let mut router = Router::watched(job, &land.ground, memory, progress)?;
    router.recall(&last.network);
    router.hurry();
    let told = |words: &str| told(progress, "draft", words);
    let found = one_round(job, (&mut router, &land.water), &prices, pace, &told);
    land.memory = router.into_memory();
    land.priced = same.or_else(|| {
        Some(Priced {
            prices: job.prices.clone(),
            circuits: job.system.circuits.clone(),
            hired: prices.hired,
        })
    });
    let mut plan = found?;
    price_by_risk(job, last, &mut plan);
    plan.findings.push(about_drafts());
    circuits.put_into(&mut plan);
    Ok(plan)
}

/// Takes over what the last plan's trials of the ground say, contingency included.
fn price_by_risk(job: &Job, last: &Plan, plan: &mut Plan) {
    plan.risk = last.risk.clone();
    plan.workings.take_over(&last.workings, "risk.");
    if job.prices.contingency.by.value != SetAsideBy::Risk || plan.risk == Risk::default() {
        return;
    }
    let contingency =
        Contingency::Amount(plan.risk.contingency, figures::set_aside(job, &plan.risk));
    let planned = price::Planned {
        network: &plan.network,
        digging: &plan.digging,
        takeoff: &plan.takeoff,
        schedule: &plan.schedule,
    };
    plan.price = price::price(job, &planned, &contingency, &mut plan.workings);
}

fn about_drafts() -> Finding {
    Finding::caution(
        "draft",
        Finding::WHOLE_JOB,
        "a draft: days and sizes are searched for a moment only, risk is that of the plan before the \
         change, nothing is proven and there is nothing to stake"
            .to_owned(),
        "plan the job before anybody goes by it",
    )
}
