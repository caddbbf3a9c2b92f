//! Hauling spoil off, and shoring deep trenches.

use crate::CostGroup;
use crate::lines::{Lines, worked};
use digging::Digging;
use job::Job;
use job::practice::Sides;
use quantity::{Amount, Area, Style, Volume};
use routes::Network;

/// A trench has two sides.
const SIDES: f64 = 2.0;

pub fn add(job: &Job, network: &Network, digging: &Digging, lines: &mut Lines) {
    add_haul(job, digging, lines);
    add_shoring(job, network, digging, lines);
}

fn add_haul(job: &Job, digging: &Digging, lines: &mut Lines) {
    let price = &job.prices.earth.haul;
    let loose: Volume = digging.digs.iter().map(|dig| dig.earth.haul).sum();
    let per_volume = Amount::new(price.value.to_units(), Style::MoneyPerVolume);
    lines.add(
        CostGroup::Other,
        "other.haul".to_owned(),
        "Hauling spoil off".to_owned(),
        price.value.times(loose.to_m3()),
        worked("loose volume × price")
            .with(
                "loose volume",
                loose.amount(),
                "spoil that is left over, summed over the stretches",
            )
            .with("price", per_volume, price.origin()),
    );
}

fn add_shoring(job: &Job, network: &Network, digging: &Digging, lines: &mut Lines) {
    let price = &job.prices.earth.shoring;
    let shored = digging
        .digs
        .iter()
        .filter(|dig| dig.section.sides == Sides::Shored);
    let side: Area = shored
        .map(|dig| dig.section.depth * network.stretch(dig.stretch).length)
        .sum();
    let per_area = Amount::new(price.value.to_units(), Style::MoneyPerArea);
    lines.add(
        CostGroup::Other,
        "other.shoring".to_owned(),
        "Shoring trenches".to_owned(),
        price.value.times(side.to_m2() * SIDES),
        worked("2 × sum of depth × length over the shored stretches × price")
            .with(
                "depth × length",
                side.amount(),
                "figures stretch.*.depth and stretch.*.length",
            )
            .with("price", per_area, price.origin()),
    );
}
