//! Steiner trees in graphs, several groups sharing edges, with a proven lower bound.
