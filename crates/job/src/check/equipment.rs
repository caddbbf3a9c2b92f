//! One source, one backflow assembly, one controller.

use crate::Finding;
use crate::draft::{Draft, Item};
use crate::overlay::Local;

pub(super) fn source_count(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    if draft.sources.is_empty() {
        out.push(Finding::error(
            "no-source",
            "job file",
            "has no water source",
            "add a Point of kind \"source\" with its static pressure and flowing test",
        ));
    }
    extra("several-sources", "a second source", &draft.sources, out);
}

pub(super) fn backflow_count(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    if draft.backflows.is_empty() {
        out.push(Finding::error(
            "no-backflow",
            "job file",
            "has no backflow assembly",
            "add a Point of kind \"backflow\" where it will stand",
        ));
    }
    let word = "a second backflow assembly";
    extra("several-backflows", word, &draft.backflows, out);
}

pub(super) fn controller_count(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    extra(
        "several-controllers",
        "a second controller",
        &draft.controllers,
        out,
    );
}

pub(super) fn baseline_count(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    for item in draft.baselines.iter().skip(1) {
        let mend = "keep the one along which stations are counted";
        out.push(item.error("several-baselines", "is a second baseline", mend));
    }
}

pub(super) fn no_controller(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let has_valves = !draft.valves.is_empty() || super::grouping::ungrouped(draft).next().is_some();
    if draft.controllers.is_empty() && has_valves {
        out.push(Finding::warning(
            "no-controller",
            "job file",
            "has valves but no controller: no wire is planned",
            "add a Point of kind \"controller\", unless the valves need no wire",
        ));
    }
}

fn extra<G, M>(rule: &str, what: &str, items: &[Item<G, M>], out: &mut Vec<Finding>) {
    for item in items.iter().skip(1) {
        let what = format!("is {what}");
        out.push(item.error(rule, &what, "keep one; plan the other as a job of its own"));
    }
}
