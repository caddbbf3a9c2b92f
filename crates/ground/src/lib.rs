//! Where pipe may lie, what the ground is like at a place, and which machine can get there.
//!
//! Takes the survey and the practice of a [`job::Job`]; gives a [`Ground`] that answers
//! - whether a straight trench may run from one place to another ([`Ground::is_open`]),
//! - in which kinds of ground it would lie on the way ([`Ground::spans`], [`Ground::describe`]),
//! - how high a place is ([`Ground::elevation`]),
//! - which machine's body gets to it, and what keeps the others out (part of [`StretchGround`]).
//!
//! What always holds: a place lies in exactly one kind of ground. Does not choose routes or methods.
//!
//! # What is approximate
//! Round zones (roots, tolerance zones) are many-sided polygons. A machine is a disc as wide as its
//! body; its turning circle is not judged here.

mod elevation;
mod free;
mod inside;
mod reach;
mod regions;
mod spans;
mod stretch;

pub use elevation::Relief;
pub use free::{FreeGround, grow, grow_line, polygon_around};
pub use reach::{Reach, Standing, eroded};
pub use regions::Regions;
pub use spans::{Class, Crosses, Ground, Span, angle_between};
pub use stretch::{Blocked, StretchGround, Zone};
