//! Tasks in order of precedence, working days, machines per day.
mod results;
pub use results::*;
