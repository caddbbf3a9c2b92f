//! Circuits before anything is routed: those that heads lack are proposed, those given are looked at.

use crate::{Plan, costs};
use circuits::{GroupCosts, Grouping};
use ground::{Ground, StretchGround};
use job::{Circuit, Finding, Job};
use std::borrow::Cow;
use working::Ledger;

/// The circuits of a job.
pub(crate) struct Circuits<'a> {
    job: Cow<'a, Job>,
    grouping: Option<Grouping>,
    findings: Vec<Finding>,
    workings: Ledger,
}

impl<'a> Circuits<'a> {
    /// Groups the heads that name no circuit, and looks at the circuits given.
    ///
    /// # Errors
    /// If a head can be in no circuit.
    pub fn of(job: &'a Job, ground: &Ground) -> Result<Self, Vec<Finding>> {
        let mut workings = Ledger::new();
        let grouping = with_costs(job, |costs| {
            circuits::group(job, ground, costs, &mut workings)
        })?;
        Ok(Self::with(job, ground, grouping, workings))
    }

    /// Keeps the circuits that a plan proposed before the job changed, if they still hold.
    ///
    /// # Errors
    /// If they do not, and a head can be in no circuit.
    pub fn kept(job: &'a Job, ground: &Ground, last: &Plan) -> Result<Self, Vec<Finding>> {
        let mut workings = Ledger::new();
        let kept = last.grouping.as_ref().and_then(|last| {
            with_costs(job, |costs| {
                circuits::keep(job, ground, costs, last, &mut workings)
            })
        });
        match kept {
            Some(_) => Ok(Self::with(job, ground, kept, workings)),
            None => Self::of(job, ground),
        }
    }

    /// The same, with heads that came or went since taken into or out of the circuits that were proposed.
    ///
    /// # Errors
    /// If that does not do, and a head can be in no circuit.
    pub fn adapted(job: &'a Job, ground: &Ground, last: &Plan) -> Result<Self, Vec<Finding>> {
        let mut workings = Ledger::new();
        let adapted = last.grouping.as_ref().and_then(|last| {
            with_costs(job, |costs| {
                circuits::adapt(job, ground, costs, last, &mut workings)
            })
        });
        match adapted {
            Some(_) => Ok(Self::with(job, ground, adapted, workings)),
            None => Self::of(job, ground),
        }
    }

    fn with(job: &'a Job, ground: &Ground, grouping: Option<Grouping>, workings: Ledger) -> Self {
        let mut findings = circuits::review(job, ground);
        let job = match &grouping {
            Some(grouping) => {
                findings.extend(grouping.findings.clone());
                Cow::Owned(grouping.apply(job))
            }
            None => Cow::Borrowed(job),
        };
        Self {
            job,
            grouping,
            findings,
            workings,
        }
    }

    /// The same, and what a regrouping of the circuits given would save.
    ///
    /// # Errors
    /// If a head can be in no circuit.
    pub fn compared(job: &'a Job, ground: &Ground) -> Result<Self, Vec<Finding>> {
        let mut circuits = Self::of(job, ground)?;
        let saves = with_costs(job, |costs| circuits::regrouping(job, ground, costs));
        circuits.findings.extend(saves);
        Ok(circuits)
    }

    /// The job with all its circuits.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Puts what was found out about circuits into the plan.
    pub fn put_into(self, plan: &mut Plan) {
        plan.findings.extend(self.findings);
        plan.findings.sort();
        plan.findings.dedup();
        plan.workings.extend(self.workings);
        plan.grouping = self.grouping;
    }
}

/// What things cost, for the grouping.
fn with_costs<T>(job: &Job, run: impl FnOnce(&GroupCosts) -> T) -> T {
    let typical = typical(job);
    let units = digging::UnitCosts::new(&typical, None);
    let trench = |ground: &StretchGround| units.of(ground);
    let pipe = |family: &str, size: &str| costs::pipe(job, family, size);
    run(&GroupCosts {
        trench: &trench,
        pipe: &pipe,
        crossing: costs::crossing(job),
        valve: costs::valve(job),
        valve_box: job.prices.item.valve_box.value.to_units(),
        wire: costs::wire(job),
        conductor: costs::conductor(job),
    })
}

/// The job with one circuit at least, from whose pipe a typical trench is priced.
fn typical(job: &Job) -> Cow<'_, Job> {
    if !job.system.circuits.is_empty() {
        return Cow::Borrowed(job);
    }
    let mut job = job.clone();
    let pipe = job.practice.circuits.pipe.value.clone();
    job.system.circuits.push(Circuit {
        id: String::new(),
        name: String::new(),
        pipe,
        runs_with: None,
    });
    Cow::Owned(job)
}
