//! What is spread over all the work: taxes paid with purchases, and the contingency.

use crate::CostGroup;
use crate::lines::{Entry, Lines, worked};
use crate::workings::share;
use job::{Job, TaxClass, TaxOn};
use quantity::Money;
use working::Working;

/// What is set aside for what cannot be seen beforehand.
#[derive(Debug, Clone, PartialEq)]
pub enum Contingency {
    /// The price book's share of all other cost.
    Share,
    /// An amount worked out elsewhere, with its working; label and value of that are filled in here.
    Amount(Money, Working),
}

/// Taxes that the contractor pays with what is bought, one line for each class, rounded once.
pub fn add_purchase_taxes(job: &Job, lines: &mut Lines) {
    for class in TaxClass::ALL {
        let tax = job.prices.tax.of(class);
        if tax.on.value != TaxOn::Purchase {
            continue;
        }
        let taxed = lines
            .so_far()
            .iter()
            .filter(|line| line.class == Some(class));
        let start = worked("sum of these lines × rate, rounded once to the cent");
        let (bought, working) = taxed.fold((Money::ZERO, start), |(sum, working), line| {
            let from = format!("figure price.{}", line.id);
            let working = working.with(line.what.clone(), line.amount.amount(), from);
            (sum + line.amount, working)
        });
        let entry = Entry::spread(
            CostGroup::Tax,
            format!("purchase_tax.{}", class.word()),
            format!("Tax paid with purchases: {}", class.word()),
        );
        let working = working
            .with("rate", share(tax.rate.value), tax.rate.origin())
            .with("charged on", "purchase", tax.on.origin());
        lines.add(entry, bought.times(tax.rate.value.to_one()), working);
    }
}

/// The contingency, after all other lines.
pub fn add_contingency(job: &Job, contingency: &Contingency, lines: &mut Lines) {
    let (amount, working) = match contingency {
        Contingency::Amount(amount, working) => (*amount, working.clone()),
        Contingency::Share => {
            let of = &job.prices.contingency.share;
            let others = lines.sum();
            let start = worked("sum of all other lines × share").with(
                "share",
                share(of.value),
                of.origin(),
            );
            let working = lines.so_far().iter().fold(start, |working, line| {
                let from = format!("figure price.{}", line.id);
                working.with(line.what.clone(), line.amount.amount(), from)
            });
            (others.times(of.value.to_one()), working)
        }
    };
    let entry = Entry::spread(CostGroup::Contingency, "contingency", "Contingency");
    lines.add(entry, amount, working);
}
