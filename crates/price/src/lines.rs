//! The cost lines as they grow, each with its working.

use crate::{CostGroup, CostLine};
use job::TaxClass;
use quantity::Money;
use working::{Ledger, Working};

pub struct Lines<'a> {
    lines: Vec<CostLine>,
    ledger: &'a mut Ledger,
}

/// What a line is.
pub struct Entry {
    pub group: CostGroup,
    pub class: Option<TaxClass>,
    pub id: String,
    pub what: String,
}

impl Entry {
    pub fn new(
        group: CostGroup,
        class: TaxClass,
        id: impl Into<String>,
        what: impl Into<String>,
    ) -> Self {
        Self {
            group,
            class: Some(class),
            id: id.into(),
            what: what.into(),
        }
    }

    /// A line that is spread over the classes.
    pub fn spread(group: CostGroup, id: impl Into<String>, what: impl Into<String>) -> Self {
        Self {
            group,
            class: None,
            id: id.into(),
            what: what.into(),
        }
    }
}

impl<'a> Lines<'a> {
    pub fn new(ledger: &'a mut Ledger) -> Self {
        Self {
            lines: Vec::new(),
            ledger,
        }
    }

    /// Takes a line in; one of no money is left out.
    pub fn add(&mut self, entry: Entry, amount: Money, mut working: Working) {
        if amount == Money::ZERO {
            return;
        }
        let Entry {
            group,
            class,
            id,
            what,
        } = entry;
        working.label.clone_from(&what);
        working.value = amount.amount().into();
        self.ledger.put(format!("price.{id}"), working);
        self.lines.push(CostLine {
            id,
            group,
            class,
            what,
            amount,
        });
    }

    /// Puts a figure that lines refer to into the ledger.
    pub fn put(&mut self, id: &str, working: Working) {
        self.ledger.put(id, working);
    }

    /// The lines so far.
    pub fn so_far(&self) -> &[CostLine] {
        &self.lines
    }

    /// Their sum.
    pub fn sum(&self) -> Money {
        self.lines.iter().map(|line| line.amount).sum()
    }

    /// The lines, group by group.
    pub fn finish(self) -> Vec<CostLine> {
        let mut lines = self.lines;
        lines.sort_by_key(|line| line.group);
        lines
    }
}

/// A working whose label and value the line fills in.
pub fn worked(formula: &str) -> Working {
    Working::new("", "", formula, "arithmetic")
}
