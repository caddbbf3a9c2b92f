//! Published values held against the crates.
//!
//! Takes rows (`rows/*.csv`, one file for each stage): a quantity, its inputs, what it is expected
//! to be, how near, where that is published. Asks the crate that a plan uses for the same thing,
//! and says which rows hold.
//!
//! What always holds: a row whose quantity is unknown, whose inputs do not read or are left over,
//! or whose unit does not fit does not hold; a run in which a stage has no row that counts has
//! failed.
//!
//! # Words
//! - *row*: one expected value with its source.
//! - *held*: computed and expected lie within the tolerance.
//! - *counts*: the expected value was not worked out from the formula under test nor remembered.

mod inputs;
mod registry;
mod render;
mod row;
mod run;
mod stages;
mod tolerance;
mod value;

pub use inputs::Inputs;
pub use registry::{Function, known, value_of};
pub use render::{render, summary};
pub use row::{Row, STAGES, Status, read_folder, read_text};
pub use run::{Outcome, Verdict, run, shortcomings};
pub use tolerance::Tolerance;
pub use value::Value;
