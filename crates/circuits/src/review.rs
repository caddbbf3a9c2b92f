//! Circuits that are given: what stands against them, and what a regrouping would save.

use crate::GroupCosts;
use crate::cost::account;
use crate::grouping::MOST_HEADS;
use crate::limits::Limits;
use crate::scheme::Set;
use crate::solve::quick;
use crate::task::{Spot, Task};
use ground::Ground;
use job::{Circuit, Finding, Job, Outlet, OutletKind};
use quantity::{Amount, Flow, Precipitation, Style};

/// With more places for valves than this a regrouping is not tried.
const MOST_SPOTS: usize = 12;

/// What stands against the given circuits of a job: too much flow, kinds and rates that do not match.
pub fn review(job: &Job, ground: &Ground) -> Vec<Finding> {
    let limits = Limits::new(job, ground);
    let mut findings = Vec::new();
    for circuit in &job.system.circuits {
        let outlets: Vec<&Outlet> = job.outlets_of(&circuit.id).collect();
        findings.extend(too_much(job, &limits, circuit, &outlets));
        findings.extend(kinds(circuit, &outlets));
        findings.extend(rates(job, circuit, &outlets));
    }
    findings
}

fn too_much(job: &Job, limits: &Limits, circuit: &Circuit, outlets: &[&Outlet]) -> Option<Finding> {
    let flow: Flow = outlets.iter().map(|o| o.flow).sum();
    let most = outlets.iter().map(|o| (limits.most(o), *o));
    let (most, outlet) = most.min_by(|a, b| a.0.flow.total_cmp(&b.0.flow))?;
    let show = |amount: Amount| amount.show(job.units);
    (flow > most.flow * (1.0 + 1e-9)).then(|| {
        Finding::caution(
            "circuit-over-flow",
            circuit.id.as_str(),
            format!(
                "takes {}; with the allowance for pipes a circuit with {} may take {}: {}",
                show(flow.amount()),
                outlet.id,
                show(most.flow.amount()),
                most.limit.words(),
            ),
            "split it, or look at what the plan finds of its pressures and velocities",
        )
    })
}

fn kinds(circuit: &Circuit, outlets: &[&Outlet]) -> Option<Finding> {
    let of = |kind: OutletKind| outlets.iter().filter(move |o| o.kind == kind).count();
    let (heads, drips) = (of(OutletKind::Head), of(OutletKind::Drip));
    (heads > 0 && drips > 0).then(|| {
        Finding::caution(
            "kinds-mixed",
            circuit.id.as_str(),
            format!(
                "runs {} and {} together, which water for different times",
                many(heads, "head"),
                many(drips, "drip point"),
            ),
            "give the drip points a circuit of their own",
        )
    })
}

fn many(count: usize, thing: &str) -> String {
    format!("{count} {thing}{}", if count == 1 { "" } else { "s" })
}

fn rates(job: &Job, circuit: &Circuit, outlets: &[&Outlet]) -> Option<Finding> {
    let rates = || outlets.iter().filter_map(|o| Some((o.precipitation?, o)));
    let by = |a: &(Precipitation, &&Outlet), b: &(Precipitation, &&Outlet)| a.0.total_cmp(&b.0);
    let (low, slow) = rates().min_by(by)?;
    let (high, fast) = rates().max_by(by)?;
    let tolerance = &job.practice.circuits.rate_tolerance;
    let show = |amount: Amount| amount.show(job.units);
    ((high - low) / high > tolerance.value.to_one() * (1.0 + 1e-9)).then(|| {
        Finding::caution(
            "rates-mixed",
            circuit.id.as_str(),
            format!(
                "{} puts down {}, {} {}; the practice lets rates in a circuit differ by {} of the greater",
                slow.id,
                show(low.amount()),
                fast.id,
                show(high.amount()),
                show(Amount::new(tolerance.value.to_one(), Style::Percent)),
            ),
            "give heads of different rates circuits of their own, or nozzles that match",
        )
    })
}

/// What another grouping of the heads that name a circuit would save by the same cost model, if that is
/// worth another drawing. Not tried over 300 heads or 12 places for valves.
pub fn regrouping(job: &Job, ground: &Ground, costs: &GroupCosts) -> Option<Finding> {
    let outlets: Vec<&Outlet> = job
        .system
        .outlets
        .iter()
        .filter(|o| !o.circuit.is_empty())
        .collect();
    let spots = spots(job);
    let many = outlets.len() > MOST_HEADS.min(LARGE) || spots.len() > MOST_SPOTS;
    if outlets.len() < 2 || spots.is_empty() || many {
        return None;
    }
    let task = Task::new(job, ground, costs, outlets, spots);
    let given = given(job, &task)?;
    let used = given
        .iter()
        .fold(0_u64, |bits, set| bits | 1 << set.manifold);
    let now = account(&task.scheme, &given, used).0.total();
    let better = quick(&task.scheme, job.seed)?;
    let saved = now - better.cost;
    let share = &job.practice.circuits.worth_regrouping;
    (saved > now * share.value.to_one()).then(|| {
        let show = |value: f64| Amount::new(value, Style::Money).show(job.units);
        Finding::caution(
            "regrouping-saves",
            Finding::WHOLE_JOB,
            format!(
                "the {} circuits given cost {} by the cost model of the grouping; the same heads in {} \
                 circuits on the same manifolds cost {}, {} less; heads that state no rate are taken as \
                 alike",
                given.len(),
                show(now),
                better.sets.len(),
                show(better.cost),
                show(saved),
            ),
            "take \"circuit\" out of the heads and the circuits and valves out of the job, add places of \
             kind \"manifold\", and look at the proposal; the designer decides",
        )
    })
}

/// Over so many heads a regrouping is not tried beside a plan: it takes too long for a remark.
const LARGE: usize = 300;

/// Where the given valves stand, those of one manifold together, and the places for manifolds.
fn spots(job: &Job) -> Vec<Spot> {
    let mut spots: Vec<Spot> = Vec::new();
    let valves = job.system.valves.iter();
    let valves = valves.map(|v| (v.manifold.as_ref().unwrap_or(&v.id), v.at));
    let manifolds = job.system.manifolds.iter().map(|m| (&m.id, m.at));
    for (name, at) in valves.chain(manifolds) {
        if spots.iter().all(|s| s.name != *name) {
            let name = name.clone();
            spots.push(Spot { name, at });
        }
    }
    spots
}

/// The given circuits as sets; nothing if a head or a circuit has no valve.
fn given(job: &Job, task: &Task) -> Option<Vec<Set>> {
    let mut sets = Vec::new();
    for circuit in &job.system.circuits {
        let valve = job.valve_of(&circuit.id)?;
        let name = valve.manifold.as_ref().unwrap_or(&valve.id);
        let manifold = task.spots.iter().position(|s| s.name == *name)?;
        let outlets = task.outlets.iter().enumerate();
        let own = outlets.filter(|(_, o)| o.circuit == circuit.id);
        let heads: Vec<usize> = own.map(|(h, _)| h).collect();
        if !heads.is_empty() {
            sets.push(Set { heads, manifold });
        }
    }
    Some(sets)
}
