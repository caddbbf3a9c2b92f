//! Whether rules and prices fit together, so that no later stage meets a key without its entry or
//! divides by nothing.

mod keys;
mod numbers;

use super::Local;
use crate::Finding;

/// Names everything in which rules and prices do not fit together.
pub(super) fn check(local: &Local, out: &mut Vec<Finding>) {
    let mut faults = Faults(Vec::new());
    keys::soils(local, &mut faults);
    keys::table_sizes(local, &mut faults);
    keys::compactors(local, &mut faults);
    keys::pipes(local, &mut faults);
    keys::wires(local, &mut faults);
    keys::surfaces(local, &mut faults);
    keys::methods(local, &mut faults);
    keys::skills(local, &mut faults);
    keys::taxes(local, &mut faults);
    numbers::ranges(local, &mut faults);
    numbers::ascending(local, &mut faults);
    out.append(&mut faults.0);
}

/// What was found, by the dotted path of the value.
struct Faults(Vec<Finding>);

impl Faults {
    fn missing(&mut self, path: &str, what: &str, mend: &str) {
        self.say("local-rule-missing", path, what, mend);
    }

    fn stray(&mut self, path: &str, what: &str, mend: &str) {
        self.say("local-rule-stray", path, what, mend);
    }

    fn range(&mut self, path: &str, what: &str, mend: &str) {
        self.say("local-rule-out-of-range", path, what, mend);
    }

    fn say(&mut self, rule: &str, path: &str, what: &str, mend: &str) {
        self.0.push(Finding::error(rule, path, what, mend));
    }
}
