//! Sums of the list, and the turns that take no item.

use crate::bends::Bend;
use crate::bill::Bill;
use crate::nodes::Fitted;
use crate::pipe::known;
use crate::{Bends, Counter, CounterSum, Item};
use job::Job;
use quantity::{Amount, Length, Money};
use std::collections::BTreeMap;
use working::{Ledger, Working};

/// What each counter comes to, and the whole; each with its working.
pub fn sum(items: &[Item], ledger: &mut Ledger) -> Vec<CounterSum> {
    let all: Vec<&Item> = items.iter().collect();
    ledger.put("material.total", total("Material", &all));
    let mut sums = Vec::new();
    for counter in Counter::ALL {
        let of_counter: Vec<&Item> = items.iter().filter(|i| i.counter == counter).collect();
        if of_counter.is_empty() {
            continue;
        }
        let id = format!("material.counter.{}", counter.label());
        let what = format!("Material asked for at the counter for {}", counter.label());
        let waste: Money = of_counter.iter().map(|item| item.waste_cost).sum();
        ledger.put(id.as_str(), total(&what, &of_counter));
        ledger.put(format!("{id}.waste"), of_waste(&what, &of_counter, waste));
        sums.push(CounterSum {
            counter,
            lines: of_counter.len(),
            cost: of_counter.iter().map(|item| item.cost).sum(),
            waste,
        });
    }
    sums
}

fn total(what: &str, items: &[&Item]) -> Working {
    let total: Money = items.iter().map(|item| item.cost).sum();
    let start = Working::new(
        what,
        total.amount(),
        "sum of the items' costs",
        "arithmetic",
    );
    items.iter().fold(start, |working, item| {
        let from = format!("figure material.{}", item.id);
        working.with(item.what.clone(), item.cost.amount(), from)
    })
}

fn of_waste(what: &str, items: &[&Item], waste: Money) -> Working {
    let start = Working::new(
        format!("{what}: the part that does not go in"),
        waste.amount(),
        "sum of the items' cost × (1 − goes in / ordered), each rounded to the cent",
        "arithmetic",
    );
    items.iter().fold(start, |working, item| {
        let from = format!("figure material.{}", item.id);
        working.with(item.what.clone(), item.waste_cost.amount(), from)
    })
}

/// The turns laid in bends by size.
pub fn bends(job: &Job, fitted: &[Fitted], bill: &mut Bill) -> Vec<Bends> {
    let mut by_size: BTreeMap<(&str, usize), Vec<Bend>> = BTreeMap::new();
    for line in fitted {
        let Some(first) = line.tree.reaches.first() else {
            continue;
        };
        for bend in &line.laid.bends {
            let key = (first.pipe.family.as_str(), bend.rank);
            by_size.entry(key).or_default().push(*bend);
        }
    }
    let mut found = Vec::new();
    for ((family, rank), bends) in by_size {
        let Some((style, size)) = known(job, family, rank) else {
            continue;
        };
        let radius = bends.iter().map(|b| b.radius).fold(f64::INFINITY, f64::min);
        let off = bends.iter().map(|b| b.off_corner).fold(0.0, f64::max);
        let bends = Bends {
            family: family.to_owned(),
            size: size.name.clone(),
            count: bends.len(),
            radius: Length::m(radius),
            off_corner: Length::m(off),
        };
        let id = format!("bends.{family}.{}", crate::bill::slug(&size.name));
        bill.note(id, of_bends(job, &style.label, &bends));
        found.push(bends);
    }
    found
}

fn of_bends(job: &Job, label: &str, bends: &Bends) -> Working {
    let rules = &job.practice;
    let (corner, fitted) = (&rules.takeoff.corner_cut, &rules.pull.bend_with_fitting);
    let pulled = &rules.pull.corner_cut;
    let start = Working::new(
        format!(
            "Turns of {label} {} laid in a bend, without a fitting",
            bends.size
        ),
        Amount::count(bends.count),
        "a turn α is laid in a bend of radius R if R tan(α/2) is there on both sides, less what bends \
         beside it take, and R (1/cos(α/2) − 1) is not above the farthest from the corner; as many as can \
         be; else it takes an elbow",
        "geometry of an arc between two tangents",
    );
    let start = start
        .with(
            "least radius laid",
            bends.radius.amount(),
            "worked out here",
        )
        .with(
            "farthest from a corner laid",
            bends.off_corner.small(),
            "worked out here",
        )
        .with(
            "farthest from the corner",
            corner.value.small(),
            corner.origin(),
        )
        .with(
            "the same where pipe is pulled in",
            pulled.value.small(),
            pulled.origin(),
        )
        .with(
            "least radius beside a fitting, of the outside diameter",
            Amount::ratio(fitted.value.to_one()),
            fitted.origin(),
        );
    let rows = rules.pull.pe.bend.iter();
    rows.fold(start, |working, row| {
        working.with(
            format!("least radius up to DR {}", row.dr.to_one()),
            Amount::ratio(row.over_outside.to_one()),
            format!("practice pull.pe.bend: {}", row.source),
        )
    })
    .approximately(
        "distances from things are kept by the planned line; the bend passes on the inside of its corner",
    )
}
