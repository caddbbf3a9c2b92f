//! The workings of a grouping's figures.

use crate::grouping::{Grouping, Proposed};
use crate::limits::Limit;
use crate::task::Task;
use job::{Job, Outlet};
use quantity::{Amount, Style};
use working::{Ledger, Working};

/// What the cost model of the grouping leaves out.
const MODEL: &str = "trenches along the least tree over all places, without junctions between them; one \
     price for each kind of ground; pipes by the velocity limit alone; heads that name a circuit left \
     out. Routes, sizes and prices of the plan are worked out afterwards";

/// Puts the figures of a grouping into the ledger.
pub(crate) fn put(job: &Job, task: &Task, grouping: &Grouping, ledger: &mut Ledger) {
    let money = |value: f64| Amount::new(value, Style::Money);
    let parts = &grouping.cost;
    let part = |ledger: &mut Ledger, id: &str, label: &str, value: f64, formula: &str| {
        let working = Working::new(label, money(value), formula, "cost model of the grouping");
        ledger.put(format!("grouping.{id}"), working.approximately(MODEL));
    };
    part(
        ledger,
        "trench",
        "trenches of the circuits proposed",
        parts.trench,
        "sum over the parts of the least tree of price of their ground × length",
    );
    part(
        ledger,
        "laterals",
        "laterals of the circuits proposed",
        parts.laterals,
        "sum over circuits and parts of price of the smallest pipe within the velocity limit × length",
    );
    part(
        ledger,
        "valves",
        "valves and boxes of the circuits proposed",
        parts.valves,
        "valves × (valve, splices, setting and testing) + boxes × box; so many valves share a box as the \
         practice says",
    );
    part(
        ledger,
        "main",
        "main to the manifolds with valves",
        parts.main,
        "price of the service's size × length along the trenches",
    );
    part(
        ledger,
        "wire",
        "wire to the manifolds with valves",
        parts.wire,
        "laying and common conductor × length along the trenches + each valve's own conductor × its \
         length",
    );
    let from = |id: &str| format!("figure grouping.{id}");
    let cost = Working::new(
        "cost of the circuits proposed",
        money(parts.total()),
        "trenches + laterals + valves and boxes + main + wire",
        "cost model of the grouping",
    )
    .with("trenches", money(parts.trench), from("trench"))
    .with("laterals", money(parts.laterals), from("laterals"))
    .with("valves and boxes", money(parts.valves), from("valves"))
    .with("main", money(parts.main), from("main"))
    .with("wire", money(parts.wire), from("wire"));
    ledger.put("grouping.cost", cost.approximately(MODEL));
    if grouping.bound > 0.0 {
        ledger.put("grouping.bound", bound(task, grouping));
        ledger.put("grouping.gap", gap(grouping));
    }
    let together = Working::new(
        "neighbours in one circuit",
        Amount::new(grouping.together.to_one(), Style::Percent),
        "heads whose nearest neighbour that they may run with is in their circuit / heads that have one",
        "own measure of how compact the circuits are",
    );
    ledger.put("grouping.together", together);
    for proposed in &grouping.circuits {
        of_circuit(job, task, proposed, ledger);
    }
}

fn gap(grouping: &Grouping) -> Working {
    let money = |value: f64| Amount::new(value, Style::Money);
    Working::new(
        "how far the cost of the circuits proposed may be above the least",
        Amount::new(grouping.gap(), Style::Percent),
        "(cost − bound) / cost",
        "arithmetic",
    )
    .with("cost", money(grouping.cost.total()), "figure grouping.cost")
    .with("bound", money(grouping.bound), "figure grouping.bound")
}

fn bound(task: &Task, grouping: &Grouping) -> Working {
    let formula = if grouping.exact {
        "the least cost itself: every grouping was looked at"
    } else {
        "least over the manifolds joined and those with valves of: least tree + main and wire to them + \
         fewest valves × valve + boxes + in every trench with all valves on one side the least that the \
         fewest pipes for the heads beyond it cost + between manifolds the least that flows cost which \
         add up at every place"
    };
    Working::new(
        "no grouping costs less than this, by the same model",
        Amount::new(grouping.bound, Style::Money),
        formula,
        "fewest circuits: bound L2 of S. Martello and P. Toth, Knapsack Problems (1990), from memory; the \
         rest is our own",
    )
    .with("heads", Amount::count(task.outlets.len()), "job file")
    .with("manifolds", Amount::count(task.spots.len()), "job file")
    .approximately(
        "a bound for trenches along the least tree; it is none for trenches that meet elsewhere. With over \
         10 manifolds it takes less into account: the least tree over all places without the ways to \
         manifolds, the least length of laterals, the fewest valves",
    )
}

fn of_circuit(job: &Job, task: &Task, proposed: &Proposed, ledger: &mut Ledger) {
    let id = |what: &str| format!("grouping.{}.{what}", proposed.circuit);
    let of_it = |o: &&&Outlet| proposed.outlets.contains(&o.id);
    let outlets: Vec<&&Outlet> = task.outlets.iter().filter(of_it).collect();
    let mut flow = Working::new(
        format!("flow of circuit {}, as proposed", proposed.circuit),
        proposed.flow.amount(),
        "sum of what its heads need",
        "arithmetic",
    );
    for outlet in &outlets {
        let from = format!("job feature {}", outlet.id);
        flow = flow.with(&outlet.id, outlet.flow.amount(), from);
    }
    ledger.put(id("flow"), flow);
    ledger.put(id("most"), most(job, task, proposed));
    let laterals = Working::new(
        format!("laterals of circuit {}, as proposed", proposed.circuit),
        Amount::new(proposed.laterals, Style::Money),
        "sum over the trenches from its valve to its heads of price of the smallest pipe within the \
         velocity limit × length",
        "cost model of the grouping",
    );
    ledger.put(id("laterals"), laterals.approximately(MODEL));
    let why = Working::new(
        format!("why circuit {} is as it is", proposed.circuit),
        proposed.why.as_str(),
        "the change of one head, branch, circuit or valve that would cost less was looked for and not \
         found",
        "search of the grouping",
    );
    ledger.put(id("why"), why);
}

/// What a circuit may take.
fn most(job: &Job, task: &Task, proposed: &Proposed) -> Working {
    let source = &job.system.source;
    let practice = &job.practice;
    let from_source = format!("job feature {}", source.id);
    let working = |formula: &str, origin: &str| {
        Working::new(
            format!("flow that circuit {} may take", proposed.circuit),
            proposed.most.amount(),
            formula,
            origin,
        )
    };
    let more = &practice.water.flow_spread;
    let velocity = match proposed.limit {
        Limit::Service => &practice.water.velocity.service,
        _ => &practice.water.velocity.lateral,
    };
    match proposed.limit {
        Limit::Test => working("the flow of the flowing test", "common practice").with(
            "flow of the test",
            source.test_flow.amount(),
            from_source,
        ),
        Limit::Service => working(
            "velocity limit × bore of the service pipe / (1 + spread of flow)",
            "arithmetic",
        )
        .with(
            "spread of flow",
            Amount::new(more.value.to_one(), Style::Percent),
            more.origin(),
        )
        .with("velocity limit", velocity.value.amount(), velocity.origin())
        .with("service pipe", source.service_size.as_str(), from_source),
        Limit::Lateral => working(
            "velocity limit × bore of the largest lateral / (1 + spread of flow)",
            "arithmetic",
        )
        .with(
            "spread of flow",
            Amount::new(more.value.to_one(), Style::Percent),
            more.origin(),
        )
        .with("velocity limit", velocity.value.amount(), velocity.origin())
        .with(
            "family of the laterals",
            practice.circuits.pipe.value.as_str(),
            practice.circuits.pipe.origin(),
        ),
        Limit::Pressure => {
            let heads = task.outlets.iter().zip(&task.most);
            let head = heads
                .into_iter()
                .find(|(o, _)| Some(&o.id) == proposed.limited_by.as_ref());
            let allowance = &practice.circuits.pipe_allowance;
            let base = working(
                "the flow at which the source curve has fallen to what its head of the greatest need \
                 asks of the source: pressure × (1 + allowance for pipes) + backflow assembly + valve + \
                 height",
                "the curve of the source through static and flowing test; our own allowance",
            )
            .with(
                "static pressure",
                source.static_pressure.amount(),
                from_source.clone(),
            )
            .with(
                "residual pressure",
                source.residual_pressure.amount(),
                from_source.clone(),
            )
            .with("flow of the test", source.test_flow.amount(), from_source)
            .with(
                "allowance for pipes",
                Amount::new(allowance.value.to_one(), Style::Percent),
                allowance.origin(),
            );
            head.into_iter().fold(base, |base, (outlet, most)| {
                let from = format!("job feature {}", outlet.id);
                base.with("pressure of the head", outlet.pressure.amount(), from)
                    .with(
                        "asked of the source",
                        most.at_source.amount(),
                        "the sum above",
                    )
            })
        }
    }
}
