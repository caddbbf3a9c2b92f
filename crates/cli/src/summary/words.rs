//! Parts of a plan in words, for the summary and for the tables in files.

use job::{Job, ProfitBy, TaxClass};
use plan::digging::Dig;
use plan::price::Price;
use plan::takeoff::ItemGroup;
use quantity::{Amount, Money, Ratio, Style, Units};

pub use layers::words::{contents, cost_group, method, node, sleeve, zones};

/// Every method that cannot do a stretch, and why.
pub fn cannot(job: &Job, dig: &Dig) -> String {
    let rejected = dig.rejected.iter();
    let words = rejected.map(|other| format!("{}: {}", method(job, &other.method), other.why));
    words.collect::<Vec<_>>().join(" | ")
}

pub fn item_group(group: ItemGroup) -> &'static str {
    match group {
        ItemGroup::Pipe => "pipe",
        ItemGroup::Fitting => "fittings",
        ItemGroup::Component => "components",
        ItemGroup::Wire => "wire",
        ItemGroup::Sleeve => "sleeves",
        ItemGroup::Ground => "ground",
    }
}

pub fn tax_class(class: TaxClass) -> &'static str {
    match class {
        TaxClass::Labour => "labour",
        TaxClass::Machines => "machines",
        TaxClass::Material => "material",
        TaxClass::Subtrades => "work of others",
        TaxClass::Disposal => "disposal",
        TaxClass::Fees => "permits and locates",
    }
}

/// The profit by both its names, first the one that the price book states.
pub fn profit(price: &Price) -> String {
    let margin = format!("margin {} of the price", share(price.margin));
    let markup = format!("markup {} on cost with overhead", share(price.markup));
    match price.profit_by {
        ProfitBy::Margin => format!("{margin} = {markup}"),
        ProfitBy::Markup => format!("{markup} = {margin}"),
    }
}

/// A share with two decimals; the same in all units.
pub fn share(share: Ratio) -> String {
    Amount::new(share.to_one(), Style::PriceShare).show(Units::Si)
}

/// A row under the cost lines.
pub struct Sum {
    pub group: &'static str,
    /// The id of its figure without `price.`.
    pub id: String,
    pub class: Option<TaxClass>,
    pub what: String,
    pub amount: Money,
}

/// What makes the price of the cost lines, in the order in which it is added.
pub fn sums(price: &Price) -> Vec<Sum> {
    let row = |group, id: &str, what: String, amount| Sum {
        group,
        id: id.to_owned(),
        class: None,
        what,
        amount,
    };
    let mut rows = vec![
        row("sum", "cost", "cost".to_owned(), price.cost),
        row("added", "overhead", "overhead".to_owned(), price.overhead),
        row(
            "added",
            "profit",
            format!("profit, {}", profit(price)),
            price.profit,
        ),
        row("sum", "total", "price before tax".to_owned(), price.total),
    ];
    rows.extend(price.taxes.iter().map(|tax| {
        let (class, rate) = (tax_class(tax.class), share(tax.rate));
        let what = format!("{rate} on {class}, {}", tax.base);
        let id = format!("tax.{}", tax.class.word());
        Sum {
            class: Some(tax.class),
            ..row("tax", &id, what, tax.amount)
        }
    }));
    rows.push(row(
        "sum",
        "with_tax",
        "price with tax".to_owned(),
        price.with_tax,
    ));
    rows
}
