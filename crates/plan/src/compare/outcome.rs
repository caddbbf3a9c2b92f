//! What came of two variants: money, days, methods, pipe, machines.

use super::{LinePair, Pair, Variant};
use crate::totals::totals;
use price::{CostGroup, CostLine};
use quantity::{Amount, Length, Money};
use std::collections::BTreeMap;
use working::Value;

/// Figures of one plan by their names, in the order in which they are told.
type Figures = Vec<(String, Value)>;

/// The cost lines of both, by group and id.
pub fn lines(both: [&Variant; 2]) -> Vec<LinePair> {
    let mut all: BTreeMap<(CostGroup, &str), [Option<&CostLine>; 2]> = BTreeMap::new();
    for (place, variant) in both.iter().enumerate() {
        for line in &variant.plan.price.lines {
            all.entry((line.group, &line.id)).or_default()[place] = Some(line);
        }
    }
    let pairs = all.into_iter().map(|((group, id), lines)| LinePair {
        group,
        id: id.to_owned(),
        what: lines.map(|line| line.map(|line| line.what.clone())),
        amounts: lines.map(|line| line.map_or(Money::ZERO, |line| line.amount)),
    });
    pairs.collect()
}

/// The cost of both by group of lines.
pub fn groups(both: [&Variant; 2]) -> Vec<LinePair> {
    let mut all: BTreeMap<CostGroup, [Option<Money>; 2]> = BTreeMap::new();
    for (place, variant) in both.iter().enumerate() {
        for line in &variant.plan.price.lines {
            let sum = &mut all.entry(line.group).or_default()[place];
            *sum = Some(sum.unwrap_or(Money::ZERO) + line.amount);
        }
    }
    let pairs = all.into_iter().map(|(group, sums)| LinePair {
        group,
        id: group.word().to_owned(),
        what: sums.map(|sum| sum.map(|_| group.word().to_owned())),
        amounts: sums.map(|sum| sum.unwrap_or(Money::ZERO)),
    });
    pairs.collect()
}

/// The figures of both side by side: those of the two in the order of the longer list, then by name.
pub fn pairs(both: [&Variant; 2], of: fn(&Variant) -> Figures) -> Vec<Pair> {
    let [before, after] = both.map(of);
    let known = |list: &Figures, what: &str| {
        let found = list.iter().find(|(name, _)| name == what);
        found.map(|(_, value)| value.clone())
    };
    let order: BTreeMap<&str, usize> = before.iter().zip(0..).chain(after.iter().zip(0..)).fold(
        BTreeMap::new(),
        |mut order, ((name, _), place)| {
            let known = order.entry(name.as_str()).or_insert(place);
            *known = place.max(*known);
            order
        },
    );
    let mut names: Vec<(usize, &str)> = order.into_iter().map(|(name, at)| (at, name)).collect();
    names.sort_unstable();
    names
        .into_iter()
        .map(|(_, name)| Pair {
            what: name.to_owned(),
            before: known(&before, name),
            after: known(&after, name),
        })
        .collect()
}

/// What makes the price.
pub fn sums(variant: &Variant) -> Figures {
    let price = &variant.plan.price;
    let taxes = price.with_tax - price.total;
    let mut sums = vec![
        ("cost", price.cost),
        ("overhead", price.overhead),
        ("profit", price.profit),
        ("price before tax", price.total),
        ("taxes on top", taxes),
        ("price with tax", price.with_tax),
    ];
    if let Some(ranged) = price.ranged {
        sums.extend([
            ("before tax, without contingency, 10 %", ranged.p10),
            ("before tax, without contingency, 50 %", ranged.p50),
            ("before tax, without contingency, 90 %", ranged.p90),
        ]);
    }
    let told = sums.into_iter();
    told.map(|(what, money)| (what.to_owned(), money.amount().into()))
        .collect()
}

/// Days, labour, trench, water.
pub fn figures(variant: &Variant) -> Figures {
    let network = &variant.plan.network;
    let sleeves = network.stretches.iter().filter(|s| s.sleeve.is_some());
    let counts = [
        ("stretches", network.stretches.len()),
        ("crossings of services", network.crossings.len()),
        ("sleeves", sleeves.count()),
    ];
    // Money has a list of its own, pipe too, and how much is proven says nothing of the job.
    let totals = totals(variant.plan).into_iter();
    let totals = totals.filter(|total| !["price", "cost", "pipe", "bound"].contains(&total.id));
    let totals = totals.map(|total| (total.what.to_owned(), total.amount.into()));
    let counts = counts.map(|(what, count)| (what.to_owned(), Amount::count(count).into()));
    totals.chain(counts).collect()
}

/// Route by method.
pub fn methods(variant: &Variant) -> Figures {
    let plan = variant.plan;
    let mut lengths: BTreeMap<&str, Length> = BTreeMap::new();
    for dig in &plan.digging.digs {
        let method = variant.job.prices.method.get(&dig.method);
        let label = method.map_or(dig.method.0.as_str(), |method| &method.label);
        *lengths.entry(label).or_default() += plan.network.stretch(dig.stretch).length;
    }
    of_lengths(lengths)
}

/// Pipe in the ground by family and size.
pub fn pipes(variant: &Variant) -> Figures {
    let plan = variant.plan;
    let mut lengths: BTreeMap<String, Length> = BTreeMap::new();
    for pipe in &plan.hydraulics.pipes {
        let family = variant.job.practice.pipe.get(&pipe.family);
        let label = family.map_or(pipe.family.as_str(), |family| &family.label);
        let name = format!("{label} {}", pipe.size);
        *lengths.entry(name).or_default() += plan.network.stretch(pipe.stretch).length;
    }
    of_lengths(lengths)
}

fn of_lengths(lengths: BTreeMap<impl Into<String>, Length>) -> Figures {
    let rows = lengths.into_iter();
    rows.map(|(name, length)| (name.into(), length.amount().into()))
        .collect()
}

/// Machines hired with their terms.
pub fn machines(variant: &Variant) -> Figures {
    let hires = variant.plan.digging.hires.iter();
    hires
        .map(|hire| (hire.label.clone(), hire.term.clone().into()))
        .collect()
}
