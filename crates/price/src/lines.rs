//! The cost lines as they grow, each with its working.

use crate::{CostGroup, CostLine};
use quantity::Money;
use working::{Ledger, Working};

pub struct Lines<'a> {
    lines: Vec<CostLine>,
    ledger: &'a mut Ledger,
}

impl<'a> Lines<'a> {
    pub fn new(ledger: &'a mut Ledger) -> Self {
        Self {
            lines: Vec::new(),
            ledger,
        }
    }

    /// Takes a line in; one of no money is left out.
    pub fn add(
        &mut self,
        group: CostGroup,
        id: String,
        what: String,
        amount: Money,
        mut working: Working,
    ) {
        if amount == Money::ZERO {
            return;
        }
        working.label.clone_from(&what);
        working.value = amount.amount().into();
        self.ledger.put(format!("price.{id}"), working);
        self.lines.push(CostLine {
            id,
            group,
            what,
            amount,
        });
    }

    pub fn finish(self) -> Vec<CostLine> {
        self.lines
    }
}

/// A working whose label and value the line fills in.
pub fn worked(formula: &str) -> Working {
    Working::new("", "", formula, "arithmetic")
}
