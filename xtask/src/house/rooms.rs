//! The house itself: every crate, where it stands, and what it may import.
//!
//! ```text
//! quantity ─► working
//!    │           │
//!    ▼           ▼
//!   job ─► ground ─► routes ─► hydraulics ─► digging ─► takeoff ─► crew ─► risk ─► price ─► plan
//!                      ▲           ▲  │                     ▲                          │
//!                   steiner      flow circuits ─► plan    cutting   cli ◄─ drawing, offer ◄──┘
//! ```
//!
//! `schedule` is general mathematics that `crew` is held against; its days come from a search of their own.

/// A crate and what it may import.
pub struct Room {
    pub name: &'static str,
    pub side: Side,
    /// Crates of this workspace, with a blank between them.
    pub may_import: &'static str,
}

/// Where a crate stands, which decides what it may import from outside the workspace.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Part of the pure function from a job to a plan: only [`CORE_MAY_USE`], and no I/O.
    Core,
    /// Of the core too, and general mathematics: only [`MATHEMATICS_MAY_USE`], and no I/O.
    Mathematics,
    /// Reads, writes, draws or checks, and computes nothing about the trade.
    Outside,
}

/// External crates that do no I/O and show nothing, and so may be used by the core.
pub const CORE_MAY_USE: [&str; 15] = [
    "geo",
    "jiff",
    "rand",
    "rand_pcg",
    "rayon",
    "robust",
    "rstar",
    "rustc-hash",
    "schemars",
    "serde",
    "serde_json",
    "spade",
    "statrs",
    "thiserror",
    "toml",
];

/// External crates that general mathematics may use: what spreads work over threads, and linear algebra.
pub const MATHEMATICS_MAY_USE: [&str; 2] = ["faer", "rayon"];

/// Every crate of the workspace, the way data flows. A new crate gets its place here, and
/// ARCHITECTURE.md says why.
#[rustfmt::skip]
pub const HOUSE: [Room; 29] = [
    core("quantity", ""),
    core("working", "quantity"),
    core("job", "quantity"),
    core("ground", "quantity working job"),
    Room { name: "steiner", side: Side::Mathematics, may_import: "" },
    Room { name: "flow", side: Side::Mathematics, may_import: "" },
    Room { name: "schedule", side: Side::Mathematics, may_import: "" },
    Room { name: "cutting", side: Side::Mathematics, may_import: "" },
    core("routes", "quantity working job ground steiner"),
    core("hydraulics", "quantity working job flow ground routes"),
    core("circuits", "quantity working job ground routes hydraulics"),
    core("digging", "quantity working job ground routes hydraulics"),
    core("takeoff", "quantity working job ground cutting routes hydraulics digging"),
    core("crew", "quantity working job ground schedule routes hydraulics digging takeoff"),
    core("risk", "quantity working job ground routes hydraulics digging takeoff crew"),
    core("price", "quantity working job ground routes hydraulics digging takeoff crew risk"),
    core("staking", "quantity working job routes"),
    core("plan", "quantity working job ground routes hydraulics circuits digging takeoff crew risk price staking"),
    outside("layers", "quantity job plan"),
    outside("exchange", "quantity job layers"),
    outside("store", "job layers"),
    outside("underlay", "job"),
    outside("drawing", "quantity working job plan layers"),
    outside("offer", "quantity job plan"),
    outside("sheets", "quantity working job plan layers drawing offer"),
    outside("server", "quantity working job plan layers exchange store underlay drawing offer sheets"),
    outside("cli", "quantity working job plan layers exchange store underlay drawing offer sheets server"),
    outside(
        "evidence",
        "quantity working job ground steiner flow schedule cutting routes hydraulics circuits digging takeoff crew risk price staking plan layers exchange",
    ),
    outside("xtask", ""),
];

/// Whether a crate is part of the pure function from a job to a plan.
pub fn is_core(name: &str) -> bool {
    HOUSE
        .iter()
        .any(|room| room.name == name && room.side != Side::Outside)
}

const fn core(name: &'static str, may_import: &'static str) -> Room {
    Room {
        name,
        side: Side::Core,
        may_import,
    }
}

const fn outside(name: &'static str, may_import: &'static str) -> Room {
    Room {
        name,
        side: Side::Outside,
        may_import,
    }
}

#[cfg(test)]
mod tests {
    use super::HOUSE;

    #[test]
    fn every_import_that_is_allowed_is_of_a_crate_that_stands_before() {
        for (place, room) in HOUSE.iter().enumerate() {
            for import in room.may_import.split_whitespace() {
                let stands_before = HOUSE[..place].iter().any(|earlier| earlier.name == import);
                assert!(stands_before, "{} may import {import}", room.name);
            }
        }
    }
}
