//! What is left over of wider pipe serves as sleeves.
//!
//! A sleeve is moved to wider rigid pipe of the list if that takes no stick more. The move stands only
//! if the sleeves' own pipe then takes a stick less, so that nothing is cut wider for no gain.

use crate::bill::Bill;
use crate::pipe::{Cut, Kindred, Lots, known, price_of};
use job::Job;
use job::practice::PipeMaterial;
use quantity::Amount;
use working::Working;

/// Moves what can be moved and notes what it saves.
pub fn for_sleeves(job: &Job, lots: &mut Lots, bill: &mut Bill) {
    if !job.practice.takeoff.sleeves_from_offcuts.value {
        return;
    }
    let sleeved = lots.iter().filter(|(_, lot)| !lot.sleeves.is_empty());
    let sleeved: Vec<Kindred> = sleeved.map(|(kindred, _)| kindred.clone()).collect();
    for kindred in sleeved {
        let before = sticks(job, lots, &kindred);
        let (tried, moved) = moved(job, lots, &kindred);
        let after = sticks(job, &tried, &kindred);
        if after < before {
            *lots = tried;
            note(job, &kindred, (before - after, moved), bill);
        }
    }
    lots.retain(|_, lot| !lot.is_empty());
}

fn sticks(job: &Job, lots: &Lots, kindred: &Kindred) -> usize {
    let family = job.practice.pipe.get(&kindred.0);
    let lot = lots.get(kindred).zip(family);
    lot.map_or(0, |(lot, family)| lot.cut(job, family).sticks.len())
}

/// The lots with as many sleeves moved as go into offcuts, and how many those are.
fn moved(job: &Job, lots: &Lots, kindred: &Kindred) -> (Lots, usize) {
    let mut tried = lots.clone();
    let own = tried.get_mut(kindred);
    let sleeves = own.map_or_else(Vec::new, |lot| std::mem::take(&mut lot.sleeves));
    let wider = wider(job, lots, kindred);
    let mut count = 0;
    for sleeve in sleeves {
        let to = wider
            .iter()
            .find(|to| takes_no_more(job, &tried, to, &sleeve));
        let mut sleeve = sleeve;
        if to.is_some() {
            count += 1;
            sleeve.place += ", wider than it has to be";
        }
        let lot = tried.entry(to.unwrap_or(kindred).clone()).or_default();
        lot.sleeves.push(sleeve);
    }
    (tried, count)
}

/// Whether a lot takes no stick more with one sleeve more.
fn takes_no_more(job: &Job, lots: &Lots, to: &Kindred, sleeve: &Cut) -> bool {
    let mut with = lots.clone();
    with.entry(to.clone())
        .or_default()
        .sleeves
        .push(sleeve.clone());
    sticks(job, &with, to) == sticks(job, lots, to)
}

/// Rigid pipe of the list that is wider, the narrowest first.
fn wider(job: &Job, lots: &Lots, kindred: &Kindred) -> Vec<Kindred> {
    let bore = |(family, rank): &Kindred| known(job, family, *rank).map(|(_, size)| size.inside);
    let rigid = |(family, rank): &Kindred| {
        known(job, family, *rank).is_some_and(|(family, _)| family.material == PipeMaterial::Pvc)
    };
    let fits = |other: &&Kindred| *other != kindred && rigid(other) && bore(other) >= bore(kindred);
    let mut wider: Vec<Kindred> = lots.keys().filter(fits).cloned().collect();
    wider.sort_by_key(|other| bore(other).map(|bore| crate::pipe::whole(bore.to_m())));
    wider
}

fn note(job: &Job, kindred: &Kindred, (saved, moved): (usize, usize), bill: &mut Bill) {
    let Some((family, size)) = known(job, &kindred.0, kindred.1) else {
        return;
    };
    let price = price_of(job, &kindred.0, size);
    let metres = saved as f64 * family.piece.value.to_m();
    let money = price.map_or(0.0, |price| price.value.times(metres).to_units());
    let allowed = &job.practice.takeoff.sleeves_from_offcuts;
    let working = Working::new(
        format!("Saved by sleeves from offcuts, {} {}", family.label, size.name),
        Amount::new(money, quantity::Style::Money),
        "sticks that the sleeves would take of their own size less those that they take, × length of one × \
         price",
        "arithmetic",
    )
    .with("sleeves moved", Amount::count(moved), "to offcuts of wider pipe of the list")
    .with("sticks saved", Amount::count(saved), "both ways cut from the fewest found")
    .with("length of one", family.piece.value.amount(), family.piece.origin())
    .with("allowed", if allowed.value { "yes" } else { "no" }, allowed.origin());
    let id = format!("offcuts.{}.{}", kindred.0, crate::bill::slug(&size.name));
    bill.note(id, working);
}
