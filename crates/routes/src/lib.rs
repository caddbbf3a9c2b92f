//! Stretches of trench, what lies in each, and the proven gap.
mod network;
pub use network::*;
pub use ground::{Blocked, StretchGround, Zone};
