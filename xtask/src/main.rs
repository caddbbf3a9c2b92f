//! The checks of the project behind one command.
fn main() {}
