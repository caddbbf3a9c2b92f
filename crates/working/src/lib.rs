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
pub struct Ledger {
    figures: BTreeMap<String, Working>,
    /// Whether figures that are put in are dropped.
    #[serde(skip)]
    closed: bool,
}

impl Ledger {
    /// An empty ledger.
    pub fn new() -> Self {
        Self::default()
    }

    /// A ledger that keeps nothing of what is put in: for whoever wants results soon, and their workings
    /// only if they are asked for.
    pub fn closed() -> Self {
        Self {
            closed: true,
            ..Self::default()
        }
    }

    /// An empty one that is closed if this one is.
    pub fn beside(&self) -> Self {
        Self {
            closed: self.closed,
            ..Self::default()
        }
    }

    /// Whether it keeps nothing of what is put in: then a working need not even be made.
    pub fn is_closed(&self) -> bool {
        self.closed
    }

    /// Puts a figure in; the last one under an id wins.
    pub fn put(&mut self, id: impl Into<String>, working: Working) {
        if !self.closed {
            self.figures.insert(id.into(), working);
        }
    }

    /// The figure of an id.
    pub fn get(&self, id: &str) -> Option<&Working> {
        self.figures.get(id)
    }

    /// Whether a figure has its working here, or would have it were the ledger not closed.
    pub fn may_hold(&self, id: &str) -> bool {
        self.closed || self.figures.contains_key(id)
    }

    /// All figures, by id.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Working)> {
        let figures = self.figures.iter();
        figures.map(|(id, working)| (id.as_str(), working))
    }

    /// How many figures it holds.
    pub fn len(&self) -> usize {
        self.figures.len()
    }

    /// Whether it holds none.
    pub fn is_empty(&self) -> bool {
        self.figures.is_empty()
    }

    /// Takes in all the figures of another, even if it is closed.
    pub fn extend(&mut self, other: Self) {
        self.figures.extend(other.figures);
    }

    /// Takes over the figures of another whose ids begin alike, even if it is closed.
    pub fn take_over(&mut self, other: &Self, prefix: &str) {
        let of_it = other
            .figures
            .iter()
            .filter(|(id, _)| id.starts_with(prefix));
        let copies = of_it.map(|(id, working)| (id.clone(), working.clone()));
        self.figures.extend(copies);
    }

    /// The ids most like a text, best first, for a question about a figure that is not there.
    pub fn nearest(&self, text: &str, most: usize) -> Vec<&str> {
        let wanted = text.to_lowercase();
        let mut scored: Vec<(usize, &str)> = self
            .figures
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

    #[test]
    fn a_closed_ledger_keeps_only_what_it_takes_over() {
        let mut kept = Ledger::new();
        for id in ["risk.cost", "route.cost"] {
            kept.put(id, Working::new("x", "y", "z", "arithmetic"));
        }
        let mut closed = Ledger::closed();
        closed.put("price.total", Working::new("x", "y", "z", "arithmetic"));
        assert!(closed.is_empty() && closed.beside().is_closed());
        closed.take_over(&kept, "risk.");
        assert_eq!(
            closed.iter().map(|(id, _)| id).collect::<Vec<_>>(),
            ["risk.cost"]
        );
        closed.extend(kept);
        assert_eq!(closed.len(), 2);
    }
}
