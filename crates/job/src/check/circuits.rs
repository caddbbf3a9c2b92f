//! Every circuit has one valve and at least one head, and everything belongs to a circuit that is there.

use std::collections::{BTreeMap, BTreeSet};

use crate::Finding;
use crate::draft::Draft;
use crate::field::Field;
use crate::nearest::nearest;
use crate::overlay::Local;

pub(super) fn no_circuit(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    if draft.circuits.is_empty() && super::grouping::ungrouped(draft).next().is_none() {
        out.push(Finding::error(
            "no-circuit",
            "job file",
            "has no circuit: there is nothing to connect",
            "add a feature of kind \"circuit\", a valve and heads that name it; or heads without a circuit \
             and a place for a manifold, and the plan groups them",
        ));
    }
}

pub(super) fn unknown_circuit(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let known: BTreeSet<&str> = draft.circuits.iter().map(|c| c.id.as_str()).collect();
    for valve in &draft.valves {
        if let Some((what, mend)) = unknown(draft, &known, &valve.has.circuit) {
            out.push(valve.error("unknown-circuit", &what, mend));
        }
    }
    for outlet in draft.outlets.iter().map(|o| &o.item) {
        if let Some((what, mend)) = unknown(draft, &known, &outlet.has.circuit) {
            out.push(outlet.error("unknown-circuit", &what, mend));
        }
    }
}

fn unknown(
    draft: &Draft,
    known: &BTreeSet<&str>,
    circuit: &Field<String>,
) -> Option<(String, String)> {
    let circuit = circuit.get()?;
    if known.contains(circuit.as_str()) || draft.unread.contains(circuit) {
        return None;
    }
    let ids: Vec<&str> = known.iter().copied().collect();
    let mend = match nearest(circuit, &ids) {
        Some(near) => format!("did you mean \"{near}\"? Circuits: {}", ids.join(", ")),
        None if ids.is_empty() => "add the circuit as a feature".to_owned(),
        None => format!("add the circuit, or use one of {}", ids.join(", ")),
    };
    Some((
        format!("`circuit` names \"{circuit}\", and there is none"),
        mend,
    ))
}

pub(super) fn valves_of_circuit(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let mut valves: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for valve in &draft.valves {
        if let Some(circuit) = valve.has.circuit.get() {
            valves.entry(circuit).or_default().push(&valve.id);
        }
    }
    for circuit in &draft.circuits {
        let own = valves
            .get(circuit.id.as_str())
            .map_or(&[][..], Vec::as_slice);
        match own.len() {
            0 => out.push(circuit.error(
                "circuit-without-valve",
                "has no valve",
                format!("add a valve that opens {}", circuit.id),
            )),
            1 => {}
            n => out.push(circuit.error(
                "circuit-with-several-valves",
                &format!("has {n} valves: {}", own.join(", ")),
                "keep one valve, or make a circuit for each",
            )),
        }
    }
}

pub(super) fn circuit_without_heads(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let outlets = draft.outlets.iter();
    let fed: BTreeSet<&String> = outlets.filter_map(|o| o.item.has.circuit.get()).collect();
    for circuit in draft.circuits.iter().filter(|c| !fed.contains(&c.id)) {
        out.push(circuit.error(
            "circuit-without-heads",
            "has neither a head nor a drip point",
            "add its heads, or take the circuit and its valve out",
        ));
    }
}
