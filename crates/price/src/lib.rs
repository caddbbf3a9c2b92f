//! Cost lines and the price, to the cent.
mod results;
pub use results::*;
