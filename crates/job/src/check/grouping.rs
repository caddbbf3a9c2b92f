//! Heads whose circuit is left to the plan: there has to be a place for their valves, and each of them
//! has to be able to run at all.

use super::pipes::unknown_family;
use crate::Finding;
use crate::draft::{Draft, OutletItem};
use crate::field::Field;
use crate::overlay::Local;

/// More places are no help to anybody who has to choose among them.
const MOST_MANIFOLDS: usize = 60;

/// The heads that name no circuit.
pub(super) fn ungrouped(draft: &Draft) -> impl Iterator<Item = &OutletItem> {
    let names_none = |o: &&OutletItem| matches!(o.item.has.circuit, Field::Missing);
    draft.outlets.iter().filter(names_none)
}

pub(super) fn no_manifold(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let without = ungrouped(draft).count();
    let Some(first) = ungrouped(draft)
        .next()
        .filter(|_| draft.manifolds.is_empty())
    else {
        return;
    };
    let others = match without {
        1 => String::new(),
        2 => ", as does 1 other".to_owned(),
        n => format!(", as do {} others", n - 1),
    };
    out.push(first.item.error(
        "no-manifold",
        &format!("names no circuit{others}, and there is no place for the valve of one"),
        "write \"circuit\": … of one that is there, or add a Point of kind \"manifold\" where valves may \
         stand, and the plan groups the heads",
    ));
}

pub(super) fn too_many_manifolds(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    if draft.manifolds.len() > MOST_MANIFOLDS {
        let what = format!(
            "has {} places for manifolds; {MOST_MANIFOLDS} are the most",
            draft.manifolds.len()
        );
        let mend = "keep those where valves are easily reached";
        out.push(Finding::error("too-many-manifolds", "job file", what, mend));
    }
}

/// What was not tested cannot be promised to a circuit.
pub(super) fn head_beyond_test(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let Some(test) = draft.sources.first().and_then(|s| s.has.test_flow.get()) else {
        return;
    };
    for outlet in ungrouped(draft) {
        let Some(flow) = outlet.item.has.flow.get().filter(|f| f.0 > test.0) else {
            continue;
        };
        let what = format!(
            "alone needs {:.1} gpm ({:.1} L/min), more than the {:.1} gpm ({:.1} L/min) that were tested",
            flow.0.to_gpm(),
            flow.0.to_lpm(),
            test.0.to_gpm(),
            test.0.to_lpm()
        );
        let mend = "choose heads that need less, or test the source at that flow";
        out.push(outlet.item.error("head-beyond-test", &what, mend));
    }
}

pub(super) fn unknown_pipe_of_laterals(draft: &Draft, local: &Local, out: &mut Vec<Finding>) {
    let family = &local.practice.circuits.pipe;
    let unknown = unknown_family(Some(&family.value), local);
    if let (Some((what, mend)), Some(_)) = (unknown, ungrouped(draft).next()) {
        out.push(Finding::error(
            "unknown-pipe",
            "practice.circuits.pipe",
            what,
            mend,
        ));
    }
}
