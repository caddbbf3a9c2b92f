//! Heads, drip feeds, valves and their boxes, backflow assembly, controller.

use crate::ItemGroup;
use crate::bill::{Bill, Entry, from_features, order_of, priced};
use job::{Job, OutletKind, Sourced, Valve};
use quantity::{Amount, Money, Style};
use std::collections::BTreeMap;
use working::Working;

/// The id of the controller's item.
pub const CONTROLLER: &str = "component.controller";

/// Puts all components on the list.
pub fn add(job: &Job, bill: &mut Bill) {
    let (system, prices) = (&job.system, &job.prices.item);
    let outlets = |kind| {
        let of_kind = system.outlets.iter().filter(move |o| o.kind == kind);
        of_kind.map(|o| o.id.as_str())
    };
    counted(
        bill,
        "head",
        "head",
        outlets(OutletKind::Head),
        &prices.head,
    );
    counted(
        bill,
        "drip",
        "drip feed: filter, regulator, connection",
        outlets(OutletKind::Drip),
        &prices.drip,
    );
    counted(
        bill,
        "valve",
        "valve",
        system.valves.iter().map(|v| v.id.as_str()),
        &prices.valve,
    );
    add_boxes(job, bill);
    counted(
        bill,
        "backflow",
        "backflow assembly",
        [system.backflow.id.as_str()].into_iter(),
        &prices.backflow,
    );
    add_swing_joints(job, bill);
    let controller = system.controller.iter().map(|c| c.id.as_str());
    counted(
        bill,
        "controller",
        "controller",
        controller,
        &prices.controller,
    );
}

/// Between the line's thread and the head.
fn add_swing_joints(job: &Job, bill: &mut Bill) {
    let (each, price) = (
        &job.practice.takeoff.swing_joints,
        &job.prices.item.swing_joint,
    );
    let heads = job
        .system
        .outlets
        .iter()
        .filter(|o| o.kind == OutletKind::Head);
    let count = heads.clone().count() * each.value as usize;
    let what = "swing joint";
    let working = order_of(
        what,
        "heads × swing joints under one; drip feeds take none; cost = order × price",
    )
    .with(
        "heads",
        Amount::count(heads.clone().count()),
        from_features(heads.map(|o| o.id.as_str())),
    )
    .with(
        "under one",
        Amount::count(each.value as usize),
        each.origin(),
    );
    let mut entry = entry("swing-joint", what, count, price, working);
    entry.id = "fitting.swing-joint".to_owned();
    entry.group = ItemGroup::Fitting;
    bill.add(entry);
}

fn counted<'j>(
    bill: &mut Bill,
    id: &str,
    what: &str,
    features: impl Iterator<Item = &'j str> + Clone,
    price: &Sourced<Money>,
) {
    let count = features.clone().count();
    let working = order_of(what, "one for each in the job; cost = order × price").with(
        "in the job",
        Amount::count(count),
        from_features(features),
    );
    bill.add(entry(id, what, count, price, working));
}

fn entry(id: &str, what: &str, count: usize, price: &Sourced<Money>, working: Working) -> Entry {
    Entry {
        id: format!("component.{id}"),
        group: ItemGroup::Component,
        what: what.to_owned(),
        net: Amount::count(count),
        needed: Amount::count(count),
        ordered: count as f64,
        order: Amount::count(count),
        sold_as: String::new(),
        unit: price.value,
        units: count as f64,
        working: priced(working, price, Style::Money),
    }
}

fn add_boxes(job: &Job, bill: &mut Bill) {
    let in_one = &job.practice.takeoff.valves_per_box;
    let price = &job.prices.item.valve_box;
    let working = order_of(
        "valve box",
        "for each manifold its valves / valves in one box, rounded up; one for each valve that stands alone; \
         cost = order × price",
    )
    .with("valves", Amount::count(job.system.valves.len()), from_features(job.system.valves.iter().map(|v| v.id.as_str())))
    .with("valves in one box", Amount::count(in_one.value as usize), in_one.origin());
    let boxes = boxes(&job.system.valves, in_one.value as usize);
    bill.add(entry("valve-box", "valve box", boxes, price, working));
}

/// Boxes for these valves, `in_one` to a box on a manifold.
fn boxes(valves: &[Valve], in_one: usize) -> usize {
    let mut manifolds: BTreeMap<&str, usize> = BTreeMap::new();
    for name in valves.iter().filter_map(|v| v.manifold.as_deref()) {
        *manifolds.entry(name).or_default() += 1;
    }
    let alone = valves.iter().filter(|v| v.manifold.is_none()).count();
    let shared = manifolds.values().map(|n| n.div_ceil(in_one.max(1)));
    alone + shared.sum::<usize>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::Place;

    fn valve(manifold: Option<&str>) -> Valve {
        Valve {
            id: "V".to_owned(),
            at: Place::new(0.0, 0.0),
            circuit: "C".to_owned(),
            manifold: manifold.map(str::to_owned),
            loss: None,
        }
    }

    #[test]
    fn four_valves_on_a_manifold_and_one_alone_take_three_boxes_of_three() {
        let mut valves = vec![valve(Some("M")); 4];
        valves.push(valve(None));
        assert_eq!(boxes(&valves, 3), 3);
        assert_eq!(boxes(&valves, 0), 5);
    }
}
