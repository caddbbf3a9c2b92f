//! The plan drawn to scale.
