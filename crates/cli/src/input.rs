//! Reading files that a user names.

use crate::args::JobArgs;
use crate::failure::Failure;
use crate::job_file;
use job::{ReadOptions, Reading};
use plan::Plan;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

/// Reads and checks the job that a call names.
pub fn job(args: &JobArgs) -> Result<Reading, Failure> {
    job_file::read(&args.job, &own(args)?)
}

/// The user's own rules and prices that a call names.
pub fn own(args: &JobArgs) -> Result<ReadOptions, Failure> {
    Ok(ReadOptions {
        practice: optional(args.practice.as_deref(), "practice file")?,
        prices: optional(args.prices.as_deref(), "price file")?,
    })
}

/// Reads an earlier plan.
pub fn plan(path: &Path) -> Result<Plan, Failure> {
    let name = path.display();
    let again = "give the plan.json that `spadework plan JOB --out DIR` wrote";
    let plan: Plan = serde_json::from_str(&text_of(path, "plan", store::LARGEST_PLAN)?)
        .map_err(|error| Failure::input(format!("{name} is no plan: {error}"), again))?;
    if plan.format != plan::FORMAT {
        let what = format!(
            "{name} is a plan of form {}, not {}",
            plan.format,
            plan::FORMAT
        );
        return Err(Failure::input(what, again));
    }
    Ok(plan)
}

fn optional(path: Option<&Path>, what: &str) -> Result<Option<String>, Failure> {
    path.map(|path| text(path, what)).transpose()
}

/// The text of a file that is called `what`.
pub fn text(path: &Path, what: &str) -> Result<String, Failure> {
    text_of(path, what, job::LARGEST_FILE as u64)
}

/// The same of a file that is at most so large.
fn text_of(path: &Path, what: &str, most: u64) -> Result<String, Failure> {
    let name = path.display();
    let bytes = bytes(path, what, most)?;
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let byte = error.as_bytes()[at];
        Failure::input(
            format!("the {what} {name} is not UTF-8: byte {at} is 0x{byte:02x}"),
            "save it as UTF-8; spreadsheets and old editors may write another encoding",
        )
    })
}

/// The bytes of a file that is called `what`, which is at most so large.
pub fn bytes(path: &Path, what: &str, most: u64) -> Result<Vec<u8>, Failure> {
    let name = path.display();
    let refused = |error: &std::io::Error| match error.kind() {
        ErrorKind::NotFound => Failure::input(
            format!("there is no {what} {name}"),
            "check the path; `spadework demo` writes a job to begin with",
        ),
        ErrorKind::PermissionDenied => Failure::input(
            format!("the {what} {name} may not be read"),
            "give yourself the right to read it",
        ),
        ErrorKind::IsADirectory => directory(path, what),
        _ => Failure::input(
            format!("the {what} {name} cannot be read: {error}"),
            "check the path and the disk",
        ),
    };
    let mut file = File::open(path).map_err(|e| refused(&e))?;
    let about = file.metadata().map_err(|e| refused(&e))?;
    if about.is_dir() {
        return Err(directory(path, what));
    }
    if about.len() > most {
        return Err(too_large(path, what, most));
    }
    let mut bytes = Vec::new();
    // A pipe or a device does not tell its size beforehand.
    file.by_ref()
        .take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| refused(&e))?;
    if bytes.len() as u64 > most {
        return Err(too_large(path, what, most));
    }
    Ok(bytes)
}

fn directory(path: &Path, what: &str) -> Failure {
    Failure::input(
        format!("{} is a folder, not a {what}", path.display()),
        "name the file in it",
    )
}

fn too_large(path: &Path, what: &str, most: u64) -> Failure {
    let most = most >> 20;
    Failure::input(
        format!(
            "{} is too large for a {what}: {most} MiB are the most",
            path.display()
        ),
        format!("make sure that it is the {what}"),
    )
}
