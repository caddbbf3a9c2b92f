//! A job with its plan, for the commands that show it.

use crate::args::{JobArgs, UnitsArg};
use crate::failure::Failure;
use crate::{input, job_file, progress};
use job::Job;
use plan::Plan;
use quantity::Units;
use std::path::Path;

/// A job with its plan, and the units to read in.
pub struct Planned {
    pub job: Job,
    pub plan: Plan,
    pub units: Units,
}

impl Planned {
    /// The plan is an earlier one, the one that the job file keeps if the job has not changed since, or made now.
    pub fn of(
        args: &JobArgs,
        from: Option<&Path>,
        units: Option<UnitsArg>,
        progress: bool,
    ) -> Result<Self, Failure> {
        let reading = input::job(args)?;
        let plan = match from {
            Some(from) => input::plan(from)?,
            None => match job_file::stored_plan(&args.job, &input::own(args)?)? {
                Some((plan, true)) => plan,
                _ => progress::plan(&reading.job, progress)?,
            },
        };
        let job = plan.planned(&reading.job);
        let units = units.map_or(job.units, Units::from);
        Ok(Self { job, plan, units })
    }
}
