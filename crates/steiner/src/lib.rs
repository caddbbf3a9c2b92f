//! Steiner trees in graphs, several groups sharing edges, with a proven lower bound.
//!
//! **Comes in:** a [`Problem`]: an undirected graph whose edges have a `shared` cost and a
//! `length`, and groups of terminals, each with a rate. A group that uses an edge pays
//! `rate * length`; the `shared` cost of an edge is paid once, however many groups use it.
//!
//! **Goes out:** a [`Solution`]: one tree per group, the cost of all of them together, and a
//! bound that no solution can go below.
//!
//! **Always holds:** every tree joins all terminals of its group and contains no cycle;
//! `bound <= cost`; the same problem and the same [`Limits`] give the same answer, on every
//! machine; [`check`] recomputes connection and cost from the edge lists alone.
//!
//! **Does not do:** it knows no coordinates, adds no nodes, reads no files and looks at no clock.
//! It does not promise the optimum: [`Solution::optimal`] says when the bound has reached the
//! cost, and [`Solution::gap`] how far apart the two are otherwise.
//!
//! # How
//!
//! One group with a bound wanted: `single` reduces the graph, climbs to a bound, and proves by
//! cutting planes and branching. Several groups, or trees only: `search` and `branch`.
//!
//! # Units
//!
//! Costs are in whatever unit the caller uses; `rate * length` must be in the unit of `shared`.

mod ascent;
mod bits;
mod branch;
mod check;
mod cuts;
mod few;
mod fix;
mod flow;
mod grow;
mod guide;
mod improve;
mod instance;
mod many;
mod mend;
mod problem;
mod reach;
mod rip;
mod search;
mod shake;
mod single;
mod solve;
mod state;
pub mod text;
mod tidy;
mod unions;
mod unit;

pub use check::{Fault, check};
pub use problem::{Edge, Group, Problem, ProblemError};
pub use reach::{Unreachable, unreachable_terminals};
pub use solve::{Aim, Limits, Progress, Solution, solve, solve_from};
