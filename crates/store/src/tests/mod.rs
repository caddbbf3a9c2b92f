//! Job files as a whole: what is written is read, what is not ours is left alone, what was saved survives.

mod history;
mod kill;
mod others;
mod round_trip;

use job::Document;
use std::path::Path;

/// Names in a folder, sorted.
fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// A document with the numbers of its places written in one way.
fn plain(document: &Document) -> Document {
    Document {
        features: document.features.iter().map(crate::rows::plain).collect(),
        ..document.clone()
    }
}
