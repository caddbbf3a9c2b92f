//! The working of every figure of the wire.

use super::{WireRun, WireTree, Wiring};
use job::Job;
use quantity::{Amount, Current, Style, Voltage};
use working::{Ledger, Working};

pub(crate) fn put(
    job: &Job,
    tree: &WireTree,
    (runs, wiring): (&[WireRun], &Wiring),
    ledger: &mut Ledger,
) {
    if ledger.is_closed() {
        return;
    }
    for (v, run) in runs.iter().enumerate() {
        let id = |figure: &str| format!("wire.{}.{figure}", run.valve);
        ledger.put(id("length"), length(job, run));
        let rules = &job.practice.wire;
        let opens = (run.drop, run.current, rules.inrush.origin());
        ledger.put(id("drop"), drop(job, tree, v, run, "as it opens", opens));
        let holds = (run.hold_drop, run.hold, rules.hold.origin());
        ledger.put(
            id("hold_drop"),
            drop(job, tree, v, run, "while it holds", holds),
        );
        ledger.put(id("gauge"), gauge(job, run));
    }
    ledger.put("wire.common.gauge", common(job, tree, runs, wiring));
    for reach in &wiring.longest {
        let slug = |name: &str| name.replace(' ', "-");
        let id = format!("wire.longest.{}.{}", slug(&reach.own), slug(&reach.common));
        let working = Working::new(
            format!(
                "How far {} reaches with a common of {}, one valve on",
                reach.own, reach.common
            ),
            reach.length.amount(),
            "the smaller of drop / ((resistance of own + of common) × current) as a solenoid opens \
             and while it holds; slack and tails are part of it",
            "Ohm's law",
        );
        ledger.put(id, with_limits(job, working, &reach.own, &reach.common));
    }
}

pub(crate) fn length(job: &Job, run: &WireRun) -> Working {
    let controller = job.system.controller.as_ref();
    let controller = controller.map_or("", |c| c.id.as_str());
    Working::new(
        format!("Way of the wire to valve {}", run.valve),
        run.length.amount(),
        "sum of the stretches of the wire line from controller to valve",
        "arithmetic",
    )
    .with(
        "controller",
        controller,
        format!("job feature {controller}"),
    )
    .with(
        "valve",
        run.valve.as_str(),
        format!("job feature {}", run.valve),
    )
}

fn drop(
    job: &Job,
    tree: &WireTree,
    valve: usize,
    run: &WireRun,
    when: &str,
    (drop, current, origin): (Voltage, Current, String),
) -> Working {
    let at_once = &job.practice.wire.valves_at_once;
    let working = Working::new(
        format!(
            "Voltage lost on the way to valve {} and back {when}",
            run.valve
        ),
        drop.amount(),
        "(conductor × (resistance of own + of common) + shared way of the others × resistance of \
         common) × current; conductor = length × (1 + slack) + 2 × tail",
        "Ohm's law",
    )
    .with(
        "length",
        run.length.amount(),
        format!("figure wire.{}.length", run.valve),
    );
    with_slack(job, working)
        .with(
            "resistance of own",
            resistance(job, &run.gauge),
            gauge_source(job, &run.gauge),
        )
        .with(
            "resistance of common",
            resistance(job, &run.common),
            gauge_source(job, &run.common),
        )
        .with(
            "shared way of the others",
            tree.valves[valve].shared.amount(),
            "those that share most, each with slack and the tail at the controller",
        )
        .with(
            "valves at once",
            Amount::count(at_once.value as usize),
            at_once.origin(),
        )
        .with("current", current.amount(), origin)
        .approximately("direct-current resistance")
}

pub(crate) fn with_slack(job: &Job, working: Working) -> Working {
    let (slack, tail) = (
        &job.practice.cut.wire_slack,
        &job.practice.takeoff.wire_tail,
    );
    working
        .with(
            "slack",
            Amount::new(slack.value.to_one(), Style::Percent),
            slack.origin(),
        )
        .with("tail", tail.value.amount(), tail.origin())
}

fn gauge(job: &Job, run: &WireRun) -> Working {
    let rules = &job.practice.wire;
    Working::new(
        format!("Gauge of the wire to valve {}", run.valve),
        run.gauge.as_str(),
        "with the common's gauge, the thinnest listed gauge whose drops keep both limits; the \
         thickest if none does",
        "common practice",
    )
    .with(
        "drop as it opens",
        run.drop.amount(),
        format!("figure wire.{}.drop", run.valve),
    )
    .with(
        "limit as it opens",
        rules.voltage_drop.value.amount(),
        rules.voltage_drop.origin(),
    )
    .with(
        "drop while it holds",
        run.hold_drop.amount(),
        format!("figure wire.{}.hold_drop", run.valve),
    )
    .with(
        "limit while it holds",
        rules.hold_drop.value.amount(),
        rules.hold_drop.origin(),
    )
    .with("common", run.common.as_str(), "figure wire.common.gauge")
    .with("colour", run.colour.as_str(), rules.own_colours.origin())
}

fn common(job: &Job, tree: &WireTree, runs: &[WireRun], wiring: &Wiring) -> Working {
    let rules = &job.practice.wire;
    let working = Working::new(
        "Gauge of the common wire",
        wiring.common.as_str(),
        "every listed gauge is tried with the thinnest own conductors that keep the drops; least \
         copper, which is length / resistance, counts; the thickest if none keeps them",
        "common practice",
    )
    .with(
        "length of the common",
        tree.whole.amount(),
        "all branches of the wire's line, with slack and tails",
    )
    .with(
        "colour",
        wiring.common_colour.as_str(),
        rules.common_colour.origin(),
    );
    runs.iter().fold(working, |working, run| {
        working.with(
            format!("own conductor of {}", run.valve),
            run.gauge.as_str(),
            format!("figure wire.{}.gauge", run.valve),
        )
    })
}

fn with_limits(job: &Job, working: Working, own: &str, common: &str) -> Working {
    let rules = &job.practice.wire;
    working
        .with("own", resistance(job, own), gauge_source(job, own))
        .with("common", resistance(job, common), gauge_source(job, common))
        .with("inrush", rules.inrush.value.amount(), rules.inrush.origin())
        .with(
            "drop as it opens",
            rules.voltage_drop.value.amount(),
            rules.voltage_drop.origin(),
        )
        .with("hold", rules.hold.value.amount(), rules.hold.origin())
        .with(
            "drop while it holds",
            rules.hold_drop.value.amount(),
            rules.hold_drop.origin(),
        )
}

pub(crate) fn resistance(job: &Job, gauge: &str) -> Amount {
    let gauges = &job.practice.wire.gauge;
    let found = gauges.iter().find(|g| g.name == gauge);
    found.map_or(Amount::ratio(0.0), |g| g.resistance.amount())
}

pub(crate) fn gauge_source(job: &Job, gauge: &str) -> String {
    let gauges = &job.practice.wire.gauge;
    let source = gauges.iter().find(|g| g.name == gauge);
    format!(
        "practice wire.gauge {gauge}: {}",
        source.map_or("", |g| g.source.as_str())
    )
}
