//! Pipe sizes, pressures, velocities, surge and wire gauges.
mod results;
pub use results::*;
