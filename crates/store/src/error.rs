//! Why a job file cannot be opened or saved, and what to do about it.

use std::io;
use std::path::PathBuf;

/// Why a job file cannot be opened or saved.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Nothing is there.
    #[error("there is no job file {}", .0.display())]
    NotThere(PathBuf),
    /// Something is there already.
    #[error("{} is there already", .0.display())]
    There(PathBuf),
    /// It is no database at all.
    #[error("{} is no GeoPackage: it does not begin as an SQLite database does", .0.display())]
    NotADatabase(PathBuf),
    /// A database or a GeoPackage of another program.
    #[error("{} is {what} of another program, not a job file; it was not touched", .path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
        /// `a GeoPackage` or `an SQLite database`.
        what: &'static str,
    },
    /// Written by a newer version of this program.
    #[error(
        "{} was written by a newer version of this program (its form is {found}, this program knows up \
         to {known}); it was not touched",
        .path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// The form that it has.
        found: i64,
        /// The newest form that this program knows.
        known: i64,
    },
    /// Something in it is not as it was written.
    #[error("{} is damaged: {}", .path.display(), .what.join("; "))]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong, in words.
        what: Vec<String>,
    },
    /// Another program has it open.
    #[error("{} is in use by another program", .0.display())]
    InUse(PathBuf),
    /// The system refused.
    #[error("{} cannot be {doing}: {source}", .path.display())]
    System {
        /// The file.
        path: PathBuf,
        /// `read` or `written`.
        doing: &'static str,
        /// What the system says.
        source: io::Error,
    },
    /// The database refused.
    #[error("{} cannot be {doing}: {source}", .path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// `read` or `written`.
        doing: &'static str,
        /// What the database says.
        source: rusqlite::Error,
    },
}

impl StoreError {
    /// What to do about it.
    pub fn mend(&self) -> &'static str {
        match self {
            Self::NotThere(_) => "check the path",
            Self::There(_) => "choose another name, or move the old file away",
            Self::NotADatabase(_) => {
                "give a job file (.gpkg), or import what it is with `spadework import`"
            }
            Self::Foreign { .. } => {
                "save its layers as GeoJSON in the program that made it, and import that with `spadework import`"
            }
            Self::Newer { .. } => "use the newer version of the program",
            Self::Damaged { .. } => {
                "keep a copy of it as it is, and go back to the last good copy; the text form of a job \
                 (`spadework export`) can be mended by hand"
            }
            Self::InUse(_) => "close it in the other program, then try again",
            Self::System { .. } | Self::Database { .. } => {
                "check the rights and the room on the disk; what was saved before still is"
            }
        }
    }

    /// Whether the file is at fault, and not the machine.
    pub fn is_of_the_file(&self) -> bool {
        !matches!(
            self,
            Self::System { .. } | Self::Database { .. } | Self::InUse(_)
        )
    }
}
