//! DXF: the drawing exchange format of many drawing programs, as text.
//!
//! [`read`] takes the tags (pairs of group code and value) apart itself, line by line: so its memory stays a small
//! multiple of the file, its findings name lines, and whatever the bytes, it ends. [`write`](fn@write) puts the
//! features of a job on layers named by kind, with id and properties as extended data, so that reading them gives
//! the same features; what a plan draws goes on layers of its own.

mod blocks;
mod curves;
mod drawing;
mod entity;
mod head;
mod marks;
mod read;
mod tags;
mod write;

pub use read::read;
pub use write::{Written, write};

/// How findings call the file.
pub(crate) const SUBJECT: &str = "DXF file";
/// The name under which our extended data stand.
const APPLICATION: &str = "SPADEWORK";

#[cfg(test)]
mod tests;
