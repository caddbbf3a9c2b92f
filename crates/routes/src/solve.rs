//! The least costly network found, and the bound below which none of the candidate graph lies.

use crate::build::{Known, build};
use crate::candidates::candidates;
use crate::fixed;
use crate::laid::Laid;
use crate::memory::Memory;
use crate::pose::Posed;
use crate::recall::recall;
use crate::refine::{self, Used};
use crate::roadmap::{RoadEdge, Roadmap};
use crate::sites::{Wanted, wanted};
use crate::tidy::{Apart, Draft, Pricer, tidy};
use crate::turning::TurningRule;
use crate::{LineKind, Network, NodeKind, Site};
use geo::Coord;
use ground::{Ground, StretchGround};
use job::{Finding, Job, Severity};
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use steiner::{Aim, Limits, Solution};

/// At most so many steps of refining the graph where the last solution uses it. Jobs of up to 300
/// heads end after two to five by [`LEAST_GAIN`]; the rest is for what is larger.
const STEPS: usize = 8;
/// Refining ends when a step gains less than this share.
const LEAST_GAIN: f64 = 0.001;
/// Edge relaxations that the solver may spend in a step, for each edge and line.
const WORK_PER_EDGE: u64 = 60;
/// And at least so many, since small jobs cost next to nothing to search well.
const LEAST_WORK: u64 = 300_000;
/// At most this many relaxations a step.
const MOST_WORK: u64 = 12_000_000;
/// The search that also proves the bound may spend this many times as much.
const PROOF_SHARE: u64 = 8;
/// And at least so much, so that small jobs get a tight bound.
const LEAST_PROOF: u64 = 16_000_000;
/// And at most so much.
const MOST_PROOF: u64 = 48_000_000;
/// Up to this many edges times lines, a proof comes close to the optimum and may take more.
const SMALL: u64 = 60_000;
/// The most work of such a proof.
const SMALL_PROOF: u64 = 300_000_000;
/// Up to this many, a longer proof still finds cheaper trees and a higher bound.
const MEDIUM: u64 = 400_000;
/// The most work of such a proof.
const MEDIUM_PROOF: u64 = 400_000_000;
/// A proof that has taken [`LEAST_PROOF`] ends once the bound comes to this part of the cost.
const PROVED: f64 = 0.99;

/// A search that begins with known trees gets one in so many parts of the work: most of them are as good
/// as they can be, and the steps of refining and tidying find more than a longer search does.
const AGAIN_SHARE: u64 = 6;

/// The same for a search that is to be over soon: little more than what has changed is looked at.
const HURRIED_SHARE: u64 = 30;

/// Steps of refining when an earlier network is known: the graph has its places already, and only what
/// has changed is new.
const AGAIN_STEPS: usize = 2;

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
    /// A bend in a trench: fittings, and setting the machine anew.
    pub bend: f64,
    /// A junction of trenches.
    pub junction: f64,
}

/// The trees that were chosen, one for each wanted line.
#[derive(Debug, Clone)]
struct Chosen {
    /// Edges of the map, one list for each line.
    trees: Vec<Vec<u32>>,
    /// Their cost.
    cost: f64,
    /// The bound.
    bound: f64,
}

/// Why there is no network.
#[derive(Debug, Clone, PartialEq)]
pub enum RouteError {
    /// Components that cannot be reached, one finding each.
    Unreachable(Vec<Finding>),
    /// The user stopped it.
    Stopped,
}

/// Lays out where trenches might run on one job, then finds the least costly ones at given prices, as
/// often as the prices change: each search begins with the best trees of the one before.
pub struct Router<'a> {
    job: &'a Job,
    ground: &'a Ground,
    map: Roadmap<'a>,
    sites: Vec<Site>,
    lines: Vec<Wanted>,
    known: Option<Vec<Vec<u32>>>,
    /// At most so many steps of refining.
    steps: usize,
    /// Whether a search is to be over soon.
    hurried: bool,
    /// The trees of an earlier network, if only what differs from them is to be tidied.
    recalled: Option<Vec<Vec<u32>>>,
    /// The trees of the last network, tidied.
    tidied: Option<Vec<Vec<u32>>>,
    /// What the last step of refining gained, as a share of the cost.
    gained: Option<f64>,
}

impl<'a> Router<'a> {
    /// Lays out the candidate trenches of a job.
    pub fn new(job: &'a Job, ground: &'a Ground) -> Self {
        Self::watched(job, ground, Memory::default(), &|_| {
            ControlFlow::Continue(())
        })
        .expect("nobody stops it")
    }

    /// The same with a memory of ways that were measured on this very ground; may be stopped.
    ///
    /// # Errors
    /// If `progress` stops it.
    pub fn watched(
        job: &'a Job,
        ground: &'a Ground,
        memory: Memory,
        progress: &dyn Fn(&str) -> ControlFlow<()>,
    ) -> Result<Self, RouteError> {
        let (sites, lines) = wanted(job);
        let candidates = candidates(job, ground, &sites);
        stop_or(progress(""))?;
        let ask = || progress("");
        let map = Roadmap::new(job, ground, &sites, &candidates, memory, &ask);
        let map = map.ok_or(RouteError::Stopped)?;
        Ok(Self {
            job,
            ground,
            map,
            sites,
            lines,
            known: None,
            steps: STEPS,
            hurried: false,
            recalled: None,
            tidied: None,
            gained: None,
        })
    }

    /// What was measured, for another search on the same ground.
    pub fn into_memory(self) -> Memory {
        self.map.memory.rested()
    }

    /// Begins with the trenches of an earlier network, such as that of the last plan before the job was
    /// changed. The next searches keep to them where they still lead somewhere, and take less time.
    pub fn recall(&mut self, last: &Network) {
        self.known = Some(recall(&mut self.map, &self.lines, last));
        self.steps = AGAIN_STEPS;
    }

    /// The next searches spend a small part of the work that others do, on what is known; trenches that
    /// were recalled so far stay as they were tidied then.
    pub fn hurry(&mut self) {
        self.hurried = true;
        self.recalled.clone_from(&self.known);
        self.steps = 1;
    }

    /// What keeps the job from being routed, one finding each: components that no trench can reach, and
    /// fixed trenches that cannot run as drawn.
    pub fn unreachable(&self) -> Vec<Finding> {
        let conflicts = fixed::conflicts(self.job, self.ground);
        let mut findings: Vec<Finding> = conflicts
            .into_iter()
            .filter(|f| f.severity == Severity::Error)
            .collect();
        findings.extend(unreachable(self.job, &self.map, &self.sites, &self.lines));
        findings
    }

    /// Connects everything by the least costly set of trenches that is found at these prices; with
    /// `proof`, searches longer and proves how much cheaper it could be at most, else the bound is 0.
    ///
    /// `progress` is told what is going on and may stop the work. The result depends on the job and on
    /// the prices of this and earlier calls, not on time or on the number of threads.
    ///
    /// # Errors
    /// If a component cannot be reached, or the user stops the work.
    pub fn route(
        &mut self,
        costs: &RouteCosts<'_>,
        proof: bool,
        progress: &dyn Fn(&str) -> ControlFlow<()>,
    ) -> Result<Network, RouteError> {
        let unreachable = self.unreachable();
        if !unreachable.is_empty() {
            return Err(RouteError::Unreachable(unreachable));
        }
        self.map.price(costs);
        let best = self.improve(costs, proof, progress)?;
        let draft = self.tidied(costs, &best.trees, progress)?;
        let known = Known {
            laying: draft.laying(),
            // Tidied trenches lie off the graph and may cost less than all that lie on it.
            bound: best.bound.min(draft.laying()),
            least_laying: best.cost.min(draft.laying()),
            candidates: self.map.edges.len(),
            refinement: self.gained,
            rule: self.rule(costs),
        };
        let laid = Laid::new(&draft, self.sites.len());
        let mut network = build(
            self.job,
            self.ground,
            &laid,
            &self.sites,
            &self.lines,
            known,
        );
        network.findings.extend(self.about_fixed(&best.trees));
        debug_assert!((network.cost - draft.cost()).abs() <= 1e-6 * (1.0 + draft.cost()));
        self.known = Some(best.trees);
        Ok(network)
    }

    /// Steps of good trees, each on a graph refined where the last one ran; for a proof that begins with
    /// known trees, one search from them on the graph as it is.
    fn improve(
        &mut self,
        costs: &RouteCosts<'_>,
        proof: bool,
        progress: &dyn Fn(&str) -> ControlFlow<()>,
    ) -> Result<Chosen, RouteError> {
        let mut best = self.known.take().map(|trees| Chosen {
            trees,
            cost: f64::INFINITY,
            bound: 0.0,
        });
        let steps = if proof && best.is_some() {
            0
        } else {
            self.steps
        };
        for step in 1..=steps {
            stop_or(progress(&format!(
                "looking for the least costly trenches, step {step}: {} places, {} ways",
                self.map.nodes.len(),
                self.map.edges.len()
            )))?;
            let before = best.as_ref().map_or(f64::INFINITY, |b| b.cost);
            let aim = if self.hurried { Aim::Near } else { Aim::Trees };
            let found = self.solve(costs, aim, best.as_ref(), progress)?;
            let gained = (before - found.cost) / found.cost.max(f64::MIN_POSITIVE);
            if gained.is_finite() {
                self.gained = Some(gained.max(0.0));
            }
            // Nobody would look at what is proposed after the only step.
            let added = match self.hurried && step == steps {
                true => 0,
                false => self.refine(costs, &found.trees),
            };
            best = Some(found);
            if added == 0 || gained < LEAST_GAIN {
                break;
            }
        }
        if proof {
            // With tidied trenches in the graph, the bound holds for them too.
            if let Some(found) = &mut best {
                self.tidied(costs, &found.trees, progress)?;
                found.trees = self.tidied.clone().unwrap_or_else(|| found.trees.clone());
            }
            stop_or(progress("proving how much cheaper it could be at most"))?;
            best = Some(self.solve(costs, Aim::TreesAndBound, best.as_ref(), progress)?);
        }
        best.ok_or(RouteError::Stopped)
    }

    /// Adds to the map what might make a solution cheaper; returns how many ways that is.
    fn refine(&mut self, costs: &RouteCosts<'_>, trees: &[Vec<u32>]) -> usize {
        let used = used(&self.map, &self.lines, costs, trees);
        let added = refine::propose(&mut self.map, &used);
        self.map.price_new(costs);
        added
    }

    /// The trees of the map as one would dig them, or those of the last network, tidied once more at
    /// these prices, if they cost less.
    fn tidied(
        &mut self,
        costs: &RouteCosts<'_>,
        trees: &[Vec<u32>],
        progress: &dyn Fn(&str) -> ControlFlow<()>,
    ) -> Result<Draft, RouteError> {
        let mut best = self.tidied_from(costs, trees, progress)?;
        if let Some(before) = self.tidied.take() {
            let again = self.tidied_from(costs, &before, progress)?;
            if again.cost() < best.cost() {
                best = again;
            }
        }
        self.tidied = self.map.adopt(&best);
        self.map.price_new(costs);
        Ok(best)
    }

    fn tidied_from(
        &mut self,
        costs: &RouteCosts<'_>,
        trees: &[Vec<u32>],
        progress: &dyn Fn(&str) -> ControlFlow<()>,
    ) -> Result<Draft, RouteError> {
        let rates = self.lines.iter().map(|l| (costs.line)(&l.kind).max(0.0));
        let rule = self.rule(costs);
        let mut memory = std::mem::take(&mut self.map.memory);
        let pricer = Pricer::new(
            &self.map,
            self.ground,
            costs,
            rule,
            rates.collect(),
            &mut memory,
        );
        let to_spots = |line: &Wanted| line.sites.iter().map(|s| *s as u32).collect();
        let ends = self.lines.iter().map(to_spots).collect();
        let mut draft = Draft::new(&self.map, trees, ends, &pricer);
        let rules = &self.job.practice.trench;
        let apart = Apart {
            trenches: rules.spacing.value.to_m(),
            junctions: rules.junctions_apart.value.to_m(),
        };
        let before = draft.cost();
        let changed = self
            .recalled
            .as_ref()
            .map(|recalled| self.changed(recalled, trees, &draft));
        let flow = tidy(&mut draft, pricer, apart, changed, &|| progress(""));
        self.map.memory = memory;
        debug_assert!(draft.cost() <= before * (1.0 + 1e-12));
        stop_or(flow)?;
        Ok(draft)
    }

    /// The spots of a draft at which its trees are other ones than those recalled.
    fn changed(&self, recalled: &[Vec<u32>], trees: &[Vec<u32>], draft: &Draft) -> Vec<bool> {
        let key = |at: Coord| [at.x.to_bits(), at.y.to_bits()];
        let mut places = BTreeSet::new();
        for (before, now) in recalled.iter().zip(trees) {
            let gone = before.iter().filter(|e| now.binary_search(e).is_err());
            let come = now.iter().filter(|e| before.binary_search(e).is_err());
            for edge in gone.chain(come) {
                let RoadEdge { a, b, .. } = self.map.edges[*edge as usize];
                places.extend([a, b].map(|node| key(self.map.nodes[node as usize])));
            }
        }
        let spots = 0..draft.spots.len() as u32;
        spots
            .map(|spot| places.contains(&key(draft.at(spot))))
            .collect()
    }

    /// What is to be known of fixed trenches that do run.
    fn about_fixed(&self, trees: &[Vec<u32>]) -> Vec<Finding> {
        let mut findings = fixed::conflicts(self.job, self.ground);
        findings.extend(fixed::unused(self.job, &self.map, &self.lines, trees));
        findings
    }

    fn rule(&self, costs: &RouteCosts<'_>) -> TurningRule {
        TurningRule::new(&self.job.practice, costs.bend, costs.junction)
    }

    fn solve(
        &self,
        costs: &RouteCosts<'_>,
        aim: Aim,
        known: Option<&Chosen>,
        progress: &dyn Fn(&str) -> ControlFlow<()>,
    ) -> Result<Chosen, RouteError> {
        let size = self.map.edges.len() as u64 * (self.lines.len() as u64).max(1);
        let work = match aim {
            Aim::Trees | Aim::Near => {
                let work = (size * WORK_PER_EDGE).clamp(LEAST_WORK, MOST_WORK);
                let share = match known {
                    Some(_) if self.hurried => HURRIED_SHARE,
                    Some(_) => AGAIN_SHARE,
                    None => 1,
                };
                work / share
            }
            Aim::TreesAndBound if size <= SMALL => SMALL_PROOF,
            Aim::TreesAndBound if size <= MEDIUM => MEDIUM_PROOF,
            Aim::TreesAndBound => {
                (size * WORK_PER_EDGE * PROOF_SHARE).clamp(LEAST_PROOF, MOST_PROOF)
            }
        };
        let limits = Limits {
            work,
            seed: self.job.seed,
        };
        let stopped = std::cell::Cell::new(false);
        let report = |now: steiner::Progress| {
            let flow = progress("");
            stopped.set(stopped.get() || flow.is_break());
            let proved = now.work >= LEAST_PROOF && now.bound >= now.cost * PROVED;
            match proved && aim == Aim::TreesAndBound {
                true => ControlFlow::Break(()),
                false => flow,
            }
        };
        let posed = Posed::new(self.job, &self.map, &self.lines, &|kind| (costs.line)(kind));
        let known = known.map(|chosen| posed.known(&chosen.trees));
        match steiner::solve_from(&posed.problem, limits, aim, known.as_deref(), &report) {
            Ok(Solution {
                trees, cost, bound, ..
            }) if !stopped.get() => Ok(Chosen {
                trees: posed.found(&self.map, &self.lines, trees),
                cost: cost + posed.sunk,
                bound: bound + posed.sunk,
            }),
            _ => Err(RouteError::Stopped),
        }
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

fn unreachable(job: &Job, map: &Roadmap<'_>, sites: &[Site], lines: &[Wanted]) -> Vec<Finding> {
    let posed = Posed::new(job, map, lines, &|_| 0.0);
    let mut findings: Vec<Finding> = steiner::unreachable_terminals(&posed.problem)
        .into_iter()
        .map(|(group, terminal)| {
            let root = &sites[lines[group].sites[0]].what;
            let (subject, there) = match sites.get(terminal as usize) {
                Some(site) => (feature_of(&site.what), in_words(&site.what)),
                None => (map.fixed_at(job, terminal), "a fixed trench".to_owned()),
            };
            Finding::error(
                "unreachable",
                subject,
                format!("no trench can reach {there} from {}", in_words(root)),
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
