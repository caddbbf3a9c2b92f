//! Stretches of trench, what lies in each, and the proven gap.
//!
//! Takes a checked [`job::Job`], its [`ground::Ground`] and what things cost ([`RouteCosts`]); gives
//! through a [`Router`] a [`Network`] in which every component is connected: source to backflow assembly, backflow assembly to
//! valves, each valve to its heads, controller to valves by wire, and the cables of other services. Lines
//! that run together share a trench and pay for digging once.
//!
//! What always holds: no stretch enters forbidden ground; paving is crossed only through a sleeve; buried
//! services are crossed near square, unless a component lies so close to one that there is no other way,
//! which is then a finding; the bound is not above the cost.
//!
//! [`plane`] knows nothing of jobs: shortest ways around obstacles and least trees over grounds of
//! different cost, free of any graph, for whoever needs them.
//!
//! # What the bound is a bound of
//! The cost of every network of the *candidate graph* in the router's cost model: straight trenches
//! between components, corners, borders of ground, crossing places and tried junctions. It is no bound for
//! trenches that bend elsewhere. The model takes one unit cost for each kind of ground and one price per
//! metre for each line; methods, sizes and hire are worked out afterwards. Bends and junctions have a price
//! that is never negative ([`Turning`]); the bound leaves them out and so holds with them.
//!
//! # After the search
//! The trenches found are tidied in the plane: bends left out, junctions moved to where they cost least or
//! drawn together, trenches side by side made one. Each move is priced by the same rules and kept if the
//! whole costs less. This is a local search: another start may end elsewhere. Crossing trenches that do not
//! join count as apart, and no price is put on trenches that stay too near or part too sharply beyond the
//! bend that they take; they are cautions.

pub mod audit;
mod build;
mod candidates;
mod corridors;
mod fermat;
mod fixed;
mod laid;
mod memory;
mod mesh;
mod network;
mod path;
mod pieces;
pub mod plane;
mod pose;
mod recall;
mod refine;
mod refract;
mod roadmap;
mod sites;
mod solve;
mod tidy;
mod trench_findings;
mod turning;

pub use fermat::junction;
pub use ground::{Blocked, Lack, Pinch, StretchGround, Tight, Zone};
pub use memory::Memory;
pub use network::*;
pub use path::shortest_path;
pub use sites::Site;
pub use solve::{RouteCosts, RouteError, Router};
pub use turning::Turning;
