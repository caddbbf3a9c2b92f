//! The list as it grows, each item with its working.

use crate::{Item, ItemGroup};
use job::Sourced;
use quantity::{Amount, Length, Money, Style, Units};
use routes::StretchId;
use working::{Ledger, Working};

/// How many ids an input's origin names before it only counts the rest.
const NAMED: usize = 8;

pub struct Bill<'a> {
    items: Vec<Item>,
    ledger: &'a mut Ledger,
    pub units: Units,
}

/// An item before it is priced.
pub struct Entry {
    pub id: String,
    pub group: ItemGroup,
    pub what: String,
    pub needed: Amount,
    pub order: Amount,
    pub sold_as: String,
    /// Price of one unit.
    pub unit: Money,
    /// How many units are paid.
    pub units: f64,
    /// Its working without a value; the order and the cost are put in with it.
    pub working: Working,
}

impl<'a> Bill<'a> {
    pub fn new(units: Units, ledger: &'a mut Ledger) -> Self {
        Self {
            items: Vec::new(),
            ledger,
            units,
        }
    }

    /// Prices an item and takes it into the list; nothing is done for an order of nought.
    pub fn add(&mut self, entry: Entry) {
        if entry.units <= 0.0 {
            return;
        }
        let cost = entry.unit.times(entry.units);
        let mut working = entry.working;
        working.value = entry.order.into();
        let working = working
            .with("needed", entry.needed, "worked out here")
            .with("cost", cost.amount(), "order × price, rounded to the cent");
        self.ledger.put(format!("material.{}", entry.id), working);
        self.items.push(Item {
            id: entry.id,
            group: entry.group,
            what: entry.what,
            needed: entry.needed,
            order: entry.order,
            sold_as: entry.sold_as,
            cost,
        });
    }

    /// The items by group, otherwise in the order in which they came.
    pub fn finish(mut self) -> Vec<Item> {
        self.items.sort_by_key(|item| item.group);
        self.items
    }
}

/// The working of an order, its value still to be filled in.
pub fn order_of(what: &str, formula: impl Into<String>) -> Working {
    Working::new(
        format!("Order of {what}"),
        "",
        formula,
        "count or arithmetic on the plan's geometry",
    )
}

/// With a price of the price book as an input.
pub fn priced(working: Working, price: &Sourced<Money>, style: Style) -> Working {
    working.with(
        "price",
        Amount::new(price.value.to_units(), style),
        price.origin(),
    )
}

/// Where a sum over stretches comes from.
pub fn from_stretches(figure: &str, ids: &[StretchId]) -> String {
    match ids {
        [one] => format!("figure stretch.{one}.{figure}"),
        many => format!("figures stretch.*.{figure} of {}", listed(many)),
    }
}

/// Where a count of features comes from.
pub fn from_features<'b>(ids: impl Iterator<Item = &'b str>) -> String {
    let ids: Vec<&str> = ids.collect();
    match ids.as_slice() {
        [one] => format!("job feature {one}"),
        many => format!("job features {}", listed(many)),
    }
}

fn listed<T: std::fmt::Display>(ids: &[T]) -> String {
    let named: Vec<String> = ids.iter().take(NAMED).map(T::to_string).collect();
    match ids.len().saturating_sub(NAMED) {
        0 => named.join(", "),
        more => format!("{} and {more} more", named.join(", ")),
    }
}

/// A name as part of an id: lower case, without spaces.
pub fn slug(name: &str) -> String {
    name.to_lowercase().replace(' ', "-")
}

/// A length of a stick, coil or sleeve in words, without zeros behind the point.
pub fn short(length: Length, units: Units) -> String {
    let (number, unit) = length.amount().parts(units);
    let number = match number.contains('.') {
        true => number.trim_end_matches('0').trim_end_matches('.'),
        false => &number,
    };
    format!("{number} {unit}")
}
