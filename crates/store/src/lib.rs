//! The job as one file: an OGC GeoPackage, which is an SQLite database with tables that any geographic
//! information system opens as layers.
//!
//! A [`Store`] is an open job file. [`Store::save`] puts a whole [`Document`] into it in one transaction: when it
//! returns, what was saved survives the death of the program and of the machine; when it does not return, the
//! file is as it was before. What is read is what was written, also while it is not yet a job that could be
//! planned. A file of another program, or of a newer version of this one, is told apart and never touched.
//!
//! Shapes are stored in the plane of the job, in its length unit. Knows nothing of the trade.

mod crs;
mod error;
mod functions;
mod geometry;
mod history;
mod open;
mod plan;
mod rows;
mod save;
mod schema;
mod settings;
#[cfg(test)]
mod tests;
mod underlay;

pub use error::StoreError;
pub use history::{Change, Line, Sort, There, Variant};
pub use open::{LARGEST_FILE, is_database};
pub use plan::{LARGEST_PLAN, StoredPlan, basis};
pub use underlay::Picture;

use job::Document;
use rows::Table;
use rusqlite::Connection;
use serde_json::Value;
use settings::Settings;
use std::path::{Path, PathBuf};

/// An open job file.
#[derive(Debug)]
pub struct Store {
    path: PathBuf,
    connection: Connection,
    tables: Vec<Table>,
}

impl Store {
    /// Opens a job file to be changed; a file of an older form is brought to the newest.
    ///
    /// # Errors
    /// If it is not there, not a job file, of a newer form, damaged, or in use by another program.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        open::to_change(path)
    }

    /// Opens a job file to be read; nothing in it is changed, whatever its form.
    ///
    /// # Errors
    /// As [`Store::open`].
    pub fn look(path: &Path) -> Result<Self, StoreError> {
        open::to_read(path)
    }

    /// Makes a new job file that holds a document. It is there as a whole or not at all.
    ///
    /// # Errors
    /// If something of that name is there, or the system refuses.
    pub fn create(path: &Path, document: &Document) -> Result<Self, StoreError> {
        if path.exists() {
            return Err(StoreError::There(path.to_owned()));
        }
        let made = open::beside(path)?;
        let mut store = open::fresh(&made)?;
        store.save(document)?;
        store.close()?;
        made.persist_noclobber(path)
            .map_err(|error| match error.error.kind() {
                std::io::ErrorKind::AlreadyExists => StoreError::There(path.to_owned()),
                _ => StoreError::System {
                    path: path.to_owned(),
                    doing: "written",
                    source: error.error,
                },
            })?;
        Self::open(path)
    }

    /// Where the file is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What the file holds.
    ///
    /// # Errors
    /// If something in it cannot be read: all of it, in words.
    pub fn document(&self) -> Result<Document, StoreError> {
        let mut wrong = Vec::new();
        let document = self.read(&mut wrong).map_err(|error| self.unread(error))?;
        match wrong.is_empty() {
            true => Ok(document),
            false => Err(StoreError::Damaged {
                path: self.path.clone(),
                what: wrong,
            }),
        }
    }

    fn read(&self, wrong: &mut Vec<String>) -> rusqlite::Result<Document> {
        // One transaction, so that what another program saves meanwhile is seen wholly or not at all.
        let transaction = self.connection.unchecked_transaction()?;
        let mut document = Document::default();
        Settings::read(&transaction)?.put_into(&mut document, wrong);
        let mut features = Vec::new();
        for (number, table) in self.tables.iter().enumerate() {
            for (fid, row) in save::rows(&transaction, table)? {
                let read = row.and_then(|row| Ok((row.position, table.feature(&row)?)));
                match read {
                    Ok((position, feature)) => {
                        features.push((order(position), number, fid, feature))
                    }
                    Err(what) => wrong.push(format!("row {fid} of `{}` {what}", table.kind.name)),
                }
            }
        }
        for (fid, position, text) in save::unfiled(&transaction)? {
            match serde_json::from_str::<Value>(&text) {
                Ok(feature) => features.push((order(position), self.tables.len(), fid, feature)),
                Err(error) => wrong.push(format!("row {fid} of `unfiled` is no JSON: {error}")),
            }
        }
        features.sort_by_key(|&(position, table, fid, _)| (position, table, fid));
        document.features = features.into_iter().map(|(.., feature)| feature).collect();
        Ok(document)
    }

    /// Puts the connection away; nothing but the one file stays.
    ///
    /// # Errors
    /// If the system refuses.
    pub fn close(self) -> Result<(), StoreError> {
        let path = self.path;
        self.connection
            .close()
            .map_err(|(_, source)| open::refused(&path, "written", source))
    }

    fn unread(&self, source: rusqlite::Error) -> StoreError {
        open::refused(&self.path, "read", source)
    }

    fn unwritten(&self, source: rusqlite::Error) -> StoreError {
        open::refused(&self.path, "written", source)
    }
}

/// Features without a position come last.
fn order(position: Option<i64>) -> (bool, i64) {
    (position.is_none(), position.unwrap_or_default())
}
