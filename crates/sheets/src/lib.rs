//! The plan on paper: what goes to the site, to the customer and to the inspector.
//!
//! Takes a job with its plan and gives one PDF of numbered sheets ([`pdf`]), the offer ([`offer_pdf`]), and
//! the tables of the sheets for a spreadsheet ([`tables`]). A sheet is a list of [`Block`]s on a [`Paper`];
//! templates typeset it. Words of the job travel to the templates as data alone, never as markup, and a
//! drawing stands on the paper at exactly its size, so that it is to scale when it is printed at 100 %.
//!
//! What always holds: the same job, plan and wish give the same bytes; the fonts are in the file; a table in
//! a spreadsheet is the very table of the sheet. Computes nothing of the trade and does no I/O.

mod block;
mod book;
mod cut_list;
mod days;
mod error;
mod letter;
mod locate;
mod material;
mod overview;
mod plan_sheets;
mod records;
mod sheet;
mod staking;
mod table;
mod talk;
mod told;
mod valves;
mod words;
mod world;

pub use block::{Block, Drawing, Fact, Page, Paper};
pub use error::SheetError;
pub use sheet::Sheet;
pub use table::{Align, Boxes, Cell, Column, Entry, Remark, Stands, TABLES, Table, Width};
pub use world::SheetWorld;

use job::Job;
use plan::Plan;
use quantity::Units;
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use told::Told;

/// What is asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// Only these sheets; all where none is named.
    pub only: Vec<Sheet>,
    /// The units to read in.
    pub units: Units,
    /// What this state of the job is called, for the head of every sheet.
    pub version: Option<String>,
}

impl Wanted {
    fn has(&self, sheet: Sheet) -> bool {
        self.only.is_empty() || self.only.contains(&sheet)
    }
}

/// The sheets as one PDF.
///
/// # Errors
/// If the typesetter refuses them, which no job should make it do.
pub fn pdf(job: &Job, plan: &Plan, wanted: &Wanted) -> Result<Vec<u8>, SheetError> {
    world(job, plan, wanted)?.pdf()
}

/// The same before they are laid out, for whoever looks at their boxes.
///
/// # Errors
/// If the data cannot be written down, which no job should bring about.
pub fn world(job: &Job, plan: &Plan, wanted: &Wanted) -> Result<SheetWorld, SheetError> {
    let told = Told::of(job, plan, wanted.units, wanted.version.as_deref());
    book::of(&told, book::Kind::Sheets, sheets(&told, wanted))
}

fn sheets(told: &Told, wanted: &Wanted) -> Vec<Page> {
    let sheets: Vec<Sheet> = Sheet::ALL
        .into_iter()
        .filter(|sheet| wanted.has(*sheet))
        .collect();
    // Most of the time goes into placing the names of the three drawings of the whole plan.
    let pages: Vec<Vec<Page>> = sheets
        .into_par_iter()
        .map(|sheet| sheet.pages(told))
        .collect();
    pages.into_iter().flatten().collect()
}

/// The offer to the customer as a PDF of its own.
///
/// # Errors
/// If the typesetter refuses it, which no job should make it do.
pub fn offer_pdf(
    job: &Job,
    plan: &Plan,
    units: Units,
    version: Option<&str>,
) -> Result<Vec<u8>, SheetError> {
    offer_world(job, plan, units, version)?.pdf()
}

/// The same before it is laid out.
///
/// # Errors
/// If the data cannot be written down, which no job should bring about.
pub fn offer_world(
    job: &Job,
    plan: &Plan,
    units: Units,
    version: Option<&str>,
) -> Result<SheetWorld, SheetError> {
    let told = Told::of(job, plan, units, version);
    book::of(&told, book::Kind::Offer, vec![letter::page(&told)])
}

/// The tables of all sheets, in the order of the sheets.
pub fn tables(job: &Job, plan: &Plan, units: Units) -> Vec<Table> {
    let told = Told::of(job, plan, units, None).undrawn();
    let pages = Sheet::ALL.into_iter().flat_map(|sheet| sheet.pages(&told));
    pages.flat_map(|page| block::tables(page.blocks)).collect()
}
