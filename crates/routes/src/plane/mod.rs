//! Shortest ways and least trees in the plane, not bound to a grid.
//!
//! **Comes in:** obstacles ([`Walls`]), grounds that differ in cost per unit of length
//! ([`Surface`], [`Plane`]), and places to be joined.
//!
//! **Goes out:** shortest ways around obstacles ([`Ways`]), and trees of straight parts that join all
//! places at little cost ([`join`], [`Tree`]), with a lower bound. The parts they are made of stand
//! alone as well: a weighted junction ([`junction_of`]), a full topology and any other network with places that
//! may move ([`settle`]), a place of refraction on a border ([`refraction`]), and the polishing of a
//! tree ([`polish`]).
//!
//! **Always holds:** no way or tree enters an obstacle's interior, which is decided without rounding;
//! costs are integrated exactly; the bound is not above the cost; the same input gives the same bytes.
//!
//! **Does not do:** it does not promise the least tree ([`Ways`] does promise the shortest way); it knows no clock.

mod check;
mod components;
mod exact;
mod graph;
mod grounds;
mod meet;
mod net;
mod polish;
mod refract;
mod scene;
mod settle;
mod tidy;
mod tree;
mod walls;
mod ways;

pub use check::{TreeFault, check_tree};
pub use grounds::{AT_BORDER, Surface};
pub use meet::junction_of;
pub use polish::polish;
pub use refract::refraction;
pub use scene::{Plane, polygon};
pub use settle::{Hold, settle};
pub use tree::{Limits, Progress, Tree, bound, join};
pub use walls::{Corner, Walls};
pub use ways::{Way, Ways};

use std::fmt;

/// Why a plane or a task in it was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlaneError {
    /// A coordinate is infinite or not a number.
    NotFinite,
    /// A cost per unit of length is negative, infinite or not a number.
    Cost,
    /// A place to be joined lies inside an obstacle or beyond the boundary; its position in the list.
    Buried(usize),
    /// There is no way to a place; its position in the list.
    Unreachable(usize),
    /// There are no places to be joined.
    NoPlaces,
}

impl fmt::Display for PlaneError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PlaneError::NotFinite => write!(f, "a coordinate is no finite number"),
            PlaneError::Cost => write!(f, "a cost is negative or no finite number"),
            PlaneError::Buried(place) => {
                write!(f, "place {place} lies inside an obstacle: move it out")
            }
            PlaneError::Unreachable(place) => {
                write!(
                    f,
                    "no way leads to place {place}: open a gap between the obstacles"
                )
            }
            PlaneError::NoPlaces => write!(f, "there are no places to be joined"),
        }
    }
}

impl std::error::Error for PlaneError {}
