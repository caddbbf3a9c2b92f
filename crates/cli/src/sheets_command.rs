//! `spadework sheets`: the plan on paper.

use crate::args::SheetsArgs;
use crate::failure::Failure;
use crate::planned::Planned;
use crate::progress::undisturbed;
use crate::{Answer, folder, job_file};
use sheets::{SheetError, Wanted};
use std::path::Path;

pub fn run(args: &SheetsArgs, progress: bool) -> Result<Answer, Failure> {
    check(args)?;
    let planned = Planned::of(&args.job, args.from.as_deref(), args.units, progress)?;
    let Planned { job, plan, units } = &planned;
    let variant = args.variant.as_deref();
    let wanted = Wanted {
        only: args.only.clone(),
        units: *units,
        version: args.variant.clone(),
    };
    let mut answer = Answer::default();
    let mut write = |file: &Path, bytes: &[u8]| {
        undisturbed(|| job_file::whole(file, bytes))?;
        answer.err += &format!("wrote {}\n", file.display());
        Ok::<(), Failure>(())
    };
    let pdf = sheets::pdf(job, plan, &wanted)?;
    write(&args.out, &pdf)?;
    if let Some(file) = &args.offer {
        let offer = sheets::offer_pdf(job, plan, *units, variant)?;
        write(file, &offer)?;
    }
    if let Some(out) = &args.tables {
        let mut files = Vec::new();
        for table in sheets::tables(job, plan, *units) {
            files.push((table.file(), table.csv()?));
        }
        undisturbed(|| folder::write(out, &files))?;
        answer.err += &format!("wrote {} tables into {}\n", files.len(), out.display());
    }
    Ok(answer)
}

/// Refuses, before long work, what could not be written afterwards.
fn check(args: &SheetsArgs) -> Result<(), Failure> {
    let files = [Some(&args.out), args.offer.as_ref()];
    let files: Vec<&std::path::PathBuf> = files.into_iter().flatten().collect();
    if args.offer.as_ref() == Some(&args.out) {
        return Err(Failure::input(
            format!(
                "{} cannot hold both the sheets and the offer",
                args.out.display()
            ),
            "name another file with --offer",
        ));
    }
    let there = files.iter().filter(|file| file.exists());
    let there: Vec<String> = there.map(|file| file.display().to_string()).collect();
    if !there.is_empty() && !args.replace {
        return Err(Failure::input(
            format!("there already: {}; nothing was written", there.join(", ")),
            "name other files, or write them anew with --replace",
        ));
    }
    match &args.tables {
        Some(out) => folder::check(out),
        None => Ok(()),
    }
}

impl From<SheetError> for Failure {
    fn from(error: SheetError) -> Self {
        Self::system(error.to_string(), "please report this with the job file")
    }
}
