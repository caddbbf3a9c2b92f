//! The circuits proposed for a job, and the job with them filled in.

use crate::GroupCosts;
use crate::account;
use crate::cost::{Parts, account as price};
use crate::limits::Limit;
use crate::scheme::{Grouped, Set};
use crate::solve::solve;
use crate::task::{Spot, Task};
use ground::Ground;
use job::{Circuit, Finding, Job, Place, Valve};
use quantity::{Flow, Ratio};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use working::Ledger;

/// More heads than this are not grouped at once: the work grows with their square.
pub(crate) const MOST_HEADS: usize = 1500;

/// Circuits for the heads that came without one. Money is currency units.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Grouping {
    /// The circuits proposed.
    pub circuits: Vec<Proposed>,
    /// What they cost, by the cost model of the grouping.
    pub cost: Parts,
    /// No grouping in trenches along the least tree costs less, by the same model; 0 if that was not
    /// looked at.
    pub bound: f64,
    /// Whether every grouping was looked at.
    pub exact: bool,
    /// Share of the heads whose nearest neighbour of their kind is in the same circuit.
    pub together: Ratio,
    /// What is to be said about it.
    pub findings: Vec<Finding>,
}

/// A circuit proposed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Proposed {
    /// The circuit's id, which no feature of the job has.
    pub circuit: String,
    /// What people call it.
    pub name: String,
    /// Pipe family of its laterals.
    pub pipe: String,
    /// The valve's id.
    pub valve: String,
    /// The manifold on which it sits.
    pub manifold: String,
    /// Where that is.
    pub at: Place,
    /// Its heads, in the order of the file.
    pub outlets: Vec<String>,
    /// What they need together.
    pub flow: Flow,
    /// What it may take at most.
    pub most: Flow,
    /// What sets that.
    pub limit: Limit,
    /// The head that sets it, if the limit is pressure.
    pub limited_by: Option<String>,
    /// Cost of its laterals.
    pub laterals: f64,
    /// Share of its heads whose nearest neighbour of their kind is in it too.
    pub together: Ratio,
    /// Why these heads and this manifold.
    pub why: String,
}

impl Grouping {
    /// How far the cost may be above the least, as a share of it.
    pub fn gap(&self) -> f64 {
        let cost = self.cost.total();
        if cost > 0.0 {
            ((cost - self.bound) / cost).max(0.0)
        } else {
            0.0
        }
    }

    /// The job with these circuits and valves filled in. What the grouping names and the job does not
    /// have (any more) is passed over.
    pub fn apply(&self, job: &Job) -> Job {
        let mut job = job.clone();
        for proposed in &self.circuits {
            job.system.circuits.push(Circuit {
                id: proposed.circuit.clone(),
                name: proposed.name.clone(),
                pipe: proposed.pipe.clone(),
                runs_with: None,
            });
            job.system.valves.push(Valve {
                id: proposed.valve.clone(),
                at: proposed.at,
                circuit: proposed.circuit.clone(),
                manifold: Some(proposed.manifold.clone()),
                loss: None,
            });
            let own: BTreeSet<&String> = proposed.outlets.iter().collect();
            for outlet in &mut job.system.outlets {
                if outlet.circuit.is_empty() && own.contains(&outlet.id) {
                    outlet.circuit.clone_from(&proposed.circuit);
                }
            }
        }
        job
    }
}

/// Circuits for the heads of a job that name none; `None` if all of them name one.
///
/// The figures go into the ledger with their workings. The same job and costs give the same grouping.
///
/// # Errors
/// If a head cannot run in any circuit, one finding each.
pub fn group(
    job: &Job,
    ground: &Ground,
    costs: &GroupCosts,
    ledger: &mut Ledger,
) -> Result<Option<Grouping>, Vec<Finding>> {
    let outlets: Vec<_> = job.ungrouped().collect();
    if outlets.is_empty() {
        return Ok(None);
    }
    if outlets.len() > MOST_HEADS {
        return Err(vec![too_many(outlets.len())]);
    }
    let task = Task::new(job, ground, costs, outlets, spots(job));
    let beyond = beyond_source(job, &task);
    if !beyond.is_empty() {
        return Err(beyond);
    }
    let Some(grouped) = solve(&task.scheme, job.seed) else {
        return Err(vec![no_place()]);
    };
    let grouping = told(job, &task, &grouped);
    account::put(job, &task, &grouping, ledger);
    Ok(Some(grouping))
}

/// The circuits of an earlier grouping for a job that has changed a little, such as by a head moved:
/// `None` if they are no longer those of its heads, or one of them may not run any more. How much less
/// another grouping would cost is not looked at; the bound is 0.
pub fn keep(
    job: &Job,
    ground: &Ground,
    costs: &GroupCosts,
    last: &Grouping,
    ledger: &mut Ledger,
) -> Option<Grouping> {
    let outlets: Vec<_> = job.ungrouped().collect();
    let number = |id: &String| outlets.iter().position(|o| o.id == *id);
    let mut sets = Vec::with_capacity(last.circuits.len());
    for proposed in &last.circuits {
        let mut heads: Vec<usize> = proposed.outlets.iter().map(number).collect::<Option<_>>()?;
        heads.sort_unstable();
        let named = |m: &job::Manifold| m.id == proposed.manifold;
        let manifold = job.system.manifolds.iter().position(named)?;
        sets.push(Set { heads, manifold });
    }
    let mut all: Vec<usize> = sets.iter().flat_map(|s| s.heads.clone()).collect();
    all.sort_unstable();
    let fits = all.iter().copied().eq(0..outlets.len());
    if outlets.is_empty() || outlets.len() > MOST_HEADS || !fits {
        return None;
    }
    let task = Task::new(job, ground, costs, outlets, spots(job));
    let runs = |set: &Set| !set.heads.is_empty() && task.scheme.may_run(set.heads.iter().copied());
    if !sets.iter().all(runs) {
        return None;
    }
    Some(as_given(job, &task, sets, ledger))
}

/// The circuits that were proposed before the job changed, without heads that are gone and with new ones
/// each in the circuit of the nearest head with which it may run, or in one of its own. Nothing where that
/// breaks a rule, or a place for valves is gone.
pub fn adapt(
    job: &Job,
    ground: &Ground,
    costs: &GroupCosts,
    last: &Grouping,
    ledger: &mut Ledger,
) -> Option<Grouping> {
    let outlets: Vec<_> = job.ungrouped().collect();
    if outlets.is_empty() || outlets.len() > MOST_HEADS || job.system.manifolds.len() > 64 {
        return None;
    }
    let places: Vec<_> = outlets.iter().map(|o| o.at).collect();
    let mut waiting: BTreeMap<&str, usize> =
        (0..).zip(&outlets).map(|(i, o)| (&*o.id, i)).collect();
    let mut sets = Vec::with_capacity(last.circuits.len());
    for proposed in &last.circuits {
        let there = proposed.outlets.iter();
        let mut heads: Vec<usize> = there.filter_map(|id| waiting.remove(&**id)).collect();
        heads.sort_unstable();
        let named = |m: &job::Manifold| m.id == proposed.manifold;
        if let Some(manifold) = job.system.manifolds.iter().position(named)
            && !heads.is_empty()
        {
            sets.push(Set { heads, manifold });
        } else {
            // Their valve is gone: they wait with the new ones.
            waiting.extend(heads.into_iter().map(|head| (&*outlets[head].id, head)));
        }
    }
    let waiting: Vec<usize> = waiting.into_values().collect();
    let task = Task::new(job, ground, costs, outlets, spots(job));
    let may_run = |heads: &[usize]| task.scheme.may_run(heads.iter().copied());
    for head in waiting {
        let away = |set: &Set| {
            let others = set.heads.iter().map(|o| places[*o].distance(places[head]));
            others.fold(f64::INFINITY, f64::min)
        };
        let mut order: Vec<(f64, usize)> = sets.iter().map(away).zip(0..).collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let joined = order.into_iter().find_map(|(_, number)| {
            let mut heads = sets[number].heads.clone();
            heads.push(head);
            heads.sort_unstable();
            may_run(&heads).then_some((number, heads))
        });
        match joined {
            Some((number, heads)) => sets[number].heads = heads,
            None => {
                let manifolds = (0..).zip(&job.system.manifolds);
                let away = |m: &job::Manifold| m.at.distance(places[head]);
                let nearest = manifolds.min_by(|a, b| away(a.1).total_cmp(&away(b.1)));
                sets.push(Set {
                    heads: vec![head],
                    manifold: nearest?.0,
                });
            }
        }
    }
    sets.iter()
        .all(|set| may_run(&set.heads))
        .then(|| as_given(job, &task, sets, ledger))
}

/// Circuits that were not searched for, with their price.
fn as_given(job: &Job, task: &Task, sets: Vec<Set>, ledger: &mut Ledger) -> Grouping {
    let joined = sets
        .iter()
        .fold(0_u64, |bits, set| bits | 1 << set.manifold);
    let (cost, _) = price(&task.scheme, &sets, joined);
    let grouped = Grouped {
        sets,
        joined,
        cost: cost.total(),
        bound: 0.0,
        exact: false,
    };
    let grouping = told(job, task, &grouped);
    account::put(job, task, &grouping, ledger);
    grouping
}

fn spots(job: &Job) -> Vec<Spot> {
    let manifolds = job.system.manifolds.iter();
    let spot = |m: &job::Manifold| Spot {
        name: m.id.clone(),
        at: m.at,
    };
    manifolds.map(spot).collect()
}

fn too_many(heads: usize) -> Finding {
    Finding::error(
        "too-many-heads-to-group",
        Finding::WHOLE_JOB,
        format!("{heads} heads name no circuit; up to {MOST_HEADS} are grouped at once"),
        "name circuits for a part of them, or make several jobs of it",
    )
}

/// A job is checked for a place before it is grouped; this is the answer if it was not.
fn no_place() -> Finding {
    Finding::error(
        "no-manifold",
        Finding::WHOLE_JOB,
        "heads name no circuit, and there is no place for the valve of one",
        "add a Point of kind \"manifold\" where valves may stand",
    )
}

/// Heads that ask more alone than the source gives at the pressure that they need.
fn beyond_source(job: &Job, task: &Task) -> Vec<Finding> {
    let heads = task.outlets.iter().zip(&task.most).enumerate();
    let beyond = heads.filter(|(h, _)| !task.scheme.may_run([*h]));
    beyond
        .map(|(_, (outlet, most))| {
            let show = |amount: quantity::Amount| amount.show(job.units);
            Finding::error(
                "head-beyond-source",
                outlet.id.as_str(),
                format!(
                    "alone needs {}; with {} held at the source for its {}, a circuit may take {}: {}",
                    show(outlet.flow.amount()),
                    show(most.at_source.amount()),
                    show(outlet.pressure.amount()),
                    show(most.flow.amount()),
                    most.limit.words(),
                ),
                "choose a head that needs less, or find a source that gives more",
            )
        })
        .collect()
}

fn told(job: &Job, task: &Task, grouped: &Grouped) -> Grouping {
    let (cost, laterals) = price(&task.scheme, &grouped.sets, grouped.joined);
    let near = task.neighbours_together(&grouped.sets);
    let names = Names::new(job, grouped.sets.len());
    let circuits = grouped.sets.iter().enumerate().map(|(i, set)| {
        let own: Vec<Option<bool>> = set.heads.iter().map(|h| near[*h]).collect();
        Proposed {
            circuit: names.circuits[i].clone(),
            name: format!("proposed {}", i + 1),
            pipe: job.practice.circuits.pipe.value.clone(),
            valve: names.valves[i].clone(),
            laterals: laterals[i],
            together: share(&own),
            ..proposed(job, task, set, grouped)
        }
    });
    let circuits: Vec<Proposed> = circuits.collect();
    let mut findings = vec![Finding::caution(
        "circuits-proposed",
        Finding::WHOLE_JOB,
        format!(
            "{} circuits for {} heads are our proposal, not a design",
            circuits.len(),
            task.outlets.len()
        ),
        "the designer looks at spacing, plants, sun and soil, changes them where need be, and decides",
    )];
    if task.broken {
        findings.push(Finding::caution(
            "ways-unknown",
            Finding::WHOLE_JOB,
            "some heads or manifolds cannot be joined around what stands in the way; for the grouping \
             straight lines stand for the ways to them",
            "look whether a wall or a keep-out closes off a part of the property",
        ));
    }
    Grouping {
        circuits,
        cost,
        bound: grouped.bound.min(cost.total()),
        exact: grouped.exact,
        together: share(&near),
        findings,
    }
}

/// What is known of a circuit by itself.
fn proposed(job: &Job, task: &Task, set: &Set, grouped: &Grouped) -> Proposed {
    let binding = task.binding(set);
    let most = task.most[binding];
    let spot = &task.spots[set.manifold];
    let flow: Flow = set.heads.iter().map(|h| task.outlets[*h].flow).sum();
    let limited_by = (most.limit == Limit::Pressure).then(|| task.outlets[binding].id.clone());
    let mut why = format!(
        "takes {} of the {} that it may ({}{})",
        flow.amount().show(job.units),
        most.flow.amount().show(job.units),
        most.limit.words(),
        limited_by
            .iter()
            .map(|h| format!(", {h} first"))
            .collect::<String>(),
    );
    why += &match elsewhere(task, set, grouped) {
        Some((name, more)) => format!(
            "; on {} it costs {more:.0} {} less than on {name}, the next best",
            spot.name, job.prices.currency.value
        ),
        None => format!(
            "; {} is the only manifold that the trenches join",
            spot.name
        ),
    };
    Proposed {
        circuit: String::new(),
        name: String::new(),
        pipe: String::new(),
        valve: String::new(),
        manifold: spot.name.clone(),
        at: spot.at,
        outlets: set
            .heads
            .iter()
            .map(|h| task.outlets[*h].id.clone())
            .collect(),
        flow,
        most: most.flow,
        limit: most.limit,
        limited_by,
        laterals: 0.0,
        together: Ratio::one(1.0),
        why,
    }
}

/// The next best manifold for a circuit among those joined, and what more it would cost there.
fn elsewhere(task: &Task, set: &Set, grouped: &Grouped) -> Option<(String, f64)> {
    let moved = |m: usize| {
        let sets = grouped.sets.iter().map(|s| Set {
            manifold: if s == set { m } else { s.manifold },
            ..s.clone()
        });
        let sets: Vec<Set> = sets.collect();
        price(&task.scheme, &sets, grouped.joined).0.total() - grouped.cost
    };
    (0..task.spots.len())
        .filter(|m| *m != set.manifold && grouped.joined >> m & 1 == 1)
        .map(|m| (task.spots[m].name.clone(), moved(m).max(0.0)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The share of the heads that have a neighbour whose neighbour is with them; all if none has one.
fn share(near: &[Option<bool>]) -> Ratio {
    let with: Vec<bool> = near.iter().copied().flatten().collect();
    if with.is_empty() {
        return Ratio::one(1.0);
    }
    let together = with.iter().filter(|is| **is).count();
    Ratio::one(together as f64 / with.len() as f64)
}

/// Ids that no feature of the job has: C1, C2 … and V1, V2 …, those in use passed over.
struct Names {
    circuits: Vec<String>,
    valves: Vec<String>,
}

impl Names {
    fn new(job: &Job, count: usize) -> Self {
        let used = job.ids();
        let free = |letter: &str| -> Vec<String> {
            (1_usize..)
                .map(|n| format!("{letter}{n}"))
                .filter(|id| !used.contains(id.as_str()))
                .take(count)
                .collect()
        };
        Self {
            circuits: free("C"),
            valves: free("V"),
        }
    }
}
