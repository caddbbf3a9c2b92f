//! What the property tests of several crates stand on.

#![allow(dead_code, clippy::unwrap_used)] // each suite takes a part of it

mod cases;
pub mod moved;
pub mod yard;

pub use cases::cases;
pub use routes::audit as checker;
