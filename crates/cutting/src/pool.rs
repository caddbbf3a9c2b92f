//! All patterns made so far, each once.

use crate::instance::Pattern;
use std::collections::BTreeMap;

#[derive(Default)]
pub(crate) struct Pool {
    patterns: Vec<Pattern>,
    places: BTreeMap<Pattern, usize>,
}

impl Pool {
    pub(crate) fn len(&self) -> usize {
        self.patterns.len()
    }

    pub(crate) fn get(&self, at: usize) -> &Pattern {
        &self.patterns[at]
    }

    /// The place of a pattern, and whether it is new.
    pub(crate) fn add(&mut self, pattern: Pattern) -> (usize, bool) {
        if let Some(at) = self.places.get(&pattern) {
            return (*at, false);
        }
        let at = self.patterns.len();
        self.places.insert(pattern.clone(), at);
        self.patterns.push(pattern);
        (at, true)
    }
}
