//! The material list: lengths, fittings, boxes, wire, bedding, sod.
mod results;
pub use results::*;
