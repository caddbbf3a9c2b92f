//! The quantities of every stage: which function of which crate answers.

mod closing;
mod crew;
mod digging;
mod dimensions;
mod exchange;
mod fill;
mod ground;
mod hydraulics;
mod outlets;
mod planned;
mod practice;
mod price;
mod pull;
mod risk;
mod routes;
mod sides;
mod slack;
mod takeoff;
mod wire;

use crate::registry::Function;

/// A stage's quantities.
pub type Quantities = &'static [(&'static str, Function)];

/// The quantities of all stages.
pub const ALL: &[Quantities] = &[
    practice::QUANTITIES,
    hydraulics::QUANTITIES,
    closing::QUANTITIES,
    outlets::QUANTITIES,
    wire::QUANTITIES,
    dimensions::QUANTITIES,
    digging::QUANTITIES,
    sides::QUANTITIES,
    fill::QUANTITIES,
    slack::QUANTITIES,
    pull::QUANTITIES,
    ground::QUANTITIES,
    routes::QUANTITIES,
    takeoff::QUANTITIES,
    crew::QUANTITIES,
    risk::QUANTITIES,
    price::QUANTITIES,
    planned::QUANTITIES,
    exchange::QUANTITIES,
];
