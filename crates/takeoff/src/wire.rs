//! Valve wire by gauge, splices, cable of other services, marking tape, tracer wire.

use crate::ItemGroup;
use crate::bill::{Bill, Entry, from_stretches, order_of, priced, slug};
use digging::{Digging, MarkerKind};
use hydraulics::{Hydraulics, WireRun};
use job::practice::WireSystem;
use job::{Job, Sourced};
use quantity::{Amount, Length, Money, Style};
use routes::{Line, LineKind, Network, NodeKind, StretchId};
use std::collections::BTreeSet;
use working::Working;

/// Tails of one conductor: at its valve and at the controller.
const TAILS_OF_ONE: f64 = 2.0;

/// Splices at a valve: its own conductor and the common one, each to one lead of the solenoid.
const SPLICES_AT_VALVE: usize = 2;

/// Puts the valve wire and its splices on the list.
pub fn add_valve_wire(job: &Job, network: &Network, water: &Hydraulics, bill: &mut Bill) {
    let Some(line) = network.lines.iter().find(|l| l.kind == LineKind::Wire) else {
        return;
    };
    let two_wire = job.practice.wire.system.value == WireSystem::TwoWire;
    let common_gauge = common(job, water);
    for gauge in &job.practice.wire.gauge {
        let runs: Vec<&WireRun> = water
            .wires
            .iter()
            .filter(|run| run.gauge == gauge.name && !two_wire)
            .collect();
        let common = (common_gauge == Some(gauge.name.as_str())).then_some(line);
        let Some(price) = job.prices.wire.get(&gauge.name) else {
            continue;
        };
        match common.filter(|_| two_wire) {
            Some(line) => add_cable_of_two(job, network, (&gauge.name, price), line, bill),
            None if two_wire => {}
            None => add_gauge(job, network, (&gauge.name, price), &runs, common, bill),
        }
    }
    add_splices(job, network, line, water.wires.len(), bill);
}

/// The gauge of the common conductor; where the wires do not tell, the thickest that any valve needs.
fn common<'j>(job: &'j Job, water: &'j Hydraulics) -> Option<&'j str> {
    let mut told = water.wires.iter().map(|run| run.common.as_str());
    let mut thickest_last = job.practice.wire.gauge.iter().rev();
    told.find(|gauge| !gauge.is_empty()).or_else(|| {
        thickest_last
            .find(|gauge| water.wires.iter().any(|run| run.gauge == gauge.name))
            .map(|gauge| gauge.name.as_str())
    })
}

/// The two conductors of the one cable.
fn add_cable_of_two(
    job: &Job,
    network: &Network,
    (gauge, price): (&str, &Sourced<Money>),
    line: &Line,
    bill: &mut Bill,
) {
    let (slack, tail) = (
        &job.practice.cut.wire_slack,
        &job.practice.takeoff.wire_tail,
    );
    let tree = length_of(network, line);
    let tails = line.terminals.len() as f64 + 1.0;
    let needed = (tree * (1.0 + slack.value.to_one()) + tail.value * tails) * 2.0;
    let what = format!("two-wire cable {gauge}, by the conductor");
    let stretches: Vec<StretchId> = line.branches.iter().map(|b| b.stretch).collect();
    let working = order_of(
        &what,
        "2 × (length of the wire's trenches × (1 + slack) + tails × length of a tail); cost = order × price",
    )
    .with("trenches", tree.amount(), from_stretches("length", &stretches))
    .with("slack", Amount::new(slack.value.to_one(), Style::Percent), slack.origin())
    .with("tails", Amount::ratio(tails), "at each valve and at the controller")
    .with("length of a tail", tail.value.amount(), tail.origin())
    .approximately("priced as two single conductors; decoders are not on the list");
    bill.add(by_length(
        &format!("wire.{}", slug(gauge)),
        what,
        ItemGroup::Wire,
        needed,
        price,
        working,
    ));
}

fn add_gauge(
    job: &Job,
    network: &Network,
    (gauge, price): (&str, &Sourced<Money>),
    runs: &[&WireRun],
    common: Option<&Line>,
    bill: &mut Bill,
) {
    let (slack, tail) = (
        &job.practice.cut.wire_slack,
        &job.practice.takeoff.wire_tail,
    );
    let (along, tree, tails) = lengths(network, runs, common);
    let needed = (along + tree) * (1.0 + slack.value.to_one()) + tail.value * tails;
    let what = format!("valve wire {gauge}");
    let mut working = order_of(
        &what,
        "(length along the trenches of each valve's own conductor + length of the wire's trenches for the \
         common conductor) × (1 + slack) + tails × length of a tail; cost = order × price",
    );
    for run in runs {
        let from = format!("figure wire.{}.length", run.valve);
        working = working.with(
            format!("own conductor of {}", run.valve),
            run.length.amount(),
            from,
        );
    }
    if let Some(line) = common {
        let stretches: Vec<StretchId> = line.branches.iter().map(|b| b.stretch).collect();
        working = working.with(
            "common conductor",
            tree.amount(),
            from_stretches("length", &stretches),
        );
    }
    let working = working
        .with(
            "slack",
            Amount::new(slack.value.to_one(), Style::Percent),
            slack.origin(),
        )
        .with(
            "tails",
            Amount::ratio(tails),
            "two for each conductor, and one more for the common one at each further valve",
        )
        .with("length of a tail", tail.value.amount(), tail.origin());
    bill.add(by_length(
        &format!("wire.{}", slug(gauge)),
        what,
        ItemGroup::Wire,
        needed,
        price,
        working,
    ));
}

/// Own conductors along the trenches, the common one, and how many tails.
fn lengths(network: &Network, runs: &[&WireRun], common: Option<&Line>) -> (Length, Length, f64) {
    let along: Length = runs.iter().map(|run| run.length).sum();
    let own_tails = runs.len() as f64 * TAILS_OF_ONE;
    match common {
        None => (along, Length::ZERO, own_tails),
        Some(line) => (
            along,
            length_of(network, line),
            own_tails + line.terminals.len() as f64 + 1.0,
        ),
    }
}

fn length_of(network: &Network, line: &Line) -> Length {
    let stretches = line.branches.iter().map(|b| network.stretch(b.stretch));
    stretches.map(|stretch| stretch.length).sum()
}

fn by_length(
    id: &str,
    what: String,
    group: ItemGroup,
    needed: Length,
    price: &Sourced<Money>,
    working: Working,
) -> Entry {
    Entry {
        id: id.to_owned(),
        group,
        what,
        needed: needed.amount(),
        order: needed.amount(),
        sold_as: String::new(),
        unit: price.value,
        units: needed.to_m(),
        working: priced(working, price, Style::MoneyPerLength),
    }
}

fn add_splices(job: &Job, network: &Network, line: &Line, valves: usize, bill: &mut Bill) {
    let price = &job.prices.item.splice;
    let partings = partings(network, line);
    let count = valves * SPLICES_AT_VALVE + partings;
    let what = "waterproof splice".to_owned();
    let working = order_of(
        &what,
        "two at each valve, and one at each place away from a valve where the common conductor parts; \
         cost = order × price",
    )
    .with("valves", Amount::count(valves), "wired valves of the job")
    .with("partings of the common conductor", Amount::count(partings), "nodes of the wire's trenches");
    bill.add(Entry {
        id: "wire.splice".to_owned(),
        group: ItemGroup::Wire,
        needed: Amount::count(count),
        order: Amount::count(count),
        sold_as: String::new(),
        unit: price.value,
        units: count as f64,
        working: priced(working, price, Style::Money),
        what,
    });
}

/// Nodes other than valves and the controller at which the wire's tree parts.
fn partings(network: &Network, line: &Line) -> usize {
    let mut seen = BTreeSet::new();
    let parting: BTreeSet<_> = line
        .branches
        .iter()
        .map(|branch| branch.from)
        .filter(|node| !seen.insert(*node))
        .filter(|node| {
            !matches!(
                network.node(*node).what,
                NodeKind::Valve(_) | NodeKind::Controller(_)
            )
        })
        .collect();
    parting.len()
}

/// Puts the cables of other services on the list.
pub fn add_cable(job: &Job, network: &Network, bill: &mut Bill) {
    let slack = &job.practice.cut.wire_slack;
    for line in &network.lines {
        let LineKind::Cable(id) = &line.kind else {
            continue;
        };
        let service = job.system.cables.iter().find(|c| c.id == *id);
        let what = match service {
            Some(cable) => format!("cable {id}, {}", cable.service),
            None => format!("cable {id}"),
        };
        let plan = length_of(network, line);
        let stretches: Vec<StretchId> = line.branches.iter().map(|b| b.stretch).collect();
        let working = order_of(&what, "plan length × (1 + slack); cost = order × price")
            .with(
                "plan length",
                plan.amount(),
                from_stretches("length", &stretches),
            )
            .with(
                "slack",
                Amount::new(slack.value.to_one(), Style::Percent),
                slack.origin(),
            );
        let needed = plan * (1.0 + slack.value.to_one());
        let price = &job.prices.item.cable;
        bill.add(by_length(
            &format!("cable.{id}"),
            what,
            ItemGroup::Wire,
            needed,
            price,
            working,
        ));
    }
}

/// Puts the marking tape on the list.
pub fn add_tape(job: &Job, network: &Network, digging: &Digging, bill: &mut Bill) {
    let entry = marker(
        network,
        digging,
        (MarkerKind::Tape, "tape"),
        &job.prices.item.tape,
    );
    bill.add(entry);
}

/// Puts the tracer wire on the list.
pub fn add_tracer(job: &Job, network: &Network, digging: &Digging, bill: &mut Bill) {
    let entry = marker(
        network,
        digging,
        (MarkerKind::Tracer, "tracer"),
        &job.prices.item.tracer,
    );
    bill.add(entry);
}

fn marker(
    network: &Network,
    digging: &Digging,
    (kind, id): (MarkerKind, &str),
    price: &Sourced<Money>,
) -> Entry {
    let stretches: Vec<StretchId> = digging
        .digs
        .iter()
        .filter(|dig| dig.section.markers.iter().any(|m| m.kind == kind))
        .map(|dig| dig.stretch)
        .collect();
    let needed: Length = stretches.iter().map(|s| network.stretch(*s).length).sum();
    let what = kind.label().to_owned();
    let working = order_of(
        &what,
        "length of the trenches in whose section it lies; cost = order × price",
    )
    .with(
        "length",
        needed.amount(),
        from_stretches("length", &stretches),
    );
    by_length(id, what, ItemGroup::Wire, needed, price, working)
}
