//! New sleeves under paving, by the bundle that goes through.

use crate::ItemGroup;
use crate::bill::{Bill, Entry, order_of, priced, slug};
use crate::pipe::{Cut, Kindred, Lots, whole};
use digging::{Content, Digging};
use job::Job;
use job::practice::{PipeMaterial, PipeSize};
use quantity::{Amount, Length, Money, Style};
use routes::{Network, StretchId};
use std::collections::BTreeMap;

/// The end of an item's id, the size in words, and the pipe that it is cut from.
type Size = (String, String, Option<Kindred>);

/// New sleeves of one size.
#[derive(Default)]
struct Lot {
    length: Length,
    needs: Length,
    stretches: Vec<StretchId>,
}

/// The new sleeves by size; sleeves that lie there already cost nothing.
#[derive(Default)]
pub struct Sleeves(BTreeMap<Size, Lot>);

/// The new sleeves, the pipe that they are cut from put to the other pipe.
pub fn find(
    job: &Job,
    network: &Network,
    digging: &Digging,
    bill: &Bill,
    pipe: &mut Lots,
) -> Sleeves {
    let over = &job.practice.paving.sleeve_over_bundle;
    let mut lots: BTreeMap<Size, Lot> = BTreeMap::new();
    for (id, stretch) in network.iter() {
        let is_new = stretch
            .sleeve
            .as_ref()
            .is_some_and(|s| s.existing.is_none());
        let Some(dig) = digging.digs.get(id.index()).filter(|_| is_new) else {
            continue;
        };
        let needs = bundle(&dig.section.contents) * over.value.to_one();
        let lot = lots.entry(size_for(job, needs, bill)).or_default();
        lot.length += stretch.length;
        lot.needs = lot.needs.max(needs);
        lot.stretches.push(id);
    }
    for ((_, _, kindred), lot) in &lots {
        let Some(kindred) = kindred else { continue };
        let sleeves = lot.stretches.iter().map(|stretch| Cut {
            length: whole(network.stretch(*stretch).length.to_m()),
            place: format!("sleeve, {stretch}"),
        });
        let of_pipe = pipe.entry(kindred.clone()).or_default();
        of_pipe.sleeves.extend(sleeves.filter(|cut| cut.length > 0));
    }
    Sleeves(lots)
}

/// Puts the sleeves on the list; their pipe is on it as pipe.
pub fn add(job: &Job, sleeves: &Sleeves, bill: &mut Bill) {
    for ((id, size, kindred), lot) in &sleeves.0 {
        add_lot(job, (id, size, kindred.is_some()), lot, bill);
    }
}

/// Diameter of the circle with the area of everything that goes through.
pub fn bundle(contents: &[Content]) -> Length {
    let squares = contents
        .iter()
        .map(|c| f64::from(c.count) * c.outside.to_m().powi(2));
    Length::m(squares.sum::<f64>().sqrt())
}

/// The rigid pipe with the smallest bore that is wide enough, or the bore in words.
fn size_for(job: &Job, needs: Length, bill: &Bill) -> Size {
    let fits = |size: &(usize, &PipeSize)| size.1.inside >= needs;
    let rigid = job
        .practice
        .pipe
        .iter()
        .filter(|(_, family)| family.material == PipeMaterial::Pvc);
    let smallest = rigid
        .filter_map(|(key, family)| {
            Some((key, family, family.sizes.iter().enumerate().find(fits)?))
        })
        .min_by(|(_, _, (_, a)), (_, _, (_, b))| a.inside.total_cmp(&b.inside));
    match smallest {
        Some((key, family, (rank, size))) => (
            format!("{key}.{}", slug(&size.name)),
            format!("{}, {}", size.name, family.label),
            Some((key.clone(), rank)),
        ),
        None => {
            let bore = needs.small().show(bill.units);
            (slug(&bore), format!("of {bore} inside at least"), None)
        }
    }
}

fn add_lot(job: &Job, (id, size, listed): (&str, &str, bool), lot: &Lot, bill: &mut Bill) {
    let over = &job.practice.paving.sleeve_over_bundle;
    let price = &job.prices.item.sleeve;
    let (what, unit) = match listed {
        true => (format!("sleeve {size}; ordered with the pipe"), Money::ZERO),
        false => (
            format!("sleeve {size}; ask for its pipe, no family here is so wide"),
            price.value,
        ),
    };
    let mut working = order_of(
        &what,
        "length of the stretches under paving; its bore is at least the bundle's diameter × the ratio, the \
         bundle's diameter is that of the circle with the area of all that goes through; cost = order × price",
    );
    for stretch in &lot.stretches {
        let from = format!("figure stretch.{stretch}.length");
        working = working.with(format!("length under paving, {stretch}"), "as there", from);
    }
    let working = working
        .with("bore needed at most", lot.needs.small(), "worked out here from the contents")
        .with("ratio", Amount::ratio(over.value.to_one()), over.origin())
        .approximately("as long as the routed stretch; what stands out beyond the paving's edges is not added here");
    bill.add(Entry {
        id: format!("sleeve.{id}"),
        group: ItemGroup::Sleeve,
        net: lot.length.amount(),
        needed: lot.length.amount(),
        ordered: lot.length.to_m(),
        order: lot.length.amount(),
        sold_as: String::new(),
        unit,
        units: lot.length.to_m(),
        working: match listed {
            true => working.with("price", Money::ZERO.amount(), "with the pipe"),
            false => priced(working, price, Style::MoneyPerLength),
        },
        what,
    });
}
