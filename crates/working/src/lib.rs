//! A figure together with its formula, inputs and source.
//!
//! Every stage puts the figures that it prints into a [`Ledger`] under an id such as
//! `stretch.S12.depth`; a person asks for one and gets its [`Working`]: what it is, the formula, the
//! inputs with their values and where each came from, and the source of the formula. An input may name
//! another figure, so that a working can be followed to the job file.
//!
//! What always holds: an id stands for one figure; the last one put in under an id wins, so that a
//! stage that runs again replaces its figures. Does no I/O and computes nothing of the trade.

use quantity::Amount;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A value with a unit, or a word (a method, a size).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Value {
    /// A number with its style.
    Amount(Amount),
    /// A word.
    Word(String),
}

impl From<Amount> for Value {
    fn from(amount: Amount) -> Self {
        Self::Amount(amount)
    }
}

impl From<&str> for Value {
    fn from(word: &str) -> Self {
        Self::Word(word.to_owned())
    }
}

impl From<String> for Value {
    fn from(word: String) -> Self {
        Self::Word(word)
    }
}

/// One thing that went into a figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Input {
    /// What it is, as the formula calls it.
    pub name: String,
    /// Its value.
    pub value: Value,
    /// Where it came from: `job feature V1`, `practice cover.main (source)`, or
    /// [`figure ID`](Ledger) for another figure.
    pub from: String,
}

/// How a figure came about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Working {
    /// What the figure is, in words.
    pub label: String,
    /// The figure.
    pub value: Value,
    /// The formula or the rule, in words and signs.
    pub formula: String,
    /// What went in.
    pub inputs: Vec<Input>,
    /// Where the formula or rule is published, or `common practice`, or `arithmetic`.
    pub source: String,
    /// What is approximate about it, empty if nothing is.
    pub approximate: String,
}

impl Working {
    /// A working without inputs yet.
    pub fn new(
        label: impl Into<String>,
        value: impl Into<Value>,
        formula: impl Into<String>,
        source: impl Into<String>,
    ) -> Self {
        Self {
            label: label.into(),
            value: value.into(),
            formula: formula.into(),
            inputs: Vec::new(),
            source: source.into(),
            approximate: String::new(),
        }
    }

    /// With one more input.
    #[must_use]
    pub fn with(
        mut self,
        name: impl Into<String>,
        value: impl Into<Value>,
        from: impl Into<String>,
    ) -> Self {
        self.inputs.push(Input {
            name: name.into(),
            value: value.into(),
            from: from.into(),
        });
        self
    }

    /// With a word on what is approximate about it.
    #[must_use]
    pub fn approximately(mut self, why: impl Into<String>) -> Self {
        self.approximate = why.into();
        self
    }
}

/// All the figures of a plan by their id, in the order of the ids.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Ledger(BTreeMap<String, Working>);

impl Ledger {
    /// An empty ledger.
    pub fn new() -> Self {
        Self::default()
    }

    /// Puts a figure in; the last one under an id wins.
    pub fn put(&mut self, id: impl Into<String>, working: Working) {
        self.0.insert(id.into(), working);
    }

    /// The figure of an id.
    pub fn get(&self, id: &str) -> Option<&Working> {
        self.0.get(id)
    }

    /// All figures, by id.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Working)> {
        self.0.iter().map(|(id, working)| (id.as_str(), working))
    }

    /// How many figures it holds.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether it holds none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Takes in all the figures of another.
    pub fn extend(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// The ids most like a text, best first, for a question about a figure that is not there.
    pub fn nearest(&self, text: &str, most: usize) -> Vec<&str> {
        let wanted = text.to_lowercase();
        let mut scored: Vec<(usize, &str)> = self
            .0
            .keys()
            .map(|id| (distance(&wanted, &id.to_lowercase()), id.as_str()))
            .collect();
        scored.sort_unstable();
        scored.into_iter().take(most).map(|(_, id)| id).collect()
    }
}

/// The Levenshtein distance of two short texts.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_ids_come_first() {
        let mut ledger = Ledger::new();
        for id in ["stretch.S1.depth", "stretch.S1.width", "price.total"] {
            ledger.put(id, Working::new("x", "y", "z", "arithmetic"));
        }
        assert_eq!(ledger.nearest("stretch.s1.dept", 1), ["stretch.S1.depth"]);
    }
}
