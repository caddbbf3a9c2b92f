//! Tables, on paper and for a spreadsheet.

use crate::SheetError;
use quantity::{Amount, Style, Units};
use serde::Serialize;

/// The names of all tables that the sheets of any job hold.
pub const TABLES: [&str; 19] = [
    "methods",
    "machines",
    "dig-area",
    "services",
    "test-holes",
    "staking-list",
    "fixed-points",
    "cut-list",
    "valves",
    "wire",
    "splices",
    "material-order",
    "cutting-list",
    "day-plan",
    "trench-check",
    "test-record",
    "backfill-record",
    "as-built-points",
    "as-built-stretches",
];

/// A table; on paper numbers have commas between thousands, in a spreadsheet they are bare.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Table {
    /// Its name, and that of its file without `.csv`.
    pub name: &'static str,
    /// Its heading; empty if the sheet says it.
    pub title: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// What stands in it.
    pub entries: Vec<Entry>,
}

/// A column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Column {
    /// Its head.
    pub title: String,
    /// The unit of all its numbers; empty if there is none.
    pub unit: String,
    /// Where its words stand.
    pub align: Align,
    /// How wide it is.
    pub width: Width,
    #[serde(skip)]
    head: String,
}

/// Where the words of a column stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Align {
    /// On the left.
    Left,
    /// On the right, as numbers do.
    Right,
    /// In the middle.
    Center,
}

/// How wide a column is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Width {
    /// As its words need it.
    Fit,
    /// So many parts of what the others leave.
    Share(u8),
    /// Millimetres.
    Fixed(f64),
}

/// A part of a table.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Entry {
    /// Words over the rows that follow.
    Group {
        /// The words.
        words: String,
    },
    /// A row.
    Row {
        /// A cell for every column.
        cells: Vec<Cell>,
        /// Words under it; empty if there are none.
        note: String,
    },
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Cell {
    /// Words, or a number as it is read.
    Text(String),
    /// A number as it is read on paper, and bare.
    Number(#[serde(serialize_with = "shown")] Number),
    /// A box to tick.
    Tick,
}

/// A number as it is read on paper, and bare.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Number {
    shown: String,
    bare: String,
}

fn shown<S: serde::Serializer>(number: &Number, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&number.shown)
}

impl Cell {
    /// Words.
    pub fn text(words: impl Into<String>) -> Self {
        Self::Text(words.into())
    }

    /// Nothing, or room to write.
    pub fn blank() -> Self {
        Self::Text(String::new())
    }

    /// A number without its unit, which stands in the head of the column.
    pub fn number(amount: Amount, units: Units) -> Self {
        Self::Number(Number {
            shown: amount.parts(units).0,
            bare: layers::bare(amount, units),
        })
    }

    /// A number that is written otherwise on paper, such as to a quarter of an inch.
    pub fn written(shown: String, amount: Amount, units: Units) -> Self {
        Self::Number(Number {
            shown,
            bare: layers::bare(amount, units),
        })
    }

    fn bare(&self) -> &str {
        match self {
            Self::Text(words) => words,
            Self::Number(number) => &number.bare,
            Self::Tick => "",
        }
    }
}

impl Column {
    fn new(title: &str, unit: &str, align: Align, width: Width) -> Self {
        Self {
            title: title.to_owned(),
            unit: unit.to_owned(),
            align,
            width,
            head: slug(title),
        }
    }

    /// A column of short words.
    pub fn left(title: &str) -> Self {
        Self::new(title, "", Align::Left, Width::Fit)
    }

    /// A column of words that are broken into lines, with a share of the width that is left.
    pub fn words(title: &str, share: u8) -> Self {
        Self::new(title, "", Align::Left, Width::Share(share))
    }

    /// A column of counts and other numbers without a unit.
    pub fn right(title: &str) -> Self {
        Self::new(title, "", Align::Right, Width::Fit)
    }

    /// A column of measures.
    pub fn measure(title: &str, style: Style, units: Units) -> Self {
        let unit = Amount::new(0.0, style).parts(units).1;
        Self {
            head: layers::head(&slug(title), style, units),
            ..Self::new(title, unit, Align::Right, Width::Fit)
        }
    }

    /// A column of sums of money.
    pub fn money(title: &str, currency: &str) -> Self {
        Self {
            head: format!("{}_{}", slug(title), currency.to_lowercase()),
            ..Self::new(title, currency, Align::Right, Width::Fit)
        }
    }

    /// A column of boxes to tick.
    pub fn tick(title: &str) -> Self {
        Self::new(title, "", Align::Center, Width::Fit)
    }

    /// A column to fill in by hand, so many millimetres wide.
    pub fn blank(title: &str, width: f64) -> Self {
        Self::new(title, "", Align::Left, Width::Fixed(width))
    }

    /// The same with a unit in its head.
    #[must_use]
    pub fn of(self, unit: &str) -> Self {
        Self {
            unit: unit.to_owned(),
            ..self
        }
    }
}

/// Words as a column of a spreadsheet is called.
fn slug(words: &str) -> String {
    let parts = words
        .split(|c: char| !c.is_ascii_alphanumeric())
        .filter(|part| !part.is_empty());
    let parts: Vec<String> = parts.map(str::to_lowercase).collect();
    parts.join("_")
}

impl Table {
    /// A table without rows yet.
    pub fn new(name: &'static str, columns: Vec<Column>) -> Self {
        Self {
            name,
            title: String::new(),
            columns,
            entries: Vec::new(),
        }
    }

    /// The same under a heading.
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            ..self
        }
    }

    /// Adds words over the rows that follow.
    pub fn group(&mut self, words: impl Into<String>) {
        let words = words.into();
        self.entries.push(Entry::Group { words });
    }

    /// Adds a row; it has a cell for every column.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.noted(cells, String::new());
    }

    /// Adds a row with words under it.
    pub fn noted(&mut self, cells: Vec<Cell>, note: String) {
        debug_assert_eq!(cells.len(), self.columns.len(), "{}", self.name);
        self.entries.push(Entry::Row { cells, note });
    }

    /// The name of its file.
    pub fn file(&self) -> String {
        format!("{}.csv", self.name)
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The table for a spreadsheet: a line of heads, then a line for every row. What stands over rows is a
    /// column before the others, what stands under them one behind.
    ///
    /// # Errors
    /// If the writer refuses it, which no table should make it do.
    pub fn csv(&self) -> Result<String, SheetError> {
        let refused =
            |error: &dyn std::fmt::Display| SheetError::Table(self.name, error.to_string());
        let mut writer = csv::Writer::from_writer(Vec::new());
        for line in self.lines() {
            writer.write_record(&line).map_err(|e| refused(&e))?;
        }
        let bytes = writer.into_inner().map_err(|e| refused(&e))?;
        String::from_utf8(bytes).map_err(|e| refused(&e))
    }

    fn lines(&self) -> Vec<Vec<String>> {
        let is_noted = |entry: &Entry| matches!(entry, Entry::Row { note, .. } if !note.is_empty());
        let grouped = self
            .entries
            .iter()
            .any(|e| matches!(e, Entry::Group { .. }));
        let noted = self.entries.iter().any(is_noted);
        let line = |group: &str, cells: Vec<&str>, note: &str| {
            let group = grouped.then_some(group);
            let note = noted.then_some(note);
            let all = group.into_iter().chain(cells).chain(note);
            all.map(str::to_owned).collect()
        };
        let heads = self.columns.iter().map(|c| c.head.as_str()).collect();
        let mut lines: Vec<Vec<String>> = vec![line("group", heads, "note")];
        let mut over = "";
        for entry in &self.entries {
            match entry {
                Entry::Group { words } => over = words,
                Entry::Row { cells, note } => {
                    let cells = cells.iter().map(Cell::bare).collect();
                    lines.push(line(over, cells, note));
                }
            }
        }
        lines
    }
}
