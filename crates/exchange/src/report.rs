//! What a reader took from a file, what it left, and why.

use std::fmt::Write;

/// What a reader did with a file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    /// What became features.
    pub took: Vec<Entry>,
    /// What did not.
    pub left: Vec<Entry>,
    /// What else a person should know: units, origin, what was closed, thinned or dropped.
    pub notes: Vec<String>,
}

/// Things of a file that met the same fate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Where they were, such as ``layer `V-BLDG` ``.
    pub place: String,
    /// What they are, such as `closed line`.
    pub what: String,
    /// How many there are.
    pub count: usize,
    /// What they became, or why they were left and what to do about it.
    pub fate: String,
}

impl std::fmt::Display for Entry {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self {
            place,
            what,
            count,
            fate,
        } = self;
        write!(f, "{count} × {what} on {place}: {fate}")
    }
}

impl Report {
    /// The report in plain words, one line each.
    pub fn text(&self) -> String {
        let mut text = String::new();
        for (title, entries) in [("Taken", &self.took), ("Left", &self.left)] {
            if entries.is_empty() {
                continue;
            }
            let _ = writeln!(text, "{title}:");
            for entry in entries {
                let _ = writeln!(text, "  {entry}");
            }
        }
        if !self.notes.is_empty() {
            text += "Notes:\n";
        }
        for note in &self.notes {
            let _ = writeln!(text, "  {note}");
        }
        text
    }

    /// Says something once.
    pub(crate) fn note(&mut self, note: String) {
        if !self.notes.contains(&note) && self.notes.len() < crate::limits::MOST_FINDINGS {
            self.notes.push(note);
        }
    }

    pub(crate) fn take(&mut self, place: &str, what: &str, fate: &str) {
        count(&mut self.took, place, what, 1, fate);
    }

    pub(crate) fn leave(&mut self, place: &str, what: &str, number: usize, fate: &str) {
        count(&mut self.left, place, what, number, fate);
    }
}

/// Beyond so many lines nobody reads on; the rest is counted in one.
const MOST_ENTRIES: usize = 500;

fn count(entries: &mut Vec<Entry>, place: &str, what: &str, number: usize, fate: &str) {
    let same = |e: &&mut Entry| e.place == place && e.what == what && e.fate == fate;
    // A full list is not searched through for each of millions of things.
    let looked_at = if entries.len() < MOST_ENTRIES {
        MOST_ENTRIES
    } else {
        64
    };
    if let Some(entry) = entries.iter_mut().rev().take(looked_at).find(same) {
        entry.count += number;
    } else if entries.len() < MOST_ENTRIES {
        entries.push(Entry {
            place: place.to_owned(),
            what: what.to_owned(),
            count: number,
            fate: fate.to_owned(),
        });
    } else {
        let rest = |e: &&mut Entry| e.place == "other places";
        match entries.iter_mut().rev().take(1).find(rest) {
            Some(entry) => entry.count += number,
            None => entries.push(Entry {
                place: "other places".to_owned(),
                what: "thing".to_owned(),
                count: number,
                fate: "not listed one by one".to_owned(),
            }),
        }
    }
}

/// A text of a file as it can be shown: without control characters, and not too long.
pub(crate) fn shown(text: &str) -> String {
    const MOST: usize = 60;
    let mut kept: String = text
        .chars()
        .filter(|c| !c.is_control())
        .take(MOST)
        .collect();
    if text.chars().count() > MOST {
        kept.push('…');
    }
    kept
}
