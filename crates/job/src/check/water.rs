//! The flowing test, and what the heads ask of it.

use quantity::Flow;
use std::collections::BTreeMap;

use crate::Finding;
use crate::draft::Draft;
use crate::overlay::Local;

pub(super) fn residual_not_below_static(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    for source in &draft.sources {
        let (Some(still), Some(left)) = (
            source.has.static_pressure.get(),
            source.has.residual_pressure.get(),
        ) else {
            continue;
        };
        if left.0 >= still.0 {
            out.push(source.error(
                "residual-not-below-static",
                "`residual_pressure` is not below `static_pressure`, but flow always costs pressure",
                "measure the residual pressure at the same tap while the test flow runs",
            ));
        }
    }
}

/// The pressure at a flow beyond the test is not measured, only continued.
pub(super) fn flow_beyond_test(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let Some(test) = draft.sources.first().and_then(|s| s.has.test_flow.get()) else {
        return;
    };
    let mut flows: BTreeMap<&str, Flow> = BTreeMap::new();
    for has in draft.outlets.iter().map(|o| &o.item.has) {
        if let (Some(circuit), Some(flow)) = (has.circuit.get(), has.flow.get()) {
            *flows.entry(circuit).or_default() += flow.0;
        }
    }
    for circuit in &draft.circuits {
        let flow = flows.get(circuit.id.as_str()).copied().unwrap_or_default();
        if flow > test.0 {
            let what = format!(
                "needs {:.1} gpm ({:.1} L/min), more than the {:.1} gpm ({:.1} L/min) that were tested",
                flow.to_gpm(),
                flow.to_lpm(),
                test.0.to_gpm(),
                test.0.to_lpm()
            );
            let mend = "split the circuit, or test the source at that flow";
            out.push(circuit.warning("flow-beyond-test", &what, mend));
        }
    }
}

pub(super) fn pressure_beyond_static(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let Some(still) = draft
        .sources
        .first()
        .and_then(|s| s.has.static_pressure.get())
    else {
        return;
    };
    for outlet in draft.outlets.iter().map(|o| &o.item) {
        if outlet.has.pressure.get().is_some_and(|p| p.0 >= still.0) {
            let mend = "choose a head for less pressure, or raise the source's";
            let what = "needs as much pressure as the source has with nothing running, or more";
            out.push(outlet.warning("pressure-beyond-static", what, mend));
        }
    }
}
