//! Circuits that may run together are two that are there.

use crate::Finding;
use crate::draft::Draft;
use crate::nearest::nearest;
use crate::overlay::Local;

pub(super) fn unknown_partner(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let known: Vec<&str> = draft.circuits.iter().map(|c| c.id.as_str()).collect();
    for circuit in &draft.circuits {
        let Some(other) = circuit.has.runs_with.get() else {
            continue;
        };
        if *other == circuit.id {
            let what = "`runs_with` names the circuit itself";
            let mend = "name the other circuit, or take the member out";
            out.push(circuit.error("unknown-circuit", what, mend));
        } else if !known.contains(&other.as_str()) && !draft.unread.contains(other) {
            let what = format!("`runs_with` names \"{other}\", and there is none");
            let mend = match nearest(other, &known) {
                Some(near) => format!("did you mean \"{near}\"? Circuits: {}", known.join(", ")),
                None => format!("use one of {}", known.join(", ")),
            };
            out.push(circuit.error("unknown-circuit", &what, mend));
        }
    }
}
