//! `spadework compare`: two variants of a job side by side.

mod cells;
mod report;

use crate::args::{CompareArgs, JobArgs};
use crate::failure::Failure;
use crate::{Answer, files, folder, input, progress};
use job::{Job, Reading};
use plan::Plan;
use plan::compare::{Variant, compare};
use quantity::Units;
use std::path::Path;

/// A variant with its plan.
struct Planned {
    name: String,
    reading: Reading,
    plan: Plan,
    /// The job as it was planned.
    job: Job,
}

impl Planned {
    fn variant(&self) -> Variant<'_> {
        Variant {
            job: &self.reading.job,
            settings: &self.reading.settings,
            plan: &self.plan,
        }
    }
}

pub fn run(args: &CompareArgs, progress: bool) -> Result<Answer, Failure> {
    let paths = [&args.first, &args.second];
    let [first, second] = each(paths.map(|path| (path.as_path(), read(args, path))))?;
    if let Some(out) = &args.out {
        folder::check(out)?;
    }
    let plans = [
        (args.first.as_path(), planned(&args.first, first, progress)),
        (
            args.second.as_path(),
            planned(&args.second, second, progress),
        ),
    ];
    let [first, second] = each(plans)?;
    let compared = compare(first.variant(), second.variant());
    let units = args.units.map_or(first.job.units, Units::from);
    let text = report::text([&first, &second], &compared, units);
    let mut answer = Answer::default();
    if let Some(out) = &args.out {
        let rows = report::rows([&first, &second], &compared, units);
        write(out, &text, &rows)?;
        answer.err = format!(
            "wrote {}\n",
            files::COMPARED
                .map(|name| out.join(name).display().to_string())
                .join(", ")
        );
    }
    answer.out = text;
    Ok(answer)
}

fn read(args: &CompareArgs, job: &Path) -> Result<Reading, Failure> {
    input::job(&JobArgs {
        job: job.to_owned(),
        practice: args.practice.clone(),
        prices: args.prices.clone(),
    })
}

fn planned(path: &Path, reading: Reading, progress: bool) -> Result<Planned, Failure> {
    let name = path.display().to_string();
    let plan = progress::plan_of(&name, &reading.job, progress)?;
    Ok(Planned {
        name,
        job: plan.planned(&reading.job),
        reading,
        plan,
    })
}

/// Both, or everything that is wrong with either.
fn each<T>(both: [(&Path, Result<T, Failure>); 2]) -> Result<[T; 2], Failure> {
    let [(first_path, first), (second_path, second)] = both;
    match (first, second) {
        (Ok(first), Ok(second)) => Ok([first, second]),
        (Err(Failure::Stopped), _) | (_, Err(Failure::Stopped)) => Err(Failure::Stopped),
        (first, second) => {
            let named = |path: &Path, result: Result<T, Failure>| {
                Some((path.display().to_string(), result.err()?))
            };
            let failures = [named(first_path, first), named(second_path, second)];
            Err(Failure::Several(failures.into_iter().flatten().collect()))
        }
    }
}

fn write(out: &Path, text: &str, rows: &[Vec<String>]) -> Result<(), Failure> {
    let [words, table] = files::COMPARED;
    let written = [(words, text.to_owned()), (table, files::csv(table, rows)?)];
    progress::undisturbed(|| folder::write(out, &written))
}
