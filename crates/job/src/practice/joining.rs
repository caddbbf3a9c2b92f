//! How pipe is joined to fittings, and what a joint uses up.

use super::PipeMaterial;
use crate::Sourced;
use crate::sourced::FromScalar;
use quantity::{Length, Ratio};
use serde::Deserialize;
use std::collections::BTreeMap;

/// How pipe is joined to a fitting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Joint {
    /// Cemented into a socket.
    Solvent,
    /// Pushed over an insert fitting and clamped.
    Insert,
    /// Gripped by the fitting's own nut or ring.
    Compression,
    /// Soldered into a socket.
    Solder,
    /// Screwed into a thread.
    Thread,
}

impl Joint {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Solvent,
        Self::Insert,
        Self::Compression,
        Self::Solder,
        Self::Thread,
    ];

    /// As the practice file writes it.
    pub fn key(self) -> &'static str {
        match self {
            Self::Solvent => "solvent",
            Self::Insert => "insert",
            Self::Compression => "compression",
            Self::Solder => "solder",
            Self::Thread => "thread",
        }
    }

    /// The usual joint of a material.
    pub fn usual(material: PipeMaterial) -> Self {
        match material {
            PipeMaterial::Pvc => Self::Solvent,
            PipeMaterial::Pe => Self::Insert,
            PipeMaterial::Copper => Self::Solder,
            PipeMaterial::Steel => Self::Thread,
        }
    }
}

impl FromScalar for Joint {
    fn from_scalar(text: &str) -> Result<Self, String> {
        let known = Self::ALL.into_iter().find(|j| j.key() == text.trim());
        known.ok_or_else(|| {
            format!("\"{text}\" is none of solvent, insert, compression, solder, thread")
        })
    }
}

/// What joints use up. Tables by size have keys such as `3/4 in` or `DN 63`; the entry of the greatest
/// size not above a pipe's counts.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Joining {
    /// Joints of a size that a quart of cement makes.
    pub cement_joints: BTreeMap<String, Sourced<Ratio>>,
    /// A can of cement, of a quart.
    pub cement_can: Sourced<Ratio>,
    /// Primer over cement, by volume.
    pub primer: Sourced<Ratio>,
    /// A can of primer, of a quart.
    pub primer_can: Sourced<Ratio>,
    /// Clamps of an insert joint by size.
    pub clamps: BTreeMap<String, Sourced<u32>>,
    /// Clamps in a bag.
    pub clamp_bag: Sourced<u32>,
    /// Pounds of solder for a hundred joints by size.
    pub solder: BTreeMap<String, Sourced<Ratio>>,
    /// Pounds of solder on a spool.
    pub solder_spool: Sourced<Ratio>,
    /// Flux over solder, by weight.
    pub flux: Sourced<Ratio>,
    /// Pounds of flux in a jar.
    pub flux_jar: Sourced<Ratio>,
    /// Turns of sealing tape round a thread.
    pub tape_turns: Sourced<Ratio>,
    /// A roll of sealing tape.
    pub tape_roll: Sourced<Length>,
}

/// Shares of what is needed that are ordered beyond it, by what it is.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WasteShares {
    /// Pipe spoiled by a bad cut or joint; what is left over when the pieces are cut counts toward it.
    pub pipe: Sourced<Ratio>,
    /// Fittings, to whole ones.
    pub fittings: Sourced<Ratio>,
    /// Cement, primer, clamps, solder, flux, sealing tape.
    pub joining: Sourced<Ratio>,
    /// Wire and cable; the slack apart.
    pub wire: Sourced<Ratio>,
    /// Wire connectors, to whole ones.
    pub connectors: Sourced<Ratio>,
    /// Marking tape, tracer, paint, flags.
    pub marking: Sourced<Ratio>,
}
