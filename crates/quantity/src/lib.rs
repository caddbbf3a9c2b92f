//! Quantities with their unit in the type, and how they are read and written.
