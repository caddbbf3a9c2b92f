//! Nobody digs near a service that was not located and marked.

use crate::Finding;
use crate::draft::Draft;
use crate::overlay::Local;

pub(super) fn not_located(draft: &Draft, local: &Local, out: &mut Vec<Finding>) {
    for utility in &draft.utilities {
        if utility.has.located.get() == Some(&false) {
            out.push(utility.warning(
                "utility-not-located",
                "was not located: where it lies is a guess",
                format!(
                    "ask the one-call service for a locate {} working days before digging, then draw \
                     it where it was found",
                    local.practice.utility.notice_days.value
                ),
            ));
        }
    }
}

pub(super) fn not_marked(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    for utility in &draft.utilities {
        let has = &utility.has;
        if has.located.get() == Some(&true) && has.marked.get() == Some(&false) {
            let colour = has
                .service
                .get()
                .map_or("its colour", |class| class.colour());
            out.push(utility.warning(
                "utility-not-marked",
                "is located but not marked on the ground",
                format!("have it marked in {colour} before anyone digs"),
            ));
        }
    }
}
