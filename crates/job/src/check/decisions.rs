//! What people have decided about trenches has to fit the system that is to be connected.

use geo::{Contains, Point};

use super::components::components;
use crate::Finding;
use crate::draft::Draft;
use crate::finding::on_line;
use crate::nearest::nearest;
use crate::overlay::Local;

/// Names of lines that no feature has.
const NAMED: [&str; 3] = ["service", "main", "wire"];

pub(super) fn component_in_keep_out(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    for keep_out in &draft.keep_outs {
        let Some(area) = &keep_out.shape else {
            continue;
        };
        for c in components(draft).iter().filter(|c| c.label != "access") {
            if area.contains(&Point::new(c.at.x, c.at.y)) {
                out.push(Finding::error(
                    "inside-keep-out",
                    c.id,
                    on_line(
                        format_args!("is a {} where {} lets nothing be dug", c.label, keep_out.id),
                        c.line,
                    ),
                    "move it out, or draw the place smaller",
                ));
            }
        }
    }
}

/// A fixed trench carries lines of this system, each once.
pub(super) fn unknown_line(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let mut known: Vec<&str> = NAMED.to_vec();
    if draft.controllers.is_empty() {
        known.retain(|name| *name != "wire");
    }
    known.extend(draft.circuits.iter().map(|c| c.id.as_str()));
    known.extend(draft.cables.iter().map(|c| c.id.as_str()));
    for trench in &draft.fixed_trenches {
        let Some(carries) = trench.has.carries.get() else {
            continue;
        };
        let names: Vec<&str> = carries.split(',').map(str::trim).collect();
        for (n, name) in names.iter().enumerate() {
            if names[..n].contains(name) {
                let what = format!("`carries` names \"{name}\" twice");
                out.push(trench.error("line-named-twice", &what, "name it once"));
            } else if !known.contains(name) && !draft.unread.contains(*name) {
                let what = format!("`carries` names \"{name}\", and there is no such line");
                let mend = match nearest(name, &known) {
                    Some(near) => format!("did you mean \"{near}\"? Lines: {}", known.join(", ")),
                    None => format!("use one of {}", known.join(", ")),
                };
                out.push(trench.error("unknown-line", &what, mend));
            }
        }
    }
}

/// The method of a fixed trench is one of the price book.
pub(super) fn unknown_method(draft: &Draft, local: &Local, out: &mut Vec<Finding>) {
    let known: Vec<&str> = local.prices.method.keys().map(|id| id.0.as_str()).collect();
    for trench in &draft.fixed_trenches {
        let Some(method) = trench.has.method.get() else {
            continue;
        };
        if known.contains(&method.as_str()) {
            continue;
        }
        let what = format!("`method` is \"{method}\", and the prices know no such method");
        let mend = match nearest(method, &known) {
            Some(near) => format!("did you mean \"{near}\"? Methods: {}", known.join(", ")),
            None => format!("use one of {}", known.join(", ")),
        };
        out.push(trench.error("unknown-method", &what, mend));
    }
}

/// A trench that costs nothing would be dug without end.
pub(super) fn favour_too_great(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    for corridor in &draft.corridors {
        if corridor
            .has
            .favour
            .get()
            .is_some_and(|share| share.0.to_one() >= 1.0)
        {
            out.push(corridor.error(
                "favour-too-great",
                "`favour` makes a trench in it cost nothing",
                "write less than \"100 %\"",
            ));
        }
    }
}
