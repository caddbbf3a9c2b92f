//! What others do: boring under paving, paving put back.

use crate::CostGroup;
use crate::lines::{Entry, Lines, worked};
use digging::Digging;
use job::{Job, SurfaceKind, TaxClass};
use quantity::{Amount, Area, Length, Money, Style};
use routes::{Network, StretchId};

pub fn add(job: &Job, network: &Network, digging: &Digging, lines: &mut Lines) {
    add_boring(job, network, lines);
    for surface in SurfaceKind::ALL {
        add_paving(job, network, digging, surface, lines);
    }
}

fn add_boring(job: &Job, network: &Network, lines: &mut Lines) {
    let prices = &job.prices.subtrade;
    let bored: Vec<(StretchId, Length)> = network
        .iter()
        .filter(|(_, stretch)| {
            let sleeve = stretch.sleeve.as_ref();
            sleeve.is_some_and(|sleeve| sleeve.existing.is_none())
        })
        .map(|(id, stretch)| (id, stretch.length))
        .collect();
    let length: Length = bored.iter().map(|(_, length)| *length).sum();
    let price = &prices.boring;
    if bored.is_empty() || price.value == Money::ZERO {
        return;
    }
    let start = worked("sum of the lengths of new sleeves × price");
    let working = bored.iter().fold(start, |working, (id, length)| {
        let from = format!("figure stretch.{id}.length");
        working.with(format!("under paving, {id}"), length.amount(), from)
    });
    let per_length = Amount::new(price.value.to_units(), Style::MoneyPerLength);
    let entry =
        |id: &str, what: &str| Entry::new(CostGroup::Subtrade, TaxClass::Subtrades, id, what);
    lines.add(
        entry("subtrade.boring", "Boring sleeves under paving"),
        price.value.times(length.to_m()),
        working.with("price", per_length, price.origin()),
    );
    let visit = &prices.boring_visit;
    lines.add(
        entry("subtrade.boring_visit", "Boring crew: coming and going"),
        visit.value,
        worked("once").with("fee", visit.value.amount(), visit.origin()),
    );
}

fn add_paving(
    job: &Job,
    network: &Network,
    digging: &Digging,
    surface: SurfaceKind,
    lines: &mut Lines,
) {
    let Some(price) = job.prices.subtrade.paving.get(&surface) else {
        return;
    };
    let on_it = |id: StretchId| network.stretch(id).ground.surface == surface;
    let spoilt = digging.digs.iter().filter(|dig| on_it(dig.stretch));
    let spoilt: Vec<(StretchId, Area)> = spoilt
        .map(|dig| (dig.stretch, dig.earth.restore))
        .filter(|(_, area)| *area > Area::ZERO)
        .collect();
    let area: Area = spoilt.iter().map(|(_, area)| *area).sum();
    let start = worked("sum of the surface to make good × price");
    let working = spoilt.iter().fold(start, |working, (id, area)| {
        working.with(
            id.to_string(),
            area.amount(),
            format!("figure stretch.{id}.restore"),
        )
    });
    let per_area = Amount::new(price.value.to_units(), Style::MoneyPerArea);
    let entry = Entry::new(
        CostGroup::Restoration,
        TaxClass::Subtrades,
        format!("restoration.paving.{}", surface.label().replace(' ', "_")),
        format!("Restoration by a sub-trade: {}", surface.label()),
    );
    lines.add(
        entry,
        price.value.times(area.to_m2()),
        working.with("price", per_area, price.origin()),
    );
}
