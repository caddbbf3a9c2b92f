//! Where pipe may lie, what the ground is like at a place, and which machine can get there.
