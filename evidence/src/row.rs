//! The rows and how they are read.

use std::fmt;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result, bail};
use serde::Deserialize;

/// The stages, in the order of the work; each has its file of rows.
pub const STAGES: [&str; 11] = [
    "hydraulics",
    "wire",
    "dimensions",
    "digging",
    "ground",
    "routes",
    "takeoff",
    "crew",
    "risk",
    "price",
    "exchange",
];

/// What an expected value rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
pub enum Status {
    /// Read in a published text.
    #[serde(rename = "confirmed")]
    Confirmed,
    /// Given by a general-purpose library, which the source names with its version.
    #[serde(rename = "computed-by-library")]
    Library,
    /// Custom of the trade.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// Worked out by the formula under test.
    #[serde(rename = "computed")]
    Computed,
    /// Remembered; no text was read.
    #[serde(rename = "from memory")]
    FromMemory,
}

impl Status {
    /// All of them, those that count first.
    pub const ALL: [Self; 5] = [
        Self::Confirmed,
        Self::Library,
        Self::CommonPractice,
        Self::Computed,
        Self::FromMemory,
    ];

    /// Whether a row of this status is evidence.
    pub fn counts(self) -> bool {
        matches!(self, Self::Confirmed | Self::Library | Self::CommonPractice)
    }
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Confirmed => "confirmed",
            Self::Library => "computed-by-library",
            Self::CommonPractice => "common practice",
            Self::Computed => "computed",
            Self::FromMemory => "from memory",
        })
    }
}

/// One expected value.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// The stage that it checks, one of [`STAGES`].
    pub stage: String,
    /// What is computed, a name of the registry.
    pub quantity: String,
    /// The inputs: `key=value unit; key=value unit`.
    pub inputs: String,
    /// The expected number, or a word.
    pub expected: String,
    /// The unit of the expected number; empty for a plain number or a word.
    pub unit: String,
    /// How near the computed value has to be, see [`crate::Tolerance`].
    pub tolerance: String,
    /// Where the expected value is published.
    pub source: String,
    /// What it rests on.
    pub status: Status,
    /// What a reader should know, such as where sources disagree.
    pub note: String,
    /// File and line, for messages.
    #[serde(skip)]
    pub place: String,
}

/// Reads all rows of a folder, stage after stage.
///
/// # Errors
/// Names the file and line that does not read, and any file that is not of a stage.
pub fn read_folder(folder: &Path) -> Result<Vec<Row>> {
    let missing = || format!("cannot read the rows in {}", folder.display());
    for entry in fs::read_dir(folder).with_context(missing)? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if !STAGES.iter().any(|stage| name == format!("{stage}.csv")) {
            bail!(
                "{name} is of no stage; the files are called {}",
                STAGES.join(".csv, ")
            );
        }
    }
    let mut rows = Vec::new();
    for stage in STAGES {
        let path = folder.join(format!("{stage}.csv"));
        if path.exists() {
            let text = fs::read_to_string(&path).with_context(missing)?;
            rows.extend(read_text(stage, &text)?);
        }
    }
    Ok(rows)
}

/// Reads the rows of one stage's file.
///
/// # Errors
/// Names the line that does not read, and what is wrong with it.
pub fn read_text(stage: &str, text: &str) -> Result<Vec<Row>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers()?.clone();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record?;
        let line = record.position().map_or(0, csv::Position::line);
        let place = format!("{stage}.csv line {line}");
        let mut row: Row = record
            .deserialize(Some(&header))
            .with_context(|| place.clone())?;
        if row.stage != stage {
            bail!(
                "{place}: a row of the stage \"{}\" stands in the wrong file",
                row.stage
            );
        }
        if row.source.trim().is_empty() {
            bail!("{place}: the row names no source; write it, or `trade custom`");
        }
        row.place = place;
        rows.push(row);
    }
    Ok(rows)
}
