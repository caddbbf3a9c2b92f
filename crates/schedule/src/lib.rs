//! Schedules of tasks that share limited resources, with a proven lower bound.
//!
//! **Comes in:** a [`Problem`]: [`Task`]s with a duration, demands of resources, a release, a
//! deadline and a weight; [`Resource`]s of which there is so much, from certain times on more or
//! less; and [`Lag`]s from start to start, least and most.
//!
//! **Goes out:** a [`Solution`]: a start for each task, the makespan, a bound that no schedule can
//! go below, and among the schedules of that makespan one with a small weighted sum of starts.
//!
//! **Always holds:** the schedule keeps everything ([`check`] shares no code with the search);
//! `bound <= makespan`; the same problem and the same [`Limits`] give the same answer, on every
//! machine; all times multiplied by a number give the same schedule multiplied by it.
//!
//! **Does not do:** a task once started is not broken off; it reads no files and looks at no clock.
//! It does not promise the optimum: [`Solution::optimal`] says when it is proven.
//!
//! # How
//!
//! Schedules come from rules of priority and a genetic search over orders of tasks, each pushed to
//! the right and back (`generate`, `breed`). Longest ways, the work of each resource, and tasks that
//! must all come one after another give a first bound (`bound`). A search that learns from its dead ends (`learn`) closes what remains from
//! both sides: it looks for a shorter schedule, and refutes makespans from below.
//!
//! # Units
//!
//! Times are whole numbers of any unit, from 0 on; demands and capacities whole numbers.
mod apart;
mod board;
mod bound;
mod breed;
mod check;
mod data;
mod dice;
mod generate;
mod learn;
mod problem;
mod solve;
pub mod text;

pub use check::{Fault, check};
pub use problem::{
    Lag, MOST_CAPACITY, MOST_TIME, MOST_WEIGHT, Problem, ProblemError, Resource, Task,
};
pub use solve::{Limits, NoSchedule, Progress, Solution, solve};
