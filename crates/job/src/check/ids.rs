//! Every feature is told apart by its id.

use crate::Finding;
use crate::draft::Draft;
use crate::overlay::Local;

pub(super) fn duplicate_id(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    for (id, lines) in draft.ids.iter().filter(|(_, lines)| lines.len() > 1) {
        let listed: Vec<String> = lines.iter().map(usize::to_string).collect();
        out.push(Finding::error(
            "duplicate-id",
            id,
            match lines.contains(&0) {
                true => format!("is the id of {} features", lines.len()),
                false => format!(
                    "is the id of {} features (lines {})",
                    lines.len(),
                    listed.join(", ")
                ),
            },
            "give each feature an id of its own",
        ));
    }
}
