//! The workings of the sums: cost, overhead, profit, price, taxes, parts.

use crate::{CostLine, Settled};
use job::{Job, ProfitBy, TaxClass};
use quantity::{Amount, Money, Ratio, Style};
use working::{Ledger, Working};

/// Puts `price.cost` and all that is added to it into the ledger.
pub fn put(job: &Job, lines: &[CostLine], settled: &Settled, ledger: &mut Ledger) {
    if ledger.is_closed() {
        return;
    }
    let told = Told { job, settled };
    ledger.put("price.cost", told.cost(lines));
    ledger.put("price.overhead", told.overhead());
    ledger.put("price.margin", told.margin());
    ledger.put("price.markup", told.markup());
    ledger.put("price.profit", told.profit());
    ledger.put("price.total", told.total());
    for tax in &settled.taxes {
        let id = format!("price.tax.{}", tax.class.word());
        ledger.put(format!("{id}.base"), told.base(tax.class, tax.base, lines));
        let rate = &job.prices.tax.of(tax.class).rate;
        let what = format!("Tax on {}", tax.class.word());
        let working = worked(&what, tax.amount, "base × rate, rounded once to the cent")
            .with("base", tax.base.amount(), format!("figure {id}.base"))
            .with("rate", share(tax.rate), rate.origin());
        ledger.put(id, working);
    }
    ledger.put("price.with_tax", told.with_tax());
    for part in &settled.parts {
        let word = part.group.word();
        ledger.put(format!("price.part.{word}"), told.part(word, part.amount));
    }
}

struct Told<'a> {
    job: &'a Job,
    settled: &'a Settled,
}

impl Told<'_> {
    fn cost(&self, lines: &[CostLine]) -> Working {
        let start = worked("Cost", self.settled.cost, "sum of the cost lines");
        lines.iter().fold(start, with_line)
    }

    fn overhead(&self) -> Working {
        let overhead = &self.job.prices.overhead;
        let added = self.settled.added.overhead;
        let working = worked("Overhead", added, "cost × share of cost");
        self.with_cost(working)
            .with("share of cost", share(overhead.value), overhead.origin())
    }

    fn margin(&self) -> Working {
        let value = share(self.settled.added.margin);
        let label = "Margin: profit as a share of the price before tax";
        match self.by() {
            ProfitBy::Margin => self.stated(Working::new(label, value, "as stated", "arithmetic")),
            ProfitBy::Markup => Working::new(label, value, "markup / (1 + markup)", "arithmetic")
                .with(
                    "markup",
                    share(self.settled.added.markup),
                    "figure price.markup",
                ),
        }
    }

    fn markup(&self) -> Working {
        let value = share(self.settled.added.markup);
        let label = "Markup: profit as a share of the cost with overhead";
        match self.by() {
            ProfitBy::Markup => self.stated(Working::new(label, value, "as stated", "arithmetic")),
            ProfitBy::Margin => Working::new(label, value, "margin / (1 − margin)", "arithmetic")
                .with(
                    "margin",
                    share(self.settled.added.margin),
                    "figure price.margin",
                ),
        }
    }

    fn profit(&self) -> Working {
        let formula = "(cost + overhead) × markup, rounded to the cent";
        let working = worked("Profit", self.settled.added.profit, formula);
        self.with_overhead(working).with(
            "markup",
            share(self.settled.added.markup),
            "figure price.markup",
        )
    }

    fn total(&self) -> Working {
        let formula = "cost + overhead + profit";
        let working = worked("Price before tax", self.settled.added.total, formula);
        self.with_overhead(working).with(
            "profit",
            self.settled.added.profit.amount(),
            "figure price.profit",
        )
    }

    fn with_tax(&self) -> Working {
        let start = worked(
            "Price with tax",
            self.settled.with_tax,
            "price before tax + taxes that the customer pays",
        )
        .with(
            "price before tax",
            self.settled.added.total.amount(),
            "figure price.total",
        );
        self.settled.taxes.iter().fold(start, |working, tax| {
            let word = tax.class.word();
            let from = format!("figure price.tax.{word}");
            working.with(format!("tax on {word}"), tax.amount.amount(), from)
        })
    }

    fn base(&self, class: TaxClass, base: Money, lines: &[CostLine]) -> Working {
        let label = format!("Part of the price before tax that is {}", class.word());
        let formula = "price before tax × cost of these lines / cost of all lines that have a class, by the \
                       largest remainder to the cent";
        let start = worked(&label, base, formula).with(
            "price before tax",
            self.settled.added.total.amount(),
            "figure price.total",
        );
        lines
            .iter()
            .filter(|line| line.class == Some(class))
            .fold(start, with_line)
    }

    fn part(&self, word: &str, amount: Money) -> Working {
        let label = format!("Part of the price before tax: {word}");
        let formula = "price before tax × cost of this group / cost of all groups but what is spread, by the \
                       largest remainder to the cent";
        worked(&label, amount, formula)
            .with(
                "price before tax",
                self.settled.added.total.amount(),
                "figure price.total",
            )
            .with("cost", self.settled.cost.amount(), "figure price.cost")
    }

    fn by(&self) -> ProfitBy {
        self.job.prices.profit.by.value
    }

    fn stated(&self, working: Working) -> Working {
        let profit = &self.job.prices.profit;
        working
            .with("profit by", profit.by.value.word(), profit.by.origin())
            .with("share", share(profit.share.value), profit.share.origin())
    }

    fn with_cost(&self, working: Working) -> Working {
        working.with("cost", self.settled.cost.amount(), "figure price.cost")
    }

    fn with_overhead(&self, working: Working) -> Working {
        let overhead = self.settled.added.overhead.amount();
        self.with_cost(working)
            .with("overhead", overhead, "figure price.overhead")
    }
}

fn with_line(working: Working, line: &CostLine) -> Working {
    let from = format!("figure price.{}", line.id);
    working.with(line.what.clone(), line.amount.amount(), from)
}

fn worked(label: &str, value: Money, formula: &str) -> Working {
    Working::new(label, value.amount(), formula, "arithmetic")
}

/// A share with two decimals, so that a margin and its markup read as the pair that they are.
pub fn share(share: Ratio) -> Amount {
    Amount::new(share.to_one(), Style::PriceShare)
}
