//! From a job to a plan: runs the stages until the cost stops improving.
mod results;
pub use results::*;
