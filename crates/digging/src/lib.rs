//! Method, section and earthwork of each stretch, and which machines to hire.
mod results;
pub use results::*;
