//! Material and restoration lines, from the material list.

use crate::CostGroup;
use crate::lines::{Entry, Lines, worked};
use job::TaxClass;
use takeoff::{Item, ItemGroup, SURFACE_ITEMS, Takeoff};

const GROUPS: [(ItemGroup, &str, &str); 6] = [
    (ItemGroup::Pipe, "pipe", "Pipe"),
    (ItemGroup::Fitting, "fittings", "Fittings"),
    (
        ItemGroup::Component,
        "components",
        "Heads, valves, boxes, backflow assembly, controller",
    ),
    (ItemGroup::Wire, "wire", "Wire, cable, splices, tape"),
    (ItemGroup::Sleeve, "sleeves", "Sleeves"),
    (ItemGroup::Ground, "ground", "Bedding, pins"),
];

pub fn add(takeoff: &Takeoff, lines: &mut Lines) {
    for (group, id, what) in GROUPS {
        let items: Vec<&Item> = takeoff
            .items
            .iter()
            .filter(|item| item.group == group && !is_surface(item))
            .collect();
        add_sum(
            Entry::new(
                CostGroup::Material,
                TaxClass::Material,
                format!("material.{id}"),
                format!("Material: {what}"),
            ),
            &items,
            lines,
        );
    }
    for item in takeoff.items.iter().filter(|item| is_surface(item)) {
        let surface = item.id.trim_start_matches(SURFACE_ITEMS);
        let what = format!("Restoration: {}", item.what);
        add_sum(
            Entry::new(
                CostGroup::Restoration,
                TaxClass::Material,
                format!("restoration.{surface}"),
                what,
            ),
            &[item],
            lines,
        );
    }
}

fn is_surface(item: &Item) -> bool {
    item.id.starts_with(SURFACE_ITEMS)
}

fn add_sum(entry: Entry, items: &[&Item], lines: &mut Lines) {
    let working = items
        .iter()
        .fold(worked("sum of the items' costs"), |working, item| {
            let from = format!("figure material.{}", item.id);
            working.with(item.what.clone(), item.cost.amount(), from)
        });
    let amount = items.iter().map(|item| item.cost).sum();
    lines.add(entry, amount, working);
}
