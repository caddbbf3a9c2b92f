//! What was changed in a job, each change with the steps that take it back; and variants kept under a name.

use job::{Document, Step};
use rusqlite::{Connection, OptionalExtension, Transaction};

use crate::save::put;
use crate::{Store, StoreError};

/// What a change was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A change of its own.
    Edit,
    /// An earlier change taken back.
    Undo,
    /// A change taken back is made again.
    Redo,
    /// The job was brought back to what it was at an earlier version.
    Return,
    /// Another program had changed the file.
    Found,
}

impl Sort {
    const ALL: [(&'static str, Self); 5] = [
        ("edit", Self::Edit),
        ("undo", Self::Undo),
        ("redo", Self::Redo),
        ("return", Self::Return),
        ("found", Self::Found),
    ];

    /// Its name in the file.
    pub fn name(self) -> &'static str {
        let row = Self::ALL.iter().find(|(_, sort)| *sort == self);
        row.map_or("edit", |(name, _)| name)
    }

    fn of(name: &str) -> Option<Self> {
        let row = Self::ALL.iter().find(|(known, _)| *known == name);
        row.map(|&(_, sort)| sort)
    }
}

/// A change as it is written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What it was.
    pub sort: Sort,
    /// In words.
    pub label: String,
    /// The version that is taken back or made again, returned to, or joined: changes of one gesture join its first.
    pub of: Option<i64>,
    /// What was done.
    pub steps: Vec<Step>,
    /// What takes it back.
    pub back: Vec<Step>,
}

/// A line of the history.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its number; they grow.
    pub version: i64,
    /// When, in coordinated universal time (ISO 8601).
    pub at: String,
    /// What it was.
    pub sort: Sort,
    /// In words.
    pub label: String,
    /// The version that it takes back, makes again, returns to or joins.
    pub of: Option<i64>,
}

/// Steps that lead to a version, and those that take it back.
pub type There = (Vec<Step>, Vec<Step>);

/// A variant kept under a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variant {
    /// Its name.
    pub name: String,
    /// The version of the job that it is.
    pub version: i64,
    /// When it was kept.
    pub at: String,
    /// What its plan came to, in whatever words its user compares by.
    pub totals: String,
}

impl Store {
    /// Saves a document together with the change that led to it: both or neither. Gives the change's version.
    ///
    /// # Errors
    /// If the file is in use or cannot be written; it is then as it was before.
    pub fn record(&mut self, document: &Document, change: &Change) -> Result<i64, StoreError> {
        let texts = [&change.steps, &change.back].map(serde_json::to_string);
        let [Ok(steps), Ok(back)] = texts else {
            // Steps are plain JSON, which can always be written.
            return Err(self.unwritten(rusqlite::Error::InvalidQuery));
        };
        self.change(|to, tables| {
            put(to, tables, document)?;
            to.execute(
                "INSERT INTO history (at, sort, label, of, steps, back)
                 VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), ?1, ?2, ?3, ?4, ?5)",
                (change.sort.name(), &change.label, change.of, steps, back),
            )?;
            Ok(to.last_insert_rowid())
        })
    }

    /// The newest version; 0 if nothing was ever changed.
    ///
    /// # Errors
    /// If it cannot be read.
    pub fn version(&self) -> Result<i64, StoreError> {
        let newest = "SELECT coalesce(max(version), 0) FROM history";
        let found = self.connection.query_row(newest, [], |row| row.get(0));
        found.map_err(|error| self.unread(error))
    }

    /// Lines of the history before a version, newest first, `most` of them at most.
    ///
    /// # Errors
    /// If they cannot be read.
    pub fn history(&self, before: i64, most: usize) -> Result<Vec<Line>, StoreError> {
        let read = || -> rusqlite::Result<Vec<Line>> {
            let mut statement = self.connection.prepare_cached(
                "SELECT version, at, sort, label, of FROM history WHERE version < ?1
                 ORDER BY version DESC LIMIT ?2",
            )?;
            let rows = statement.query_map((before, most as i64), |row| {
                Ok(Line {
                    version: row.get(0)?,
                    at: row.get(1)?,
                    sort: Sort::of(&row.get::<_, String>(2)?).unwrap_or(Sort::Edit),
                    label: row.get(3)?,
                    of: row.get(4)?,
                })
            })?;
            rows.collect()
        };
        read().map_err(|error| self.unread(error))
    }

    /// The steps of a version and those that take it back; nothing if there is no such version.
    ///
    /// # Errors
    /// If they cannot be read.
    pub fn steps(&self, version: i64) -> Result<Option<There>, StoreError> {
        let query = "SELECT steps, back FROM history WHERE version = ?1";
        let found = self.connection.query_row(query, [version], |row| {
            Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?))
        });
        let found = found.optional().map_err(|error| self.unread(error))?;
        let Some((steps, back)) = found else {
            return Ok(None);
        };
        let read = |text: &str| serde_json::from_str::<Vec<Step>>(text);
        match (read(&steps), read(&back)) {
            (Ok(steps), Ok(back)) => Ok(Some((steps, back))),
            (Err(error), _) | (_, Err(error)) => Err(StoreError::Damaged {
                path: self.path.clone(),
                what: vec![format!(
                    "version {version} of `history` is no JSON: {error}"
                )],
            }),
        }
    }

    /// A version and those that joined it, oldest first.
    ///
    /// # Errors
    /// If they cannot be read.
    pub fn joined(&self, first: i64) -> Result<Vec<i64>, StoreError> {
        let read = || -> rusqlite::Result<Vec<i64>> {
            let mut statement = self.connection.prepare_cached(
                "SELECT version FROM history WHERE version = ?1 OR (of = ?1 AND sort = 'edit') ORDER BY version",
            )?;
            let rows = statement.query_map([first], |row| row.get(0))?;
            rows.collect()
        };
        read().map_err(|error| self.unread(error))
    }

    /// Keeps a version under a name, in place of what had the name before.
    ///
    /// # Errors
    /// If the file is in use or cannot be written; it is then as it was before.
    pub fn keep(&mut self, name: &str, version: i64, totals: &str) -> Result<(), StoreError> {
        self.change(|to, _| {
            drop(to, name)?;
            to.execute(
                "INSERT INTO variant (name, version, at, totals)
                 VALUES (?1, ?2, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), ?3)",
                (name, version, totals),
            )?;
            Ok(())
        })
    }

    /// Forgets a variant; whether there was one.
    ///
    /// # Errors
    /// If the file is in use or cannot be written; it is then as it was before.
    pub fn forget(&mut self, name: &str) -> Result<bool, StoreError> {
        self.change(|to, _| drop(to, name))
    }

    /// All variants, in the order in which they were kept.
    ///
    /// # Errors
    /// If they cannot be read.
    pub fn variants(&self) -> Result<Vec<Variant>, StoreError> {
        let read = || -> rusqlite::Result<Vec<Variant>> {
            let query = "SELECT name, version, at, totals FROM variant ORDER BY fid";
            let mut statement = self.connection.prepare_cached(query)?;
            let rows = statement.query_map([], |row| {
                Ok(Variant {
                    name: row.get(0)?,
                    version: row.get(1)?,
                    at: row.get(2)?,
                    totals: row.get(3)?,
                })
            })?;
            rows.collect()
        };
        read().map_err(|error| self.unread(error))
    }

    /// A number that changes when another program has changed the file.
    ///
    /// # Errors
    /// If it cannot be read.
    pub fn touched(&self) -> Result<i64, StoreError> {
        touched(&self.connection).map_err(|error| self.unread(error))
    }
}

fn touched(connection: &Connection) -> rusqlite::Result<i64> {
    connection.query_row("PRAGMA data_version", [], |row| row.get(0))
}

fn drop(to: &Transaction<'_>, name: &str) -> rusqlite::Result<bool> {
    Ok(to.execute("DELETE FROM variant WHERE name = ?1", [name])? > 0)
}
