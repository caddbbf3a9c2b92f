//! `spadework export`: a job and its plan in the forms that other programs read.

use crate::args::{ExportArgs, JobArgs};
use crate::failure::Failure;
use crate::planned::Planned;
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
    GeoJson,
    Dxf,
    Gpx,
    Stakes,
}

impl Form {
    const ALL: [(&'static str, Self); 6] = [
        ("json", Self::Text),
        ("gpkg", Self::Package),
        ("geojson", Self::GeoJson),
        ("dxf", Self::Dxf),
        ("gpx", Self::Gpx),
        ("csv", Self::Stakes),
    ];

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

pub fn run(args: &ExportArgs, progress: bool) -> Result<Answer, Failure> {
    let mut forms = Vec::new();
    for file in &args.files {
        forms.push((file.as_path(), Form::of(file)?));
    }
    let there = args.files.iter().filter(|file| file.exists());
    let there: Vec<String> = there.map(|file| file.display().to_string()).collect();
    if !there.is_empty() && !args.replace {
        return Err(Failure::input(
            format!("there already: {}; nothing was written", there.join(", ")),
            "name other files, or write them anew with --replace",
        ));
    }
    let document = job_file::document(&args.job.job)?;
    let mut planned = None;
    let mut answer = Answer::default();
    for (file, form) in forms {
        let left = match form {
            Form::Text => text(args, &document, file)?,
            Form::Package => package(args, &document, file)?,
            other => {
                let planned = match &planned {
                    Some(planned) => planned,
                    None => planned.insert(Planned::of(
                        &args.job,
                        args.from.as_deref(),
                        args.units,
                        progress,
                    )?),
                };
                planned.write(other, &document, file)?
            }
        };
        answer.err += &format!("wrote {}\n", file.display());
        for line in left {
            answer.err += &format!("  left out: {line}\n");
        }
    }
    Ok(answer)
}

impl Planned {
    /// Writes a file, and tells what its form cannot hold.
    fn write(&self, form: Form, document: &Document, file: &Path) -> Result<Vec<String>, Failure> {
        let (job, plan, units) = (&self.job, &self.plan, self.units);
        let mut left = Vec::new();
        let text = match form {
            Form::GeoJson => {
                let layers = layers::of(job, plan, units);
                exchange::geojson::write(document, &layers).map_err(Failure::Job)?
            }
            Form::Dxf => {
                let layers = layers::of(job, plan, units);
                let written = exchange::dxf::write(document, &layers).map_err(Failure::Job)?;
                left = written
                    .report
                    .left
                    .iter()
                    .map(ToString::to_string)
                    .collect();
                written.text
            }
            Form::Gpx => {
                let anchor = job.anchor.ok_or_else(|| {
                    let what =
                        "the job has no anchor, so its points have no longitude and latitude";
                    let mend = "add \"anchor\": { \"longitude\": …, \"latitude\": … } to the job";
                    Failure::input(what, mend)
                })?;
                let stakes = layers::stakes(job, plan, units);
                exchange::gpx::write(&[stakes], &anchor).map_err(Failure::Job)?
            }
            _ => crate::files::stakes(job, plan, units)?,
        };
        undisturbed(|| job_file::whole(file, text.as_bytes()))?;
        Ok(left)
    }
}

/// The text form holds neither plans nor pictures.
fn text(args: &ExportArgs, document: &Document, file: &Path) -> Result<Vec<String>, Failure> {
    let kept = Kept::of(&args.job)?;
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
    let kept = Kept::of(&args.job)?;
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
    job_file::save_plan(file, &input::own(&args.job)?, &plan, &job, units)?;
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
    fn of(args: &JobArgs) -> Result<Self, Failure> {
        match job_file::Form::of(&args.job) {
            job_file::Form::Text => Ok(Self::default()),
            job_file::Form::Package => Ok(Self {
                plan: job_file::stored_plan(&args.job, &input::own(args)?)?,
                pictures: Store::look(&args.job)?.pictures()?,
            }),
        }
    }
}
