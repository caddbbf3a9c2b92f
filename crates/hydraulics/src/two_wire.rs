//! One cable of two conductors along the tree, a decoder at each valve.
//!
//! Every branch carries what the decoders behind it draw all the time, and the current of the valves
//! that are on behind it. The cable has one gauge: the thinnest that keeps the drop to every valve.

use crate::wire::{WireRun, WireTree, Wiring, account, one_way};
use job::practice::{Gauge, WireSystem};
use job::{Finding, Job};
use quantity::{Amount, Current, Length, Voltage};
use working::{Ledger, Working};

pub(crate) fn runs(
    job: &Job,
    tree: &WireTree,
    findings: &mut Vec<Finding>,
    ledger: &mut Ledger,
) -> (Vec<WireRun>, Wiring) {
    let rules = &job.practice.wire;
    let valves = 0..tree.valves.len();
    let loads: Vec<f64> = valves.clone().map(|v| idle_metres(job, tree, v)).collect();
    let keeps = |gauge: &Gauge| {
        let limit = rules.two_wire_drop.value;
        valves
            .clone()
            .all(|v| drop(job, tree, (v, loads[v]), gauge, rules.inrush.value) <= limit)
    };
    let fitting = rules.gauge.iter().find(|g| keeps(g));
    let Some(gauge) = fitting.or(rules.gauge.last()) else {
        return (Vec::new(), Wiring::default());
    };
    let runs: Vec<WireRun> = valves
        .map(|v| WireRun {
            valve: tree.valves[v].id.clone(),
            length: tree.valves[v].along,
            gauge: gauge.name.clone(),
            current: rules.inrush.value,
            drop: drop(job, tree, (v, loads[v]), gauge, rules.inrush.value),
            common: gauge.name.clone(),
            hold: rules.hold.value,
            hold_drop: drop(job, tree, (v, loads[v]), gauge, rules.hold.value),
            colour: String::new(),
        })
        .collect();
    let wiring = Wiring {
        system: WireSystem::TwoWire.label().to_owned(),
        common: gauge.name.clone(),
        common_colour: String::new(),
        longest: Vec::new(),
    };
    findings.extend(runs.iter().filter_map(|run| too_long(job, run)));
    for (v, run) in runs.iter().enumerate() {
        put(job, tree, (v, loads[v]), run, ledger);
    }
    ledger.put("wire.common.gauge", gauge_working(job, &runs, &wiring));
    (runs, wiring)
}

/// Length times how many decoders lie behind it, summed over the way, slack and tails included.
fn idle_metres(job: &Job, tree: &WireTree, valve: usize) -> f64 {
    let slack = 1.0 + job.practice.cut.wire_slack.value.to_one();
    let tail = job.practice.takeoff.wire_tail.value.to_m();
    let branches = tree.branches_to(valve);
    let metres: f64 = branches
        .iter()
        .map(|(length, behind)| length.to_m() * slack * *behind as f64)
        .sum();
    metres + tail * (tree.valves.len() as f64 + 1.0)
}

fn drop(
    job: &Job,
    tree: &WireTree,
    (valve, idle): (usize, f64),
    gauge: &Gauge,
    current: Current,
) -> Voltage {
    let on = tree.valves[valve].conductor + tree.valves[valve].shared;
    let decoders = one_way(
        Length::m(idle),
        gauge.resistance,
        job.practice.wire.decoder_idle.value,
    );
    (one_way(on, gauge.resistance, current) + decoders) * 2.0
}

fn too_long(job: &Job, run: &WireRun) -> Option<Finding> {
    let limit = &job.practice.wire.two_wire_drop;
    let show = |amount: Amount| amount.show(job.units);
    (run.drop > limit.value).then(|| {
        Finding::warning(
            "wire-too-long",
            run.valve.as_str(),
            format!(
                "{} is lost in the cable on the way to the valve even in {}, the thickest wire \
                 listed; {} may be",
                show(run.drop.amount()),
                run.gauge,
                show(limit.value.amount()),
            ),
            "a second cable from the controller, fewer valves on at once, or a thicker gauge in the \
             rules (wire.gauge)",
        )
    })
}

fn put(
    job: &Job,
    tree: &WireTree,
    (valve, idle): (usize, f64),
    run: &WireRun,
    ledger: &mut Ledger,
) {
    let rules = &job.practice.wire;
    let id = |figure: &str| format!("wire.{}.{figure}", run.valve);
    let lost =
        |drop: Voltage, current: Current, origin: String, when: &str| {
            let working = Working::new(
            format!("Voltage lost in the cable to valve {} {when}", run.valve),
            drop.amount(),
            "2 × resistance × ((conductor + shared way of the others) × current + sum of length × \
             decoders behind it × what a decoder draws)",
            "Ohm's law",
        )
        .with("length", run.length.amount(), format!("figure {}", id("length")));
            account::with_slack(job, working)
                .with(
                    "shared way of the others",
                    tree.valves[valve].shared.amount(),
                    "those that share most",
                )
                .with(
                    "sum of length × decoders",
                    Length::m(idle).amount(),
                    "the branches on the way",
                )
                .with(
                    "a decoder draws",
                    rules.decoder_idle.value.amount(),
                    rules.decoder_idle.origin(),
                )
                .with("current", current.amount(), origin)
                .with(
                    "valves at once",
                    Amount::count(rules.valves_at_once.value as usize),
                    rules.valves_at_once.origin(),
                )
                .with(
                    "resistance",
                    account::resistance(job, &run.gauge),
                    account::gauge_source(job, &run.gauge),
                )
                .approximately("direct-current resistance; decoders draw the same at any voltage")
        };
    let opens = lost(run.drop, run.current, rules.inrush.origin(), "as it opens");
    let holds = lost(
        run.hold_drop,
        run.hold,
        rules.hold.origin(),
        "while it holds",
    );
    ledger.put(id("length"), account::length(job, run));
    ledger.put(id("drop"), opens);
    ledger.put(id("hold_drop"), holds);
    let gauge = Working::new(
        format!("Gauge of the cable at valve {}", run.valve),
        run.gauge.as_str(),
        "one cable serves all valves",
        "common practice",
    )
    .with("cable", run.common.as_str(), "figure wire.common.gauge");
    ledger.put(id("gauge"), gauge);
}

fn gauge_working(job: &Job, runs: &[WireRun], wiring: &Wiring) -> Working {
    let limit = &job.practice.wire.two_wire_drop;
    let working = Working::new(
        "Gauge of the two-wire cable",
        wiring.common.as_str(),
        "the thinnest listed gauge that keeps the drop to every valve; the thickest if none does",
        "common practice",
    )
    .with("limit", limit.value.amount(), limit.origin());
    runs.iter().fold(working, |working, run| {
        working.with(
            format!("drop to {}", run.valve),
            run.drop.amount(),
            format!("figure wire.{}.drop", run.valve),
        )
    })
}
