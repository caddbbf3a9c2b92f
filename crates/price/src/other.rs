//! Being rid of spoil, and shoring deep trenches.

use crate::CostGroup;
use crate::lines::{Entry, Lines, worked};
use digging::Digging;
use job::practice::Sides;
use job::prices::KG_PER_TONNE;
use job::{Job, TaxClass};
use quantity::{Amount, Area, Style, Volume};
use routes::Network;

/// A trench has two sides.
const SIDES: f64 = 2.0;

pub fn add(job: &Job, network: &Network, digging: &Digging, lines: &mut Lines) {
    add_by_volume(job, digging, lines);
    add_by_mass(job, network, digging, lines);
    add_shoring(job, network, digging, lines);
}

fn disposal(id: &str, what: &str) -> Entry {
    Entry::new(
        CostGroup::Disposal,
        TaxClass::Disposal,
        format!("disposal.{id}"),
        what,
    )
}

fn add_by_volume(job: &Job, digging: &Digging, lines: &mut Lines) {
    let loose: Volume = digging.digs.iter().map(|dig| dig.earth.haul).sum();
    let earth = &job.prices.earth;
    for (id, what, price) in [
        ("haul", "Hauling spoil off", &earth.haul),
        ("tipping", "Tipping spoil", &earth.tipping),
    ] {
        let per_volume = Amount::new(price.value.to_units(), Style::MoneyPerVolume);
        let working = worked("loose volume × price")
            .with(
                "loose volume",
                loose.amount(),
                "spoil that is left over, summed over the stretches",
            )
            .with("price", per_volume, price.origin());
        lines.add(
            disposal(id, what),
            price.value.times(loose.to_m3()),
            working,
        );
    }
}

fn add_by_mass(job: &Job, network: &Network, digging: &Digging, lines: &mut Lines) {
    let price = &job.prices.earth.tipping_by_mass;
    let mass = |dig: &digging::Dig| {
        let soil = &network.stretch(dig.stretch).ground.soil;
        let class = job.practice.soil_class_of(soil.texture);
        dig.earth.haul.to_m3() * class.loose_density(soil.moisture).to_kg_per_m3()
    };
    let mass: f64 = digging.digs.iter().map(mass).sum();
    let per_mass = Amount::new(price.value.to_units(), Style::MoneyPerMass);
    let working = worked("mass × price")
        .with(
            "mass",
            Amount::new(mass, Style::Mass),
            "sum over the stretches of loose volume to haul × dry density in place × (1 + water as found) / \
             loose over bank volume, practice soil_class",
        )
        .with("price", per_mass, price.origin())
        .approximately("stones weigh like the soil");
    lines.add(
        disposal("tipping_by_mass", "Tipping spoil, by mass"),
        price.value.times(mass / KG_PER_TONNE),
        working,
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
    let working = worked("2 × sum of depth × length over the shored stretches × price")
        .with(
            "depth × length",
            side.amount(),
            "figures stretch.*.depth and stretch.*.length",
        )
        .with("price", per_area, price.origin());
    // Shores are let like machines.
    let entry = Entry::new(
        CostGroup::Other,
        TaxClass::Machines,
        "other.shoring",
        "Shoring trenches",
    );
    lines.add(entry, price.value.times(side.to_m2() * SIDES), working);
}
