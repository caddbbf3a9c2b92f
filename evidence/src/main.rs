//! Published values held against the crates.
fn main() {}
