//! Pieces cut from stocks at least cost, with a proven lower bound.
