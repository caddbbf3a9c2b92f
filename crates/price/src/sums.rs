//! From cost to price: overhead, profit by margin or markup, taxes, parts.

use crate::{CostGroup, CostLine, Part, TaxLine, allocate};
use job::{PriceBook, ProfitBy, TaxClass, TaxOn};
use quantity::{Money, Ratio};

/// The markup on cost that makes the same price as a margin: m / (1 − m). None for a margin of 100 % or more.
///
/// ```
/// use quantity::Ratio;
/// let markup = price::markup_of(Ratio::percent(20.0)).unwrap();
/// assert!((markup.to_percent() - 25.0).abs() < 1e-9);
/// ```
pub fn markup_of(margin: Ratio) -> Option<Ratio> {
    let left = 1.0 - margin.to_one();
    (left > 0.0).then(|| Ratio::one(margin.to_one() / left))
}

/// The margin, a share of the price, that makes the same price as a markup on cost: k / (1 + k).
pub fn margin_of(markup: Ratio) -> Ratio {
    Ratio::one(markup.to_one() / (1.0 + markup.to_one()))
}

/// What is added to the cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Added {
    /// Overhead, a share of the cost.
    pub overhead: Money,
    /// Profit.
    pub profit: Money,
    /// Cost, overhead and profit.
    pub total: Money,
    /// The profit's share of the total, before rounding.
    pub margin: Ratio,
    /// The profit's share of cost and overhead, before rounding.
    pub markup: Ratio,
}

/// Adds overhead as a share of the cost, and profit as a share of the price (margin) or of the cost with
/// overhead (markup); each is rounded once.
///
/// A margin of 100 % or more leaves no price; none is added then.
///
/// ```
/// use job::ProfitBy;
/// use quantity::{Money, Ratio};
/// let cost = Money::cents(100_00);
/// let added = price::add(cost, Ratio::percent(10.0), ProfitBy::Margin, Ratio::percent(20.0));
/// assert_eq!((added.total, added.profit), (Money::cents(137_50), Money::cents(27_50)));
/// assert_eq!(added, price::add(cost, Ratio::percent(10.0), ProfitBy::Markup, added.markup));
/// ```
pub fn add(cost: Money, overhead: Ratio, by: ProfitBy, share: Ratio) -> Added {
    let overhead = cost.times(overhead.to_one());
    let before = cost + overhead;
    let (margin, markup) = match by {
        ProfitBy::Markup => (margin_of(share), share),
        ProfitBy::Margin => match markup_of(share) {
            Some(markup) => (share, markup),
            None => (Ratio::ZERO, Ratio::ZERO),
        },
    };
    let profit = before.times(markup.to_one());
    Added {
        overhead,
        profit,
        total: before + profit,
        margin,
        markup,
    }
}

/// How a price is made of cost.
#[derive(Debug, Clone, PartialEq)]
pub struct Terms {
    /// Share of the cost.
    pub overhead: Ratio,
    /// What profit is a share of.
    pub by: ProfitBy,
    /// That share.
    pub profit: Ratio,
    /// Taxes that the customer pays, by the class.
    pub taxes: Vec<(TaxClass, Ratio)>,
}

impl Terms {
    /// Those of a price book.
    pub fn of(book: &PriceBook) -> Self {
        let charged = |class: &TaxClass| book.tax.of(*class).on.value == TaxOn::Price;
        let rate = |class| (class, book.tax.of(class).rate.value);
        Self {
            overhead: book.overhead.value,
            by: book.profit.by.value,
            profit: book.profit.share.value,
            taxes: TaxClass::ALL
                .into_iter()
                .filter(charged)
                .map(rate)
                .collect(),
        }
    }
}

/// Cost lines with all that is added to them.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// Sum of the lines.
    pub cost: Money,
    /// Overhead, profit, price before tax.
    pub added: Added,
    /// Taxes on top; those of no money are left out.
    pub taxes: Vec<TaxLine>,
    /// The price and its taxes.
    pub with_tax: Money,
    /// The price before tax by groups.
    pub parts: Vec<Part>,
}

/// Makes the price of cost lines. The order of the lines does not matter.
///
/// The price before tax is divided among the tax classes, and among the groups, in proportion to their lines;
/// a tax is its rate of its class's part, rounded once.
pub fn settle(lines: &[CostLine], terms: &Terms) -> Settled {
    let cost = lines.iter().map(|line| line.amount).sum();
    let added = add(cost, terms.overhead, terms.by, terms.profit);
    let of_class = |class| {
        let of = lines.iter().filter(|line| line.class == Some(class));
        of.map(|line| line.amount).sum::<Money>()
    };
    let bases = allocate(added.total, &TaxClass::ALL.map(of_class));
    let taxes: Vec<TaxLine> = TaxClass::ALL
        .into_iter()
        .zip(bases)
        .flat_map(|(class, base)| {
            let rates = terms.taxes.iter().filter(move |(of, _)| *of == class);
            rates.map(move |(class, rate)| TaxLine {
                class: *class,
                base,
                rate: *rate,
                amount: base.times(rate.to_one()),
            })
        })
        .filter(|tax| tax.amount != Money::ZERO)
        .collect();
    let with_tax = added.total + taxes.iter().map(|tax| tax.amount).sum();
    Settled {
        cost,
        added,
        taxes,
        with_tax,
        parts: parts(lines, added.total),
    }
}

/// The price before tax by groups of lines, those left out that have none.
fn parts(lines: &[CostLine], total: Money) -> Vec<Part> {
    let groups = CostGroup::ALL
        .into_iter()
        .filter(|group| !group.is_spread());
    let costs: Vec<(CostGroup, Money)> = groups
        .map(|group| {
            let of = lines.iter().filter(|line| line.group == group);
            (group, of.map(|line| line.amount).sum())
        })
        .collect();
    let weights: Vec<Money> = costs.iter().map(|(_, cost)| *cost).collect();
    let amounts = allocate(total, &weights);
    costs
        .iter()
        .zip(amounts)
        .map(|(&(group, _), amount)| Part { group, amount })
        .filter(|part| part.amount != Money::ZERO)
        .collect()
}
