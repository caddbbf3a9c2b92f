//! The plan on paper.
