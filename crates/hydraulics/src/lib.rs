//! Pipe sizes, pressures, velocities, surge and wire gauges.
