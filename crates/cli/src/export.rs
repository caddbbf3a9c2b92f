//! `spadework export`: a job and its plan in the forms that other programs read.

use crate::args::ExportArgs;
use crate::failure::Failure;
use crate::progress::undisturbed;
use crate::{Answer, input, job_file};
use job::Document;
use plan::Plan;
use quantity::Units;
use std::ffi::OsStr;
use std::path::Path;
use store::{Picture, Store};

/// What a file's ending asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Text,
    Package,
}

impl Form {
    const ALL: [(&'static str, Self); 2] = [("json", Self::Text), ("gpkg", Self::Package)];

    fn of(path: &Path) -> Result<Self, Failure> {
        let end = path.extension().and_then(OsStr::to_str).unwrap_or_default();
        let known = Self::ALL
            .iter()
            .find(|(name, _)| end.eq_ignore_ascii_case(name));
        known.map(|&(_, form)| form).ok_or_else(|| {
            let names = Self::ALL.map(|(name, _)| format!(".{name}")).join(", ");
            Failure::input(
                format!("the ending of {} names no form", path.display()),
                format!("let the file end in one of {names}"),
            )
        })
    }
}

pub fn run(args: &ExportArgs) -> Result<Answer, Failure> {
    let mut forms = Vec::new();
    for file in &args.files {
        forms.push((file.as_path(), Form::of(file)?));
        if file.exists() && !args.replace {
            return Err(Failure::input(
                format!("{} is there already; nothing was written", file.display()),
                "name another file, or write it anew with --replace",
            ));
        }
    }
    let document = job_file::document(&args.job.job)?;
    let mut answer = Answer::default();
    for (file, form) in forms {
        let left = match form {
            Form::Text => text(args, &document, file)?,
            Form::Package => package(args, &document, file)?,
        };
        answer.err += &format!("wrote {}\n", file.display());
        for line in left {
            answer.err += &format!("  left out: {line}\n");
        }
    }
    Ok(answer)
}

/// The text form holds neither plans nor pictures.
fn text(args: &ExportArgs, document: &Document, file: &Path) -> Result<Vec<String>, Failure> {
    let kept = Kept::of(&args.job.job)?;
    undisturbed(|| job_file::whole(file, document.text().as_bytes()))?;
    let plan = kept.plan.map(|_| PLAN_LEFT.to_owned());
    let pictures = kept
        .pictures
        .iter()
        .map(|p| format!("the underlay {}", p.name));
    Ok(plan.into_iter().chain(pictures).collect())
}

/// A job file holds everything that another one holds; a plan of an earlier state is not taken along.
fn package(args: &ExportArgs, document: &Document, file: &Path) -> Result<Vec<String>, Failure> {
    let kept = Kept::of(&args.job.job)?;
    undisturbed(|| {
        let mut store = match file.exists() {
            true => Store::open(file)?,
            false => Store::create(file, document)?,
        };
        store.save(document)?;
        for picture in &kept.pictures {
            store.put_picture(picture)?;
        }
        Ok(store.close()?)
    })?;
    let Some((plan, current)) = kept.plan else {
        return Ok(Vec::new());
    };
    if !current {
        return Ok(vec![PLAN_LEFT.to_owned()]);
    }
    let reading = input::job(&args.job)?;
    let job = plan.planned(&reading.job);
    let units = args.units.map_or(job.units, Units::from);
    job_file::save_plan(file, &plan, &job, units)?;
    Ok(Vec::new())
}

const PLAN_LEFT: &str = "the plan that the job file keeps; `spadework plan` makes it again";

/// What a job file keeps beside the job.
#[derive(Default)]
struct Kept {
    /// The plan, and whether it is of the job as it is now.
    plan: Option<(Plan, bool)>,
    pictures: Vec<Picture>,
}

impl Kept {
    fn of(path: &Path) -> Result<Self, Failure> {
        match job_file::Form::of(path) {
            job_file::Form::Text => Ok(Self::default()),
            job_file::Form::Package => Ok(Self {
                plan: job_file::stored_plan(path)?,
                pictures: Store::look(path)?.pictures()?,
            }),
        }
    }
}
