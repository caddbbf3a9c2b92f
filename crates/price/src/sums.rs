//! Overhead, margin and total.

use crate::CostLine;
use job::Job;
use quantity::{Amount, Money, Ratio, Style};
use working::{Ledger, Working};

/// Cost, what is added to it, and the price.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sums {
    /// Sum of the cost lines.
    pub cost: Money,
    /// Overhead.
    pub overhead: Money,
    /// Margin.
    pub margin: Money,
    /// cost + overhead + margin.
    pub total: Money,
}

/// Overhead is a share of the cost, margin a share of the price: total = (cost + overhead) / (1 − margin).
///
/// A margin of 100 % or more leaves no price; none is added then.
///
/// ```
/// use quantity::{Money, Ratio};
/// let sums = price::sums(Money::cents(100_00), Ratio::percent(10.0), Ratio::percent(20.0));
/// assert_eq!(sums.total, Money::cents(137_50));
/// assert_eq!(sums.margin, Money::cents(27_50));
/// ```
pub fn sums(cost: Money, overhead: Ratio, margin: Ratio) -> Sums {
    let overhead = cost.times(overhead.to_one());
    let before = cost + overhead;
    let left = 1.0 - margin.to_one();
    let total = if left > 0.0 {
        before.times(1.0 / left)
    } else {
        before
    };
    Sums {
        cost,
        overhead,
        margin: total - before,
        total,
    }
}

/// Puts `price.cost`, `price.overhead`, `price.margin` and `price.total` into the ledger.
pub fn put_workings(job: &Job, lines: &[CostLine], sums: &Sums, ledger: &mut Ledger) {
    let start = Working::new(
        "Cost",
        sums.cost.amount(),
        "sum of the cost lines",
        "arithmetic",
    );
    let cost = lines.iter().fold(start, |working, line| {
        working.with(
            line.what.clone(),
            line.amount.amount(),
            format!("figure price.{}", line.id),
        )
    });
    ledger.put("price.cost", cost);
    let (overhead, margin) = (&job.prices.overhead, &job.prices.margin);
    let cost = |working: Working| working.with("cost", sums.cost.amount(), "figure price.cost");
    let added = |working: Working| {
        working.with("overhead", sums.overhead.amount(), "figure price.overhead")
    };
    ledger.put(
        "price.overhead",
        cost(Working::new(
            "Overhead",
            sums.overhead.amount(),
            "cost × share of cost",
            "arithmetic",
        ))
        .with("share of cost", percent(overhead.value), overhead.origin()),
    );
    ledger.put(
        "price.margin",
        added(cost(Working::new(
            "Margin",
            sums.margin.amount(),
            "total − cost − overhead",
            "arithmetic",
        )))
        .with("total", sums.total.amount(), "figure price.total"),
    );
    ledger.put(
        "price.total",
        added(cost(Working::new(
            "Price",
            sums.total.amount(),
            "(cost + overhead) / (1 − share of price), rounded to the cent",
            "arithmetic: the margin is a share of the price, not of the cost",
        )))
        .with("share of price", percent(margin.value), margin.origin())
        .approximately("taxes are left out"),
    );
}

fn percent(share: Ratio) -> Amount {
    Amount::new(share.to_one(), Style::Percent)
}
