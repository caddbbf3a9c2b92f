//! What marks the route before it is dug, and what marks it for those who dig later.

use crate::ItemGroup;
use crate::bill::{Allowance, Bill, Packed, from_features, from_stretches, order_of, short};
use crate::spools::{self, Wanted};
use crate::{ItemGroup as Group, Spooling};
use digging::{Digging, MarkerKind};
use job::Job;
use quantity::{Amount, Length};
use routes::{Network, StretchId};

/// Puts paint, flags and marking tape on the list.
pub fn add(job: &Job, network: &Network, digging: &Digging, bill: &mut Bill) {
    add_paint(job, network, bill);
    add_flags(job, network, bill);
    add_tape(job, network, digging, bill);
}

fn add_paint(job: &Job, network: &Network, bill: &mut Bill) {
    let reach = &job.practice.takeoff.paint_reach;
    let working = order_of(
        "marking paint",
        "length of all trenches × (1 + waste), in whole cans",
    )
    .with(
        "route",
        network.length().amount(),
        "figures stretch.*.length",
    )
    .with("a can does", reach.value.amount(), reach.origin());
    bill.add_packed(Packed {
        id: "marking.paint",
        group: ItemGroup::Ground,
        what: "marking paint".to_owned(),
        net: network.length().amount(),
        waste: Allowance(&job.practice.takeoff.waste.marking),
        content: reach.value.to_m(),
        sold_as: format!("cans for {}", short(reach.value, bill.units)),
        price: &job.prices.item.paint,
        working,
    });
}

fn add_flags(job: &Job, network: &Network, bill: &mut Bill) {
    let rules = &job.practice.takeoff;
    let spacing = &rules.flag_spacing;
    let (outlets, valves) = (&job.system.outlets, &job.system.valves);
    let along = (network.length() / spacing.value).floor() as usize;
    let count = outlets.len() + valves.len() + along;
    let working = order_of(
        "flags",
        "one at each head, drip feed and valve, and route / spacing, rounded down; × (1 + waste), in \
         whole bundles",
    )
    .with("heads and drip feeds", Amount::count(outlets.len()), from_features(outlets.iter().map(|o| o.id.as_str())))
    .with("valves", Amount::count(valves.len()), from_features(valves.iter().map(|v| v.id.as_str())))
    .with("route", network.length().amount(), "figures stretch.*.length")
    .with("spacing", spacing.value.amount(), spacing.origin());
    bill.add_packed(Packed {
        id: "marking.flags",
        group: ItemGroup::Ground,
        what: "flags".to_owned(),
        net: Amount::count(count),
        waste: Allowance(&rules.waste.marking),
        content: f64::from(rules.flag_bundle.value),
        sold_as: format!("bundles of {}", rules.flag_bundle.value),
        price: &job.prices.item.flags,
        working,
    });
}

/// The stretches in whose section a marker lies, and their length.
fn marked(network: &Network, digging: &Digging, kind: MarkerKind) -> (Vec<StretchId>, Length) {
    let with = |dig: &&digging::Dig| dig.section.markers.iter().any(|m| m.kind == kind);
    let digs = digging.digs.iter().filter(with);
    let stretches: Vec<StretchId> = digs.map(|dig| dig.stretch).collect();
    let length = stretches.iter().map(|s| network.stretch(*s).length).sum();
    (stretches, length)
}

fn add_tape(job: &Job, network: &Network, digging: &Digging, bill: &mut Bill) {
    let roll = &job.practice.takeoff.tape_roll;
    let (stretches, length) = marked(network, digging, MarkerKind::Tape);
    let formula = "length of the trenches in whose section it lies × (1 + waste), in whole rolls; cost = \
                   order × length of a roll × price";
    let working = order_of(MarkerKind::Tape.label(), formula)
        .with(
            "length",
            length.amount(),
            from_stretches("length", &stretches),
        )
        .with("length of a roll", roll.value.amount(), roll.origin());
    let share = Allowance(&job.practice.takeoff.waste.marking);
    let needed = Length::m(share.on(length.to_m()));
    let rolls = crate::bill::begun(needed.to_m(), roll.value.to_m());
    let price = &job.prices.item.tape;
    bill.add(crate::bill::Entry {
        id: "tape".to_owned(),
        group: Group::Wire,
        what: MarkerKind::Tape.label().to_owned(),
        net: length.amount(),
        needed: needed.amount(),
        ordered: rolls as f64 * roll.value.to_m(),
        order: Amount::count(rolls),
        sold_as: format!("rolls of {}", short(roll.value, bill.units)),
        unit: price.value,
        units: rolls as f64 * roll.value.to_m(),
        working: crate::bill::priced(share.with(working), price, quantity::Style::MoneyPerLength),
    });
}

/// Puts the tracer wire on the list.
pub fn add_tracer(
    job: &Job,
    network: &Network,
    digging: &Digging,
    bill: &mut Bill,
) -> Option<Spooling> {
    let (stretches, length) = marked(network, digging, MarkerKind::Tracer);
    let formula = "length of the trenches in whose section it lies";
    let working = spools::order_of_wire(MarkerKind::Tracer.label(), formula)
        .with(
            "length",
            length.amount(),
            from_stretches("length", &stretches),
        )
        .approximately("in one length, joined where a spool ends and where the trenches part");
    let pieces = [spools::Piece {
        length,
        place: "along the trenches".to_owned(),
    }];
    spools::add(
        bill,
        Wanted {
            id: "tracer".to_owned(),
            what: MarkerKind::Tracer.label().to_owned(),
            pieces: pieces.into(),
            lengths: &job.practice.takeoff.tracer_spools,
            waste: Allowance(&job.practice.takeoff.waste.marking),
            price: &job.prices.item.tracer,
            working,
        },
    )
    .map(|(spooling, _)| spooling)
}
