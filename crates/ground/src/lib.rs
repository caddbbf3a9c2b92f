//! Where pipe may lie, what the ground is like at a place, and which machine can get there.
//!
//! Takes the survey and the practice of a [`job::Job`]; gives a [`Ground`] that answers
//! - whether a straight trench may run from one place to another ([`Ground::is_open`]),
//! - in which kinds of ground it would lie on the way ([`Ground::spans`], [`Ground::describe`]),
//! - how high a place is ([`Ground::elevation`]),
//! - which machine gets to it, and what keeps the others out (part of [`StretchGround`]),
//! - how far its way there leads over protected ground ([`Ground::way`]),
//! - whether it has room beside a run and beyond its ends ([`Ground::run_room`]).
//!
//! What always holds: a place lies in exactly one kind of ground. Does not choose routes or methods.
//!
//! # What is approximate
//! Round zones (roots, tolerance zones) are many-sided polygons. What is approximate in where machines
//! get to is said at [`Reach`]'s module.

mod area;
mod cells;
mod elevation;
mod free;
mod gaps;
mod inside;
mod reach;
mod regions;
mod rim;
mod room;
mod site;
mod slopes;
mod solids;
mod spans;
mod stretch;
mod way;

pub use elevation::Relief;
pub use free::{FreeGround, grow, grow_line, polygon_around};
pub use gaps::Pinch;
pub use reach::{Reach, Standing, eroded};
pub use regions::Regions;
pub use room::{Lack, RunRoom};
pub use spans::{Class, Crosses, Ground, Span, angle_between};
pub use stretch::{Blocked, StretchGround, Tight, Zone};
pub use way::Way;
