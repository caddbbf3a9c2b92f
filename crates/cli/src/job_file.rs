//! A job file in either form: text, or a GeoPackage.

use crate::failure::Failure;
use crate::input;
use crate::progress::undisturbed;
use job::{Document, ReadOptions, Reading};
use plan::Plan;
use quantity::Units;
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::Path;
use store::{Store, StoreError, StoredPlan};

/// The form of a job file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// JSON.
    Text,
    /// A GeoPackage.
    Package,
}

impl Form {
    /// The form of a file that is there.
    pub fn of(path: &Path) -> Self {
        let mut start = Vec::new();
        let read = File::open(path).and_then(|file| file.take(16).read_to_end(&mut start));
        // What cannot be read is told by whoever reads it.
        match read.is_ok() && store::is_database(&start) {
            true => Self::Package,
            false => Self::Text,
        }
    }

    /// The form that a file's name asks for.
    pub fn named(path: &Path) -> Self {
        match path.extension().and_then(OsStr::to_str) {
            Some(end) if end.eq_ignore_ascii_case("gpkg") => Self::Package,
            _ => Self::Text,
        }
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        match error.is_of_the_file() {
            true => Self::input(error.to_string(), error.mend()),
            false => Self::system(error.to_string(), error.mend()),
        }
    }
}

/// What a job file holds, whatever stands against it.
pub fn document(path: &Path) -> Result<Document, Failure> {
    match Form::of(path) {
        Form::Package => Ok(Store::look(path)?.document()?),
        Form::Text => Document::of(&input::text(path, "job file")?).map_err(Failure::Job),
    }
}

/// Reads and checks a job file.
pub fn read(path: &Path, options: &ReadOptions) -> Result<Reading, Failure> {
    let read = match Form::of(path) {
        Form::Package => document(path)?.read(options),
        // The text itself tells the line of what is wrong.
        Form::Text => job::read(&input::text(path, "job file")?, options),
    };
    read.map_err(Failure::Job)
}

/// Makes a new job file of the form that its name asks for.
pub fn create(path: &Path, document: &Document) -> Result<(), Failure> {
    undisturbed(|| match Form::named(path) {
        Form::Package => Ok(Store::create(path, document)?.close()?),
        Form::Text => {
            if path.exists() {
                return Err(there(path));
            }
            whole(path, document.text().as_bytes())
        }
    })
}

/// Saves a job into a file that is there, in the form that it has.
pub fn save(path: &Path, document: &Document) -> Result<(), Failure> {
    undisturbed(|| match Form::of(path) {
        Form::Package => {
            let mut store = Store::open(path)?;
            store.save(document)?;
            Ok(store.close()?)
        }
        Form::Text => whole(path, document.text().as_bytes()),
    })
}

/// Keeps a plan in a job file that holds the job it was made of.
pub fn save_plan(
    path: &Path,
    own: &ReadOptions,
    plan: &Plan,
    job: &job::Job,
    units: Units,
) -> Result<(), Failure> {
    let text = crate::files::json(plan)?;
    let layers = layers::of(job, plan, units);
    undisturbed(|| {
        let mut store = Store::open(path)?;
        let stored = StoredPlan {
            basis: store::basis(&store.document()?, own),
            plan: text,
        };
        store.put_plan(&stored, &layers)?;
        Ok(store.close()?)
    })
}

/// The plan that a job file keeps, and whether it is of the job as it is now, with these rules and prices of the
/// user's own.
pub fn stored_plan(path: &Path, own: &ReadOptions) -> Result<Option<(Plan, bool)>, Failure> {
    if Form::of(path) == Form::Text {
        return Ok(None);
    }
    let store = Store::look(path)?;
    let Some(stored) = store.plan()? else {
        return Ok(None);
    };
    let current = store::basis(&store.document()?, own) == stored.basis;
    // A plan of an older version of the program is as good as none.
    let plan = serde_json::from_str::<Plan>(&stored.plan).ok();
    Ok(plan
        .filter(|plan| plan.format == plan::FORMAT)
        .map(|plan| (plan, current)))
}

/// What is said where a file stands in the way.
pub fn there(path: &Path) -> Failure {
    Failure::input(
        format!("{} is there already; it was not changed", path.display()),
        "choose another name, or move it away",
    )
}

/// Writes a file as a whole: what was there before stays until all of it is on the disk.
pub fn whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let written = || -> io::Result<()> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".spadework-");
        // A file that stays is as open to others as any that the user makes.
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let mut file = builder.tempfile_in(folder)?;
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        // Rights and links of the file that is replaced stay as they are.
        let to = match path.exists() {
            true => fs::canonicalize(path)?,
            false => path.to_owned(),
        };
        if let Ok(about) = fs::metadata(&to) {
            fs::set_permissions(file.path(), about.permissions())?;
        }
        file.persist(&to)?;
        Ok(())
    };
    written().map_err(|error| {
        Failure::system(
            format!("{} cannot be written: {error}", path.display()),
            "check the path, the rights and the room on the disk; what was there before still is",
        )
    })
}
