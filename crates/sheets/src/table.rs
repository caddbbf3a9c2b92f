//! Tables, on paper and for a spreadsheet.

use crate::SheetError;
use crate::world::run_of;
use quantity::{Amount, Style, Units};
use serde::Serialize;
use std::borrow::Cow;

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

/// How many of the widest cells of a column are measured.
const WIDEST: usize = 3;

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
    /// The widest of what stands in a column that is as wide as its words.
    widest: Vec<String>,
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
        /// What stands under it, or under its group.
        note: Vec<Remark>,
    },
    /// Words under the rows of a group.
    Foot {
        /// Each by itself.
        words: Vec<String>,
    },
}

/// Words that belong to a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Remark {
    /// The words.
    pub words: String,
    /// Where they stand on paper; in a spreadsheet all of them stand in the row.
    pub stands: Stands,
}

/// Where a remark stands on paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Stands {
    /// Under its row, in bold: it must not be passed over.
    Loud,
    /// Under its row.
    Plain,
    /// Once under the rows of its group, with the names of those that it belongs to.
    Foot,
}

impl Remark {
    /// Words that explain.
    pub fn plain(words: impl Into<String>) -> Self {
        Self {
            words: words.into(),
            stands: Stands::Plain,
        }
    }

    /// Words that must not be passed over.
    pub fn loud(words: impl Into<String>) -> Self {
        Self {
            words: words.into(),
            stands: Stands::Loud,
        }
    }

    /// Words that several rows of a group may have in common.
    pub fn shared(words: impl Into<String>) -> Self {
        Self {
            words: words.into(),
            stands: Stands::Foot,
        }
    }
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
    /// Names, each with so many boxes to tick.
    Boxes(Vec<Boxes>),
}

/// A name with boxes to tick.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Boxes {
    /// The name.
    pub name: String,
    /// How many.
    pub boxes: u32,
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

    fn bare(&self) -> Cow<'_, str> {
        match self {
            Self::Text(words) => words.into(),
            Self::Number(number) => (&number.bare).into(),
            Self::Tick => "".into(),
            Self::Boxes(all) => {
                let names: Vec<&str> = all.iter().map(|of| of.name.as_str()).collect();
                names.join(", ").into()
            }
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
            widest: Vec::new(),
            head: slug(title),
        }
    }

    /// Takes a cell of this column into account for its width, so that the typesetter need not measure them all.
    fn fit(&mut self, cell: &Cell) {
        if self.width != Width::Fit {
            return;
        }
        let shown = match cell {
            Cell::Text(words) => words,
            Cell::Number(number) => &number.shown,
            Cell::Tick | Cell::Boxes(_) => return,
        };
        if shown.is_empty() || self.widest.contains(shown) {
            return;
        }
        self.widest.push(shown.clone());
        self.widest.sort_by(|a, b| run_of(b).total_cmp(&run_of(a)));
        // Kerning may make the second or third the widest on paper.
        self.widest.truncate(WIDEST);
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
        self.noted(cells, Vec::new());
    }

    /// Adds a row with words under it.
    pub fn noted(&mut self, cells: Vec<Cell>, note: Vec<Remark>) {
        debug_assert_eq!(cells.len(), self.columns.len(), "{}", self.name);
        for (column, cell) in self.columns.iter_mut().zip(&cells) {
            column.fit(cell);
        }
        self.entries.push(Entry::Row { cells, note });
    }

    /// Adds words under the rows of a group.
    pub fn foot(&mut self, words: Vec<String>) {
        if !words.is_empty() {
            self.entries.push(Entry::Foot { words });
        }
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
        let line = |group: &str, cells: Vec<Cow<str>>, note: &str| {
            let group = grouped.then_some(group.into());
            let note = noted.then_some(note.into());
            let all = group.into_iter().chain(cells).chain(note);
            all.map(Cow::into_owned).collect()
        };
        let heads = self
            .columns
            .iter()
            .map(|c| c.head.as_str().into())
            .collect();
        let mut lines: Vec<Vec<String>> = vec![line("group", heads, "note")];
        let mut over = "";
        for entry in &self.entries {
            match entry {
                Entry::Group { words } => over = words,
                Entry::Foot { .. } => {}
                Entry::Row { cells, note } => {
                    let cells = cells.iter().map(Cell::bare).collect();
                    let note: Vec<&str> = note.iter().map(|remark| remark.words.as_str()).collect();
                    lines.push(line(over, cells, &note.join("; ")));
                }
            }
        }
        lines
    }
}
