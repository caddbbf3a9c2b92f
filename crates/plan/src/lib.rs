//! From a job to a plan: runs the stages until the cost stops improving.
mod results;
pub use results::*;

// Faces know the plan alone: the types of its parts reach them from here.
pub use {crew, digging, hydraulics, price, routes, takeoff};
