//! The least costly network found, and the bound below which none of the candidate graph lies.

use crate::build::{Chosen, build};
use crate::candidates::candidates;
use crate::refine::{self, Used};
use crate::roadmap::Roadmap;
use crate::sites::{Wanted, wanted};
use crate::{LineKind, Network, NodeKind, Site};
use ground::{Ground, StretchGround};
use job::{Finding, Job};
use std::ops::ControlFlow;
use steiner::{Aim, Edge, Group, Limits, Problem, Solution};

/// Rounds of refining the graph where the last solution uses it.
const ROUNDS: usize = 3;
/// Refining ends when a round gains less than this share.
const LEAST_GAIN: f64 = 0.001;
/// Edge relaxations that the solver may spend in a round, for each edge and line.
const WORK_PER_EDGE: u64 = 60;
/// At most this many relaxations a round.
const MOST_WORK: u64 = 12_000_000;
/// The last search, which also proves the bound, may spend this many times as much.
const LAST_SHARE: u64 = 2;

/// What things cost, as the router sees it; currency units.
pub struct RouteCosts<'a> {
    /// A metre of trench in a kind of ground.
    pub trench: &'a (dyn Fn(&StretchGround) -> f64 + Sync),
    /// A metre of a line, material and laying, on top of the trench.
    pub line: &'a (dyn Fn(&LineKind) -> f64 + Sync),
    /// A metre of a new sleeve.
    pub sleeve_new: f64,
    /// A metre through a sleeve that lies there already.
    pub sleeve_existing: f64,
    /// Crossing a buried service, besides digging.
    pub crossing: f64,
}

/// Why there is no network.
#[derive(Debug, Clone, PartialEq)]
pub enum RouteError {
    /// Components that cannot be reached, one finding each.
    Unreachable(Vec<Finding>),
    /// The user stopped it.
    Stopped,
}

/// Connects everything in a job by the least costly set of trenches that is found.
///
/// `progress` is told what is going on and may stop the work. The result depends on the job and the
/// costs alone, not on time or on the number of threads.
///
/// # Errors
/// If a component cannot be reached, or the user stops the work.
pub fn route(
    job: &Job,
    ground: &Ground,
    costs: &RouteCosts<'_>,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Network, RouteError> {
    let (sites, lines) = wanted(job);
    let candidates = candidates(job, ground, &sites);
    stop_or(progress("laying out where trenches might run"))?;
    let mut map = Roadmap::new(job, ground, costs, &sites, &candidates);
    let unreachable = unreachable(&map, &sites, &lines, costs);
    if !unreachable.is_empty() {
        return Err(RouteError::Unreachable(unreachable));
    }
    let best = improve(&mut map, &lines, costs, job.seed, progress)?;
    Ok(build(job, ground, &map, &sites, &lines, &best))
}

/// Components that no trench can reach, one finding each; empty if all can be reached.
pub fn check_reach(job: &Job, ground: &Ground) -> Vec<Finding> {
    let costs = RouteCosts {
        trench: &|_| 1.0,
        line: &|_| 0.0,
        sleeve_new: 1.0,
        sleeve_existing: 1.0,
        crossing: 0.0,
    };
    let (sites, lines) = wanted(job);
    let candidates = candidates(job, ground, &sites);
    let map = Roadmap::new(job, ground, &costs, &sites, &candidates);
    unreachable(&map, &sites, &lines, &costs)
}

/// Rounds of good trees, each on a graph refined where the last one ran; then one more search from the
/// best of them, which proves the bound on the last graph.
fn improve(
    map: &mut Roadmap<'_>,
    lines: &[Wanted],
    costs: &RouteCosts<'_>,
    seed: u64,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Chosen, RouteError> {
    let mut best: Option<Solution> = None;
    for round in 1..=ROUNDS {
        stop_or(progress(&format!(
            "looking for the least costly trenches, step {round}: {} places, {} ways",
            map.nodes.len(),
            map.edges.len()
        )))?;
        let before = best.as_ref().map_or(f64::INFINITY, |b| b.cost);
        let found = solve(map, lines, costs, seed, Aim::Trees, best.as_ref(), progress)?;
        let gained = (before - found.cost) / found.cost.max(f64::MIN_POSITIVE);
        let added = refine::propose(map, &used(map, lines, costs, &found.trees));
        best = Some(found);
        if added == 0 || gained < LEAST_GAIN {
            break;
        }
    }
    stop_or(progress("proving how much cheaper it could be at most"))?;
    let last = solve(
        map,
        lines,
        costs,
        seed,
        Aim::TreesAndBound,
        best.as_ref(),
        progress,
    )?;
    Ok(Chosen {
        trees: last.trees,
        cost: last.cost,
        bound: last.bound,
    })
}

fn problem(map: &Roadmap<'_>, lines: &[Wanted], costs: &RouteCosts<'_>) -> Problem {
    let edges = map
        .edges
        .iter()
        .map(|e| Edge {
            a: e.a,
            b: e.b,
            shared: e.dig.max(0.0),
            length: e.length,
        })
        .collect();
    let groups = lines
        .iter()
        .map(|line| Group {
            terminals: line.sites.iter().map(|s| *s as u32).collect(),
            rate: (costs.line)(&line.kind).max(0.0),
        })
        .collect();
    Problem::new(map.nodes.len(), edges, groups)
        .expect("edges join nodes of the map, and prices were checked to be finite")
}

fn solve(
    map: &Roadmap<'_>,
    lines: &[Wanted],
    costs: &RouteCosts<'_>,
    seed: u64,
    aim: Aim,
    known: Option<&Solution>,
    progress: &dyn Fn(&str) -> ControlFlow<()>,
) -> Result<Solution, RouteError> {
    let size = map.edges.len() as u64 * (lines.len() as u64).max(1);
    let share = if aim == Aim::Trees { 1 } else { LAST_SHARE };
    let limits = Limits {
        work: (size * WORK_PER_EDGE).min(MOST_WORK) * share,
        seed,
    };
    let stopped = std::cell::Cell::new(false);
    let report = |_: steiner::Progress| {
        let flow = progress("");
        stopped.set(stopped.get() || flow.is_break());
        flow
    };
    let known = known.map(|solution| solution.trees.as_slice());
    let problem = problem(map, lines, costs);
    match steiner::solve_from(&problem, limits, aim, known, &report) {
        Ok(solution) if !stopped.get() => Ok(solution),
        _ => Err(RouteError::Stopped),
    }
}

/// What each used edge costs by the metre: digging once, and all its lines.
fn used(map: &Roadmap<'_>, lines: &[Wanted], costs: &RouteCosts<'_>, trees: &[Vec<u32>]) -> Used {
    let mut used = Used::new();
    for (line, tree) in lines.iter().zip(trees) {
        let rate = (costs.line)(&line.kind);
        for edge in tree {
            let e = &map.edges[*edge as usize];
            *used
                .entry(*edge)
                .or_insert(e.dig / e.length.max(f64::MIN_POSITIVE)) += rate;
        }
    }
    used
}

fn unreachable(
    map: &Roadmap<'_>,
    sites: &[Site],
    lines: &[Wanted],
    costs: &RouteCosts<'_>,
) -> Vec<Finding> {
    let mut findings: Vec<Finding> = steiner::reachable(&problem(map, lines, costs))
        .into_iter()
        .map(|(group, terminal)| {
            let root = &sites[lines[group].sites[0]].what;
            let site = &sites[terminal as usize].what;
            Finding::error(
                "unreachable",
                feature_of(site),
                format!("no trench can reach {} from {}", in_words(site), in_words(root)),
                "look for obstacles, their clearances, the property line or paving that close it in; \
                 leave a gap, move the component, or give a sleeve under the paving",
            )
        })
        .collect();
    findings.sort();
    findings.dedup();
    findings
}

pub(crate) fn feature_of(what: &NodeKind) -> String {
    match what {
        NodeKind::Source(id)
        | NodeKind::Backflow(id)
        | NodeKind::Controller(id)
        | NodeKind::Valve(id)
        | NodeKind::Outlet(id)
        | NodeKind::CableEnd(id) => id.clone(),
        NodeKind::Junction | NodeKind::Change => String::new(),
    }
}

pub(crate) fn in_words(what: &NodeKind) -> String {
    match what {
        NodeKind::Source(id) => format!("source {id}"),
        NodeKind::Backflow(id) => format!("backflow assembly {id}"),
        NodeKind::Controller(id) => format!("controller {id}"),
        NodeKind::Valve(id) => format!("valve {id}"),
        NodeKind::Outlet(id) => format!("head {id}"),
        NodeKind::CableEnd(id) => format!("cable end {id}"),
        NodeKind::Junction => "a junction".to_owned(),
        NodeKind::Change => "a change of ground".to_owned(),
    }
}

fn stop_or(flow: ControlFlow<()>) -> Result<(), RouteError> {
    match flow {
        ControlFlow::Continue(()) => Ok(()),
        ControlFlow::Break(()) => Err(RouteError::Stopped),
    }
}
