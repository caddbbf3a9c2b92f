//! Valve wire by gauge and colour, connectors, cable of other services.
//!
//! A valve's own conductor is one piece from the controller to the valve. The common conductor is cut
//! where it is joined: at every valve, and where the wire's trenches part away from one. Each end that is
//! joined has a tail; where the common goes on, one tail does for both of its ends.

use crate::bill::{Allowance, Bill, Entry, from_stretches, order_of, priced, slug};
use crate::spools::{self, Piece, Wanted, order_of_wire};
use crate::{ItemGroup, Splice, Spooling};
use hydraulics::{Hydraulics, WireRun};
use job::practice::WireSystem;
use job::{Job, Sourced};
use quantity::{Amount, Length, Money, Style};
use routes::{Line, LineKind, Network, NodeId, NodeKind, StretchId};
use std::collections::{BTreeMap, BTreeSet};
use working::Working;

/// Tails of one conductor: at its valve and at the controller.
const TAILS_OF_ONE: f64 = 2.0;

/// Connectors at a valve: its own conductor and the common one, each to one lead of the solenoid.
const SPLICES_AT_VALVE: usize = 2;

/// Puts the valve wire and its connectors on the list; gives how it is cut from spools.
pub fn add_valve_wire(
    job: &Job,
    network: &Network,
    water: &Hydraulics,
    bill: &mut Bill,
) -> Vec<Spooling> {
    let Some(line) = network.lines.iter().find(|l| l.kind == LineKind::Wire) else {
        return Vec::new();
    };
    let two_wire = job.practice.wire.system.value == WireSystem::TwoWire;
    let common = common(job, water);
    let common = common.and_then(|gauge| Some((gauge, job.prices.wire.get(gauge)?)));
    let (mut found, mut joins) = (Vec::new(), 0);
    if two_wire {
        if let Some(priced) = common {
            add_cable_of_two(job, network, priced, line, bill);
        }
    } else {
        let own = own_colours(water);
        let own = own.into_iter().filter_map(|(key, runs)| {
            let price = job.prices.wire.get(&runs.first()?.gauge)?;
            add_own(job, (&key, price), &runs, bill)
        });
        let own: Vec<_> = own.collect();
        let shared = common.and_then(|priced| add_common(job, network, water, priced, line, bill));
        for (spooling, more) in own.into_iter().chain(shared) {
            found.push(spooling);
            joins += more;
        }
    }
    add_splices(job, network, line, (water.wires.len(), joins), bill);
    found
}

/// The end of an item's id, gauge and colour, and the conductors that have both.
fn own_colours(water: &Hydraulics) -> BTreeMap<(String, String), Vec<&WireRun>> {
    let mut runs: BTreeMap<(String, String), Vec<&WireRun>> = BTreeMap::new();
    for run in &water.wires {
        let key = (slug(&run.gauge), slug(&run.colour));
        runs.entry(key).or_default().push(run);
    }
    runs
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
        needed,
        &Allowance(&job.practice.takeoff.waste.wire),
        price,
        working,
    ));
}

fn add_own(
    job: &Job,
    ((gauge, colour), price): (&(String, String), &Sourced<Money>),
    runs: &[&WireRun],
    bill: &mut Bill,
) -> Option<(Spooling, usize)> {
    let (slack, tail) = (
        &job.practice.cut.wire_slack,
        &job.practice.takeoff.wire_tail,
    );
    let run = runs.first()?;
    let what = match run.colour.is_empty() {
        true => format!("valve wire {}", run.gauge),
        false => format!("valve wire {}, {}", run.gauge, run.colour),
    };
    let formula =
        "for each valve of the colour: length along the trenches × (1 + slack) + 2 × tail";
    let mut working = order_of_wire(&what, formula);
    for run in runs {
        working = working.with(
            format!("to {}", run.valve),
            run.length.amount(),
            format!("figure wire.{}.length", run.valve),
        );
    }
    let pieces = runs.iter().map(|run| Piece {
        length: run.length * (1.0 + slack.value.to_one()) + tail.value * TAILS_OF_ONE,
        place: format!("to {}", run.valve),
    });
    let end = if colour.is_empty() { "own" } else { colour };
    let wanted = Wanted {
        id: format!("wire.{gauge}.{end}"),
        what,
        pieces: pieces.collect(),
        lengths: &job.practice.takeoff.wire_spools,
        waste: Allowance(&job.practice.takeoff.waste.wire),
        price,
        working: with_slack(job, working),
    };
    spools::add(bill, wanted)
}

fn with_slack(job: &Job, working: Working) -> Working {
    let (slack, tail) = (
        &job.practice.cut.wire_slack,
        &job.practice.takeoff.wire_tail,
    );
    let share = Amount::new(slack.value.to_one(), Style::Percent);
    working.with("slack", share, slack.origin()).with(
        "length of a tail",
        tail.value.amount(),
        tail.origin(),
    )
}

/// The common conductor from one connector to the next.
fn add_common(
    job: &Job,
    network: &Network,
    water: &Hydraulics,
    (gauge, price): (&str, &Sourced<Money>),
    line: &Line,
    bill: &mut Bill,
) -> Option<(Spooling, usize)> {
    let (slack, tail) = (
        &job.practice.cut.wire_slack,
        &job.practice.takeoff.wire_tail,
    );
    let colour = &water.wiring.common_colour;
    let what = match colour.is_empty() {
        true => format!("common wire {gauge}"),
        false => format!("common wire {gauge}, {colour}"),
    };
    let parts = segments(network, line);
    let tails: usize = parts.iter().map(|part| part.tails).sum();
    let stretches: Vec<StretchId> = line.branches.iter().map(|b| b.stretch).collect();
    let formula = "length of the wire's trenches × (1 + slack) + tails × length of a tail";
    let working = order_of_wire(&what, formula)
        .with(
            "length of the wire's trenches",
            length_of(network, line).amount(),
            from_stretches("length", &stretches),
        )
        .with(
            "tails",
            Amount::count(tails),
            "one at each valve, at each place where it parts, and at the controller",
        );
    let pieces = parts.iter().map(|part| Piece {
        length: part.length * (1.0 + slack.value.to_one()) + tail.value * part.tails as f64,
        place: format!("to {}", place(network, part.to)),
    });
    let wanted = Wanted {
        id: format!("wire.{}.common", slug(gauge)),
        what,
        pieces: pieces.collect(),
        lengths: &job.practice.takeoff.wire_spools,
        waste: Allowance(&job.practice.takeoff.waste.wire),
        price,
        working: with_slack(job, working),
    };
    spools::add(bill, wanted)
}

fn place(network: &Network, node: NodeId) -> String {
    match &network.node(node).what {
        NodeKind::Valve(id) => id.clone(),
        _ => format!("the parting at {node}"),
    }
}

/// The common conductor between two connectors.
struct Segment {
    to: NodeId,
    length: Length,
    /// One at its far end, one more at the controller.
    tails: usize,
}

fn segments(network: &Network, line: &Line) -> Vec<Segment> {
    let partings = partings(network, line);
    let joined = |node: NodeId| {
        let valve = matches!(network.node(node).what, NodeKind::Valve(_));
        valve || partings.contains(&node)
    };
    let mut run_on: BTreeMap<NodeId, (Length, usize)> = BTreeMap::new();
    let mut found = Vec::new();
    for branch in &line.branches {
        let begun = match branch.from == line.root {
            true => (Length::ZERO, 1),
            false => run_on
                .get(&branch.from)
                .copied()
                .unwrap_or((Length::ZERO, 0)),
        };
        let length = begun.0 + network.stretch(branch.stretch).length;
        if joined(branch.to) {
            found.push(Segment {
                to: branch.to,
                length,
                tails: begun.1 + 1,
            });
        } else {
            run_on.insert(branch.to, (length, begun.1));
        }
    }
    found
}

fn length_of(network: &Network, line: &Line) -> Length {
    let stretches = line.branches.iter().map(|b| network.stretch(b.stretch));
    stretches.map(|stretch| stretch.length).sum()
}

fn by_length(
    id: &str,
    what: String,
    needed: Length,
    share: &Allowance,
    price: &Sourced<Money>,
    working: Working,
) -> Entry {
    let with_waste = Length::m(share.on(needed.to_m()));
    Entry {
        id: id.to_owned(),
        group: ItemGroup::Wire,
        what,
        net: needed.amount(),
        needed: with_waste.amount(),
        ordered: with_waste.to_m(),
        order: with_waste.amount(),
        sold_as: String::new(),
        unit: price.value,
        units: with_waste.to_m(),
        working: priced(share.with(working), price, Style::MoneyPerLength),
    }
}

fn add_splices(
    job: &Job,
    network: &Network,
    line: &Line,
    (valves, joins): (usize, usize),
    bill: &mut Bill,
) {
    let price = &job.prices.item.splice;
    let share = Allowance(&job.practice.takeoff.waste.connectors);
    let partings = partings(network, line).len();
    let count = valves * SPLICES_AT_VALVE + partings + joins;
    let ordered = share.on_count(count);
    let what = "waterproof connector".to_owned();
    let working = order_of(
        &what,
        "two at each valve, one at each place away from a valve where the common conductor parts, one \
         where a run is longer than a spool; spare ones = count × waste, to the nearest; cost = order × \
         price",
    )
    .with("valves", Amount::count(valves), "wired valves of the job")
    .with(
        "partings of the common conductor",
        Amount::count(partings),
        "nodes of the wire's trenches",
    )
    .with("joins of long runs", Amount::count(joins), "spools of the wire");
    bill.add(Entry {
        id: "wire.splice".to_owned(),
        group: ItemGroup::Wire,
        net: Amount::count(count),
        needed: Amount::count(ordered),
        ordered: ordered as f64,
        order: Amount::count(ordered),
        sold_as: String::new(),
        unit: price.value,
        units: ordered as f64,
        working: priced(share.with(working), price, Style::Money),
        what,
    });
}

/// Where connectors go, the valves in the order of the wire's terminals, then the partings.
pub fn splices(job: &Job, network: &Network) -> Vec<Splice> {
    let Some(line) = network.lines.iter().find(|l| l.kind == LineKind::Wire) else {
        return Vec::new();
    };
    let (valve, parting) = match job.practice.wire.system.value {
        WireSystem::TwoWire => (
            "the leads of the decoder to both wires of the cable",
            "the cable, where it parts",
        ),
        WireSystem::Conventional => (
            "the leads of the solenoid to the valve's own wire and to the common",
            "the common wire, where it parts",
        ),
    };
    let splice = |at: NodeId, connectors: usize, joins: &str| Splice {
        at,
        connectors,
        joins: joins.to_owned(),
    };
    let at_valve = |at: &NodeId| splice(*at, SPLICES_AT_VALVE, valve);
    let at_parting = |at: NodeId| splice(at, 1, parting);
    let valves = line.terminals.iter().map(at_valve);
    let partings = partings(network, line).into_iter().map(at_parting);
    valves.chain(partings).collect()
}

/// Nodes other than valves and the controller at which the wire's tree parts.
fn partings(network: &Network, line: &Line) -> BTreeSet<NodeId> {
    let mut seen = BTreeSet::new();
    let away = |node: &NodeId| {
        let what = &network.node(*node).what;
        !matches!(what, NodeKind::Valve(_) | NodeKind::Controller(_))
    };
    let from = line.branches.iter().map(|branch| branch.from);
    from.filter(|node| !seen.insert(*node))
        .filter(away)
        .collect()
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
            needed,
            &Allowance(&job.practice.takeoff.waste.wire),
            price,
            working,
        ));
    }
}
