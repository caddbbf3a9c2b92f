//! Pipe is named as the practice file names it.

use crate::Finding;
use crate::draft::Draft;
use crate::nearest::nearest;
use crate::overlay::Local;

pub(super) fn unknown_pipe_of_main(draft: &Draft, local: &Local, out: &mut Vec<Finding>) {
    for source in &draft.sources {
        if let Some((what, mend)) = unknown_family(source.has.main_pipe.get(), local) {
            out.push(source.error("unknown-pipe", &format!("`main_pipe` {what}"), mend));
        }
    }
}

pub(super) fn unknown_pipe_of_circuit(draft: &Draft, local: &Local, out: &mut Vec<Finding>) {
    for circuit in &draft.circuits {
        if let Some((what, mend)) = unknown_family(circuit.has.pipe.get(), local) {
            out.push(circuit.error("unknown-pipe", &format!("`pipe` {what}"), mend));
        }
    }
}

pub(super) fn unknown_service_size(draft: &Draft, local: &Local, out: &mut Vec<Finding>) {
    for source in &draft.sources {
        let (Some(size), Some(key)) = (source.has.service_size.get(), source.has.main_pipe.get())
        else {
            continue;
        };
        let Some(family) = local.practice.pipe.get(key) else {
            continue;
        };
        let sizes: Vec<&str> = family.sizes.iter().map(|s| s.name.as_str()).collect();
        if !sizes.contains(&size.as_str()) {
            let what = format!("`service_size` is \"{size}\", and {key} has no such size");
            out.push(source.error("unknown-size", &what, meant(size, &sizes)));
        }
    }
}

pub(super) fn unknown_family(key: Option<&String>, local: &Local) -> Option<(String, String)> {
    let key = key?;
    if local.practice.pipe.contains_key(key) {
        return None;
    }
    let families: Vec<&str> = local.practice.pipe.keys().map(String::as_str).collect();
    let what = format!("is \"{key}\", which is not a pipe family of the rules");
    Some((what, meant(key, &families)))
}

fn meant(word: &str, known: &[&str]) -> String {
    match nearest(word, known) {
        Some(near) => format!("did you mean \"{near}\"? Known: {}", known.join(", ")),
        None => format!("use one of {}", known.join(", ")),
    }
}
