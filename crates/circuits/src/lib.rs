//! Which heads run together behind one valve, and on which manifold it sits.
//!
//! Takes a checked [`job::Job`] some of whose heads name no circuit, its [`ground::Ground`] and what
//! things cost ([`GroupCosts`]); gives a [`Grouping`]: circuits, the manifold of each valve, what that
//! costs and a bound below which no grouping lies. [`Grouping::apply`] fills them into the job. For
//! circuits that are given, [`review`] says what stands against them and [`regrouping`] what another
//! grouping would save.
//!
//! What always holds: every head is in one circuit; no circuit takes more than it may; heads that do not
//! match do not run together; the bound is not above the cost; the same job gives the same bytes.
//!
//! # The cost model
//! The trenches are the least tree over the heads, the backflow assembly, the controller and the
//! manifolds that it joins, by least ways around what stands in the way. They are shared by all. In them
//! lie the laterals of each circuit, each pipe in the smallest size within the velocity limit; the main
//! to the manifolds with valves, in the service's size; and the wire to them. Each valve costs itself,
//! its conductor and a share of a box. The fewest circuits are not the aim, the least cost is.
//!
//! # What is approximate
//! Trenches meet only at places, so that the router's network costs less. Pressures are kept by an
//! allowance for pipes, not by their sizes, and how far they lie apart in a circuit is not looked at:
//! the plan does that afterwards. Up to 12 heads and 3 manifolds all groupings are looked at;
//! above that it is a local search. The bound is one for the same trenches.
//!
//! Does no I/O, lays no route and sizes no pipe for good.

mod account;
mod between;
mod bound;
mod cost;
mod exact;
mod grouping;
mod land;
mod limits;
mod pack;
mod pipes;
mod review;
mod rng;
pub mod scheme;
mod search;
mod solve;
mod state;
mod task;
mod tree;

#[cfg(test)]
mod tests;

pub use cost::Parts;
pub use grouping::{Grouping, Proposed, adapt, group, keep};
pub use limits::Limit;
pub use review::{regrouping, review};
pub use scheme::{Bore, Grouped, Head, Prices, Scheme, Set};
pub use solve::solve;

use ground::StretchGround;

/// What things cost, as the grouping sees it; currency units, material and labour.
pub struct GroupCosts<'a> {
    /// A metre of trench in a kind of ground.
    pub trench: &'a dyn Fn(&StretchGround) -> f64,
    /// A metre of pipe of a family and size, laid.
    pub pipe: &'a dyn Fn(&str, &str) -> f64,
    /// Crossing a buried service, besides digging.
    pub crossing: f64,
    /// A valve, set, wired and tested.
    pub valve: f64,
    /// A valve box.
    pub valve_box: f64,
    /// A metre of laying wire, with the common conductor.
    pub wire: f64,
    /// A metre of a valve's own conductor.
    pub conductor: f64,
}
