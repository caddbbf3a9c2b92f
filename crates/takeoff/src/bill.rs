//! The list as it grows, each item with its working.

use crate::{Counter, Item, ItemGroup};
use job::Sourced;
use quantity::{Amount, Length, Money, Ratio, Style, Units};
use routes::StretchId;
use working::{Ledger, Working};

/// How many ids an input's origin names before it only counts the rest.
const NAMED: usize = 8;

pub struct Bill<'a> {
    items: Vec<Item>,
    ledger: &'a mut Ledger,
    pub units: Units,
    /// How long ways of cutting wire are searched.
    pub care: Care,
}

/// How long ways of cutting are searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Care {
    /// Each piece from where it leaves least, without a search.
    Simple,
    /// As long as it takes, within reason.
    Searched,
}

/// An item before it is priced.
pub struct Entry {
    pub id: String,
    pub group: ItemGroup,
    pub what: String,
    /// What goes into the ground.
    pub net: Amount,
    /// With the allowance for waste.
    pub needed: Amount,
    /// What the order comes to in the unit of `needed`.
    pub ordered: f64,
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
    pub fn new(units: Units, care: Care, ledger: &'a mut Ledger) -> Self {
        Self {
            items: Vec::new(),
            ledger,
            units,
            care,
        }
    }

    /// Prices an item and takes it into the list; nothing is done for an order of nought.
    pub fn add(&mut self, entry: Entry) {
        if entry.units <= 0.0 {
            return;
        }
        let cost = entry.unit.times(entry.units);
        let beyond = (entry.ordered - entry.net.value).max(0.0);
        let share = match entry.ordered > 0.0 {
            true => (beyond / entry.ordered).min(1.0),
            false => 0.0,
        };
        let waste = Amount::new(beyond, entry.needed.style);
        let mut working = entry.working;
        working.value = entry.order.into();
        let working = working
            .with("goes in", entry.net, "worked out here")
            .with("needed", entry.needed, "with the allowance for waste")
            .with(
                "beyond what goes in",
                waste,
                "what is ordered − what goes in",
            )
            .with("cost", cost.amount(), "order × price, rounded to the cent");
        self.ledger.put(format!("material.{}", entry.id), working);
        self.items.push(Item {
            counter: counter(entry.group, &entry.id),
            id: entry.id,
            group: entry.group,
            what: entry.what,
            net: Some(entry.net),
            needed: entry.needed,
            order: entry.order,
            sold_as: entry.sold_as,
            waste: Some(waste),
            cost,
            waste_cost: cost.times(share),
        });
    }

    /// Puts a figure that is no item into the ledger.
    pub fn note(&mut self, id: String, working: Working) {
        self.ledger.put(id, working);
    }

    /// The items by group, otherwise in the order in which they came.
    pub fn finish(mut self) -> Vec<Item> {
        self.items.sort_by_key(|item| item.group);
        self.items
    }
}

fn counter(group: ItemGroup, id: &str) -> Counter {
    match group {
        ItemGroup::Pipe | ItemGroup::Sleeve => Counter::Pipe,
        ItemGroup::Fitting => Counter::Fittings,
        ItemGroup::Wire => Counter::Wire,
        ItemGroup::Component if id == crate::components::CONTROLLER => Counter::Wire,
        ItemGroup::Component => Counter::Boxes,
        ItemGroup::Ground => Counter::Ground,
    }
}

/// A share ordered beyond what goes in, and where it is from.
pub struct Allowance<'j>(pub &'j Sourced<Ratio>);

impl Allowance<'_> {
    /// What is needed with it.
    pub fn on(&self, net: f64) -> f64 {
        net * (1.0 + self.0.value.to_one())
    }

    /// With the spare ones to the nearest whole one.
    pub fn on_count(&self, count: usize) -> usize {
        count + (count as f64 * self.0.value.to_one()).round() as usize
    }

    /// The working with it.
    pub fn with(&self, working: Working) -> Working {
        let share = Amount::new(self.0.value.to_one(), Style::Percent);
        working.with("waste", share, self.0.origin())
    }
}

/// Something sold in packs of one content.
pub struct Packed<'j> {
    pub id: &'static str,
    pub group: ItemGroup,
    pub what: String,
    /// In the unit of the content.
    pub net: Amount,
    pub waste: Allowance<'j>,
    /// Of one pack.
    pub content: f64,
    /// Such as `rolls of 250 ft`.
    pub sold_as: String,
    /// Of one pack.
    pub price: &'j Sourced<Money>,
    pub working: Working,
}

impl Bill<'_> {
    /// Puts something on the list that is sold in packs: as many as what is needed begins.
    pub fn add_packed(&mut self, packed: Packed) {
        let needed = packed.waste.on(packed.net.value);
        let packs = begun(needed, packed.content);
        let style = packed.needed_style();
        let working = packed.waste.with(packed.working);
        let working = working.with(
            "content of one",
            Amount::new(packed.content, style),
            packed.sold_as.clone(),
        );
        self.add(Entry {
            id: packed.id.to_owned(),
            group: packed.group,
            what: packed.what,
            net: packed.net,
            needed: Amount::new(needed, style),
            ordered: packs as f64 * packed.content,
            order: Amount::count(packs),
            sold_as: packed.sold_as,
            unit: packed.price.value,
            units: packs as f64,
            working: priced(working, packed.price, Style::Money),
        });
    }
}

impl Packed<'_> {
    fn needed_style(&self) -> Style {
        match self.net.style {
            // A share of spare things is no whole number of them.
            Style::Count => Style::Ratio,
            style => style,
        }
    }
}

/// Packs that a need begins; a hair's breadth over a whole number begins none.
pub fn begun(needed: f64, content: f64) -> usize {
    const HAIR: f64 = 1e-9;
    (needed / content * (1.0 - HAIR)).ceil().max(0.0) as usize
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
