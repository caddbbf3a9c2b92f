//! What sheets are made of.

use crate::Table;
use drawing::Space;
use quantity::Units;
use serde::Serialize;

/// Paper, millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Paper {
    /// From left to right.
    pub width: f64,
    /// From top to bottom.
    pub height: f64,
}

/// Kept free at the sides of the paper; what office printers cannot print on is less.
const SIDE: f64 = 12.0;
/// Taken at the top, by the head of the sheet with its border.
const TOP: f64 = 27.0;
/// Taken at the bottom, by the foot with its border.
const BOTTOM: f64 = 19.0;

impl Paper {
    /// 8.5 in × 11 in, ANSI/ASME Y14.1 size A.
    pub const LETTER: Self = Self::new(215.9, 279.4);
    /// 11 in × 17 in, ANSI/ASME Y14.1 size B.
    pub const TABLOID: Self = Self::new(279.4, 431.8);
    /// ISO 216.
    pub const A4: Self = Self::new(210.0, 297.0);
    /// ISO 216.
    pub const A3: Self = Self::new(297.0, 420.0);

    const fn new(width: f64, height: f64) -> Self {
        Self { width, height }
    }

    /// The paper that readers of these units have at hand.
    pub fn usual(units: Units) -> Self {
        match units {
            Units::Us => Self::LETTER,
            Units::Si => Self::A4,
        }
    }

    /// The next larger paper of these units.
    pub fn large(units: Units) -> Self {
        match units {
            Units::Us => Self::TABLOID,
            Units::Si => Self::A3,
        }
    }

    /// The same paper, long side across.
    #[must_use]
    pub fn across(self) -> Self {
        Self {
            width: self.width.max(self.height),
            height: self.width.min(self.height),
        }
    }

    /// What a sheet's head and foot leave of it for a drawing.
    pub fn space(self) -> Space {
        Space {
            width: self.width - 2.0 * SIDE,
            // A hair less, so that rounding does not push the drawing off its page.
            height: self.height - TOP - BOTTOM - 0.2,
        }
    }
}

/// What stands on one kind of paper; it takes as many pages as it needs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Page {
    /// The title in the head of every page.
    pub title: String,
    /// The paper.
    pub paper: Paper,
    /// What stands on it.
    pub blocks: Vec<Block>,
}

/// A part of a sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", content = "of", rename_all = "kebab-case")]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Words(String),
    /// Small words that explain a table.
    Note(String),
    /// Points of a list.
    Points(Vec<String>),
    /// Points with a box to tick.
    Checks(Vec<String>),
    /// Names with what belongs to them.
    Facts(Vec<Fact>),
    /// A few figures that are read first.
    Figures(Vec<Fact>),
    /// What may hurt someone.
    Caution(Vec<String>),
    /// Lines to fill in by hand, those of an inner list side by side.
    Lines(Vec<Vec<String>>),
    /// A table.
    Table(Table),
    /// A drawing at its size.
    Drawing(Drawing),
    /// Small drawings, each with words under it, as many side by side as have room.
    Details(Vec<Drawing>),
    /// Side by side, of equal width.
    Columns(Vec<Vec<Block>>),
    /// Not parted by the end of a page.
    Together(Vec<Block>),
    /// What follows begins a page.
    Break,
}

/// A name with what belongs to it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// What it is.
    pub name: String,
    /// In words or figures.
    pub is: String,
}

impl Fact {
    /// A name with what belongs to it.
    pub fn new(name: impl Into<String>, is: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            is: is.into(),
        }
    }
}

/// A drawing that is printed at its size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drawing {
    /// SVG in millimetres.
    #[serde(skip)]
    pub svg: String,
    /// Where the templates find it; filled in when the sheets are put together.
    #[serde(rename = "file")]
    pub(crate) file: String,
    /// Millimetres.
    pub width: f64,
    /// Millimetres.
    pub height: f64,
    /// What it shows; empty if it says it itself.
    pub words: String,
}

impl Drawing {
    /// A drawing of a width and height in millimetres.
    pub fn new(svg: String, width: f64, height: f64, words: impl Into<String>) -> Self {
        Self {
            svg,
            file: String::new(),
            width,
            height,
            words: words.into(),
        }
    }

    fn take(&mut self, files: &mut Vec<(String, String)>) {
        self.file = format!("/drawing-{}.svg", files.len() + 1);
        files.push((self.file.clone(), std::mem::take(&mut self.svg)));
    }
}

/// Gives every drawing of these blocks a file, and takes the drawings down in their order.
pub(crate) fn number(blocks: &mut [Block], files: &mut Vec<(String, String)>) {
    for block in blocks {
        match block {
            Block::Drawing(drawing) => drawing.take(files),
            Block::Details(drawings) => drawings.iter_mut().for_each(|d| d.take(files)),
            Block::Columns(columns) => columns.iter_mut().for_each(|c| number(c, files)),
            Block::Together(blocks) => number(blocks, files),
            _ => {}
        }
    }
}

/// The tables among blocks, in their order.
pub(crate) fn tables(blocks: Vec<Block>) -> Vec<Table> {
    let each = blocks.into_iter().map(|block| match block {
        Block::Table(table) => vec![table],
        Block::Columns(columns) => columns.into_iter().flat_map(tables).collect(),
        Block::Together(blocks) => tables(blocks),
        _ => Vec::new(),
    });
    each.flatten().collect()
}
