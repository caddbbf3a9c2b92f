//! The job: survey, system, practice and price book, read from a file and checked.
//!
//! Takes the text of a job file (see `docs/job-format.md`) and gives a [`Job`] in SI units in which
//! every id is unique, every number finite, every polygon simple and every reference resolved; or all
//! the [`Finding`]s that stand against it. Local rules ([`Practice`]) and prices ([`PriceBook`]) come
//! with complete defaults whose every number carries its source; a job may override any one of them.
//!
//! Does no I/O and computes nothing of the trade.
//!
//! # Words
//! - *circuit*: heads that run together behind one valve.
//! - *main*: pipe from the source to the valves, always under pressure; *lateral*: pipe behind a valve.
//! - *cover*: from the ground's surface down to the top of a pipe.
//! - *practice*: the local rules by which a crew works: covers, clearances, limits.

mod finding;
pub mod model;
mod place;
pub mod practice;
pub mod prices;
mod sample;
mod sourced;

mod read;

mod build;
mod change;
mod check;
mod curve;
mod document;
mod draft;
mod field;
mod file;
mod kind;
mod nearest;
mod overlay;
mod ring;
mod scan;
mod schema;
mod shape;

pub use change::{Step, steps_between};
pub use curve::Curve;
pub use document::{Document, KindParts, kinds, number};
pub use file::FORMAT;
pub use finding::{Finding, Severity};
pub use model::*;
pub use overlay::{DEFAULT_PRACTICE, DEFAULT_PRICES, Settings};
pub use place::Place;
pub use practice::Practice;
pub use prices::{Method, MethodId, PriceBook, ProfitBy, SetAsideBy, TaxClass, TaxOn};
pub use read::{LARGEST_FILE, ReadOptions, Reader, Reading, read};
pub use sample::sample;
pub use schema::schema;
pub use sourced::{Basis, Sourced};

/// The texts of all invented jobs.
pub const DEMOS: [&str; 5] = [DEMO, DEMO_COURTYARD, DEMO_HILLSIDE, DEMO_PARK, DEMO_GARDEN];
/// The text of an invented job in US customary units that makes every rule of the practice file count.
pub const DEMO: &str = include_str!("../data/demo.json");
/// The text of a smaller invented job in metric units: a courtyard house that no machine gets to.
pub const DEMO_COURTYARD: &str = include_str!("../data/demo-courtyard.json");
/// The text of an invented job in metric units: a stony hillside with a bank too steep to dig.
pub const DEMO_HILLSIDE: &str = include_str!("../data/demo-hillside.json");
/// The text of an invented job in US customary units: a large open park.
pub const DEMO_PARK: &str = include_str!("../data/demo-park.json");
/// The text of an invented job in metric units: a terraced school garden whose heads have no circuits yet.
pub const DEMO_GARDEN: &str = include_str!("../data/demo-garden.json");
