//! What goes into and onto the ground: bedding, material for the surfaces, pins.

use crate::ItemGroup;
use crate::bill::{Bill, Entry, from_stretches, order_of, priced};
use digging::{Dig, Digging};
use job::prices::MethodKind;
use job::{Job, SurfaceKind};
use quantity::{Amount, Area, Length, Style, Volume};
use routes::{Network, StretchId};

/// Puts bedding, surface material and pins on the list.
pub fn add(job: &Job, network: &Network, digging: &Digging, bill: &mut Bill) {
    add_bedding(job, digging, bill);
    for kind in SurfaceKind::ALL {
        add_surface(job, network, digging, kind, bill);
    }
    add_pins(job, network, digging, bill);
}

fn stretches<'d>(digs: impl Iterator<Item = &'d Dig>) -> Vec<StretchId> {
    digs.map(|dig| dig.stretch).collect()
}

fn add_bedding(job: &Job, digging: &Digging, bill: &mut Bill) {
    let waste = &job.practice.takeoff.bedding_waste;
    let price = &job.prices.earth.bedding;
    let bedded = || {
        digging
            .digs
            .iter()
            .filter(|d| d.fill.delivered > Volume::ZERO)
    };
    let delivered: Volume = bedded().map(|dig| dig.fill.delivered).sum();
    let needed = delivered * (1.0 + waste.value.to_one());
    let what = "bedding sand".to_owned();
    let working = order_of(
        &what,
        "volume delivered × (1 + waste); cost = order × price",
    )
    .with(
        "bedding and clean fill, loose as delivered",
        delivered.amount(),
        from_stretches("delivered", &stretches(bedded())),
    )
    .with(
        "waste",
        Amount::new(waste.value.to_one(), Style::Percent),
        waste.origin(),
    );
    bill.add(Entry {
        id: "ground.bedding".to_owned(),
        group: ItemGroup::Ground,
        net: delivered.amount(),
        needed: needed.amount(),
        ordered: needed.to_m3(),
        order: needed.amount(),
        sold_as: String::new(),
        unit: price.value,
        units: needed.to_m3(),
        working: priced(working, price, Style::MoneyPerVolume),
        what,
    });
}

fn add_surface(
    job: &Job,
    network: &Network,
    digging: &Digging,
    kind: SurfaceKind,
    bill: &mut Bill,
) {
    let Some(price) = job.prices.restore.get(&kind) else {
        return;
    };
    let spoiled = || {
        digging.digs.iter().filter(|dig| {
            network.stretch(dig.stretch).ground.surface == kind && dig.earth.restore > Area::ZERO
        })
    };
    let area: Area = spoiled().map(|dig| dig.earth.restore).sum();
    let what = surface_material(kind);
    let mut working = order_of(
        what,
        "area to make good × (1 + waste); cost = order × price",
    )
    .with(
        "area to make good",
        area.amount(),
        from_stretches("restore", &stretches(spoiled())),
    );
    let mut needed = area;
    if kind == SurfaceKind::LawnKept {
        let waste = &job.practice.takeoff.sod_waste;
        needed = area * (1.0 + waste.value.to_one());
        let share = Amount::new(waste.value.to_one(), Style::Percent);
        working = working.with("waste", share, waste.origin());
    }
    bill.add(Entry {
        id: surface_item(kind),
        group: ItemGroup::Ground,
        what: what.to_owned(),
        net: area.amount(),
        needed: needed.amount(),
        ordered: needed.to_m2(),
        order: needed.amount(),
        sold_as: String::new(),
        unit: price.value,
        units: needed.to_m2(),
        working: priced(working, price, Style::MoneyPerArea),
    });
}

/// The id of the item that makes a surface good.
fn surface_item(kind: SurfaceKind) -> String {
    format!("{}{}", crate::SURFACE_ITEMS, kind.label().replace(' ', "-"))
}

fn surface_material(kind: SurfaceKind) -> &'static str {
    match kind {
        SurfaceKind::LawnKept => "sod for the lawn kept",
        SurfaceKind::LawnRedone => "material for the lawn redone",
        SurfaceKind::Bed => "mulch and soil for planting beds",
        SurfaceKind::BareSoil => "material for bare soil",
        SurfaceKind::Gravel => "gravel",
        SurfaceKind::Concrete => "concrete",
        SurfaceKind::Asphalt => "asphalt",
        SurfaceKind::Pavers => "pavers and their bed",
    }
}

fn add_pins(job: &Job, network: &Network, digging: &Digging, bill: &mut Bill) {
    let price = &job.prices.item.pins;
    let on_surface = |dig: &&Dig| {
        let method = job.prices.method.get(&dig.method);
        method.is_some_and(|m| m.kind == MethodKind::Surface)
    };
    let pinned = stretches(digging.digs.iter().filter(on_surface));
    let needed: Length = pinned.iter().map(|s| network.stretch(*s).length).sum();
    let what = "pins for pipe on the surface".to_owned();
    let working = order_of(&what, "length on the surface; cost = order × price").with(
        "length",
        needed.amount(),
        from_stretches("length", &pinned),
    );
    bill.add(Entry {
        id: "pins".to_owned(),
        group: ItemGroup::Ground,
        net: needed.amount(),
        needed: needed.amount(),
        ordered: needed.to_m(),
        order: needed.amount(),
        sold_as: String::new(),
        unit: price.value,
        units: needed.to_m(),
        working: priced(working, price, Style::MoneyPerLength),
        what,
    });
}
