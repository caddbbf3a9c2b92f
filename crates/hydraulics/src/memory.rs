//! What was worked out before, kept from one sizing to the next.
//!
//! Every answer is kept with all that it depends on and is given again only for the very same, so that what
//! is found with a memory is what is found without it, only sooner.

use crate::least::{Front, Tree};
use crate::transient::{Line, Outcome};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Looks that are kept of one circuit: those of the rounds of two sizings with room to spare.
const LOOKS: usize = 16;

/// Closings that are kept of one circuit.
const CLOSINGS: usize = 4;

/// First looks at laterals and closings of valves that were worked out before, by circuit.
#[derive(Debug, Default)]
pub struct Memory {
    circuits: Mutex<BTreeMap<String, Kept>>,
}

#[derive(Debug, Default)]
struct Kept {
    looks: Vec<Arc<Look>>,
    closings: Vec<Arc<Closed>>,
}

/// A first look at a lateral.
#[derive(Debug)]
pub(crate) struct Look {
    pub asked: Tree,
    /// The tree without the rules that no sizes keep.
    pub left: Tree,
    pub front: Front,
}

/// A valve that closed.
#[derive(Debug)]
pub(crate) struct Closed {
    pub line: Line,
    /// In m³/s, and the time that the valve took in s.
    pub from: (f64, f64),
    pub outcome: Option<Outcome>,
}

impl Memory {
    pub(crate) fn look(&self, circuit: &str, asked: &Tree) -> Option<Arc<Look>> {
        let circuits = self.circuits();
        let looks = &circuits.get(circuit)?.looks;
        looks.iter().rev().find(|l| l.asked == *asked).cloned()
    }

    pub(crate) fn put_look(&self, circuit: &str, look: &Arc<Look>) {
        let mut circuits = self.circuits();
        let kept = circuits.entry(circuit.to_owned()).or_default();
        put(&mut kept.looks, look, LOOKS);
    }

    pub(crate) fn closed(
        &self,
        circuit: &str,
        line: &Line,
        from: (f64, f64),
    ) -> Option<Arc<Closed>> {
        let circuits = self.circuits();
        let closings = &circuits.get(circuit)?.closings;
        let same = |c: &&Arc<Closed>| c.from == from && c.line == *line;
        closings.iter().rev().find(same).cloned()
    }

    pub(crate) fn put_closed(&self, circuit: &str, closed: &Arc<Closed>) {
        let mut circuits = self.circuits();
        let kept = circuits.entry(circuit.to_owned()).or_default();
        put(&mut kept.closings, closed, CLOSINGS);
    }

    fn circuits(&self) -> MutexGuard<'_, BTreeMap<String, Kept>> {
        self.circuits.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Adds the newest; the oldest goes once there are more than `most`.
fn put<T>(kept: &mut Vec<Arc<T>>, new: &Arc<T>, most: usize) {
    if kept.len() >= most {
        kept.remove(0);
    }
    kept.push(Arc::clone(new));
}
