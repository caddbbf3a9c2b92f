//! Which heads run together behind one valve, and on which manifold it sits.

mod between;
mod bound;
mod cost;
mod exact;
mod pack;
mod pipes;
mod rng;
pub mod scheme;
mod search;
mod solve;
mod state;
mod tree;

#[cfg(test)]
mod tests;

pub use cost::Parts;
pub use scheme::{Bore, Grouped, Head, Prices, Scheme, Set};
pub use solve::solve;
