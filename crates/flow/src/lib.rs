//! Steady flow in networks of pipes: trees and loops, outlets whose flow follows the pressure.
//!
//! Takes a [`Network`] of nodes and links; [`solve`] gives a [`Steady`] state: the flow of every link
//! and the head of every node, so that what flows into a node flows out of it, and the heads at both
//! ends of a link differ by what its [`Law`] says.
//!
//! Method: the global gradient method (Todini and Pilati 1988): all laws are made linear at the present
//! flows, the heads of all nodes follow from one sparse symmetric system, the flows from the heads, and
//! so on until nothing moves. The system is factorised by faer; its pattern only once.
//!
//! # Units
//! Heads and heights in metres, flows in cubic metres a second, but any that fit together will do.
//!
//! # What always holds of an answer
//! At every node the flows balance to the last digits; along every link, and so around every loop,
//! the heads agree to within [`Steady::head_error`], which is at most [`HEAD_TOLERANCE`]. A network
//! that does not settle is a [`Fault`], never an answer.

mod law;
mod mend;
mod network;
mod solve;
mod system;

pub use law::{Law, Outlet, Power};
pub use network::{Fault, Link, Network, Node};
pub use solve::{HEAD_TOLERANCE, Steady, solve};
