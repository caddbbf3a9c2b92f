//! `spadework plan`: the summary, or the files.

use crate::args::PlanArgs;
use crate::failure::Failure;
use crate::job_file::{self, Form};
use crate::{Answer, files, folder, input, progress, summary};
use job::Job;
use plan::Plan;
use quantity::Units;
use std::path::Path;

pub fn run(args: &PlanArgs, progress: bool) -> Result<Answer, Failure> {
    let reading = input::job(&args.job)?;
    if let Some(out) = &args.out {
        folder::check(out)?;
    }
    let file = &args.job.job;
    if args.save && Form::of(file) == Form::Text {
        return Err(Failure::input(
            format!("{} is a text, and a text keeps no plan", file.display()),
            "make it a GeoPackage with `spadework export JOB JOB.gpkg`, or write the plan with --out",
        ));
    }
    let job = reading.job;
    let plan = match &args.from {
        Some(last) => progress::replan(&job, &input::plan(last)?, progress)?,
        None => progress::plan(&job, progress)?,
    };
    let job = plan.planned(&job);
    let units = args.units.map_or(job.units, Units::from);
    let mut answer = if args.json {
        Answer::of(files::json(&plan)?)
    } else {
        Answer::of(summary::text(&job, &plan, &reading.findings, units))
    };
    if let Some(out) = &args.out {
        write(out, &job, &plan, units)?;
        answer.err = format!("wrote {}\n", names(out));
    }
    if args.save {
        job_file::save_plan(file, &input::own(&args.job)?, &plan, &job, units)?;
        answer.err += &format!("kept the plan in {}\n", file.display());
    }
    Ok(answer)
}

/// Writes all files of a plan into a folder, or none.
pub fn write(out: &Path, job: &Job, plan: &Plan, units: Units) -> Result<(), Failure> {
    let files = files::all(job, plan, units)?;
    progress::undisturbed(|| folder::write(out, &files))
}

/// The files in words.
pub fn names(out: &Path) -> String {
    let names = files::NAMES.map(|name| out.join(name).display().to_string());
    names.join(", ")
}
