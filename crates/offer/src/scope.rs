//! What is put in, and what is done to the ground.

use crate::words::{listed, many};
use crate::{Block, Section, Told};
use job::{OutletKind, SurfaceKind};
use plan::takeoff::ItemGroup;
use quantity::{Area, Length};
use std::collections::BTreeMap;

/// What it is an offer for, and for how long it stands.
pub fn head(told: &Told) -> Section {
    let mut blocks = Vec::new();
    if told.job.invented {
        let words = "INVENTED PROPERTY, not a real place. Prices are made up as well.";
        blocks.push(Block::Words(words.to_owned()));
    }
    let days = told.job.prices.offer.valid_days.value as usize;
    blocks.push(Block::Words(format!(
        "We offer to put in the buried part of an irrigation system as the plan shows it: trenches, pipe, \
         valves, wire, heads, and the surfaces put back. This offer stands for {} from the day on which it is \
         handed over.",
        many(days, "day", "days")
    )));
    Section {
        heading: "What this is",
        blocks,
    }
}

/// Heads, circuits, valves, pipe.
pub fn system(told: &Told) -> Section {
    let system = &told.job.system;
    let heads = of_kind(told, OutletKind::Head);
    let drips = of_kind(told, OutletKind::Drip);
    let mut outlets = Vec::new();
    if heads > 0 {
        outlets.push(many(heads, "head", "heads"));
    }
    if drips > 0 {
        outlets.push(many(drips, "drip area", "drip areas"));
    }
    let mut points = vec![format!(
        "{} on {}",
        listed(&outlets),
        many(system.circuits.len(), "circuit", "circuits")
    )];
    points.extend(told.plan.hydraulics.circuits.iter().map(|circuit| {
        let name = told.job.circuit(&circuit.circuit).map_or("", |c| &c.name);
        let named = match says_more(name, &circuit.circuit) {
            true => format!("{} ({name})", circuit.circuit),
            false => circuit.circuit.clone(),
        };
        let on_it = told.job.outlets_of(&circuit.circuit).count();
        let flow = told.show(circuit.flow.amount());
        format!(
            "circuit {named}: {}, {flow}",
            many(on_it, "outlet", "outlets")
        )
    }));
    let mut parts = vec![many(system.valves.len(), "valve", "valves")];
    parts.push("the backflow assembly".to_owned());
    if system.controller.is_some() {
        parts.push("the controller".to_owned());
    }
    points.push(listed(&parts));
    Section {
        heading: "What we put in",
        blocks: vec![
            Block::Points(points),
            Block::Words("Pipe and sleeves, waste and slack included:".to_owned()),
            Block::Rows(pipe(told)),
        ],
    }
}

/// Whether a circuit's name is more than that it is the circuit of this id.
fn says_more(name: &str, id: &str) -> bool {
    let words = name
        .split_whitespace()
        .filter(|word| !word.eq_ignore_ascii_case("circuit") && !word.eq_ignore_ascii_case(id));
    words.count() > 0
}

fn of_kind(told: &Told, kind: OutletKind) -> usize {
    let outlets = told.job.system.outlets.iter();
    outlets.filter(|outlet| outlet.kind == kind).count()
}

fn pipe(told: &Told) -> Vec<(String, String)> {
    let items = told.plan.takeoff.items.iter();
    let long = items.filter(|item| matches!(item.group, ItemGroup::Pipe | ItemGroup::Sleeve));
    long.map(|item| (item.what.clone(), told.show(item.needed)))
        .collect()
}

/// Trenches by method, paving, surfaces put back, days.
pub fn ground(told: &Told) -> Section {
    let network = &told.plan.network;
    let mut blocks = vec![
        Block::Words(format!(
            "{} of route, by the way it goes in:",
            told.show(network.length().amount())
        )),
        Block::Rows(methods(told)),
    ];
    let restored = restored(told);
    if !restored.is_empty() {
        blocks.push(Block::Words("Surfaces that we put back:".to_owned()));
        blocks.push(Block::Rows(restored));
    }
    let schedule = &told.plan.schedule;
    blocks.push(Block::Words(format!(
        "We expect {} on site with a crew of {}. Weather and what the ground holds may move that.",
        many(schedule.days.len(), "working day", "working days"),
        schedule.crew
    )));
    Section {
        heading: "What is done to the ground",
        blocks,
    }
}

fn methods(told: &Told) -> Vec<(String, String)> {
    let mut lengths: BTreeMap<&str, Length> = BTreeMap::new();
    for dig in &told.plan.digging.digs {
        let method = told.job.prices.method.get(&dig.method);
        let label = method.map_or(dig.method.0.as_str(), |method| &method.label);
        *lengths.entry(label).or_default() += told.plan.network.stretch(dig.stretch).length;
    }
    let mut rows: Vec<(&str, Length)> = lengths.into_iter().collect();
    rows.sort_by(|a, b| b.1.total_cmp(&a.1));
    rows.into_iter()
        .map(|(label, length)| (label.to_owned(), told.show(length.amount())))
        .collect()
}

fn restored(told: &Told) -> Vec<(String, String)> {
    let mut areas: BTreeMap<SurfaceKind, Area> = BTreeMap::new();
    for dig in &told.plan.digging.digs {
        let surface = told.plan.network.stretch(dig.stretch).ground.surface;
        *areas.entry(surface).or_default() += dig.earth.restore;
    }
    areas
        .into_iter()
        .filter(|(_, area)| *area > Area::ZERO)
        .map(|(surface, area)| (surface.label().to_owned(), told.show(area.amount())))
        .collect()
}
