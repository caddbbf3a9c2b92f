//! Pipe sizes: the least costly that give every head its pressure.
//!
//! What the sizes keep: the velocity limit of service, main and laterals; in a line no pipe is smaller
//! than one it feeds, and the service is not smaller than the size given for it; pressure at rest and
//! surge stay under the rating; every outlet that any pipe can help has its pressure; the pressures of a
//! circuit keep within the spread, where any sizes can.
//!
//! Laterals are exact: all sizes that no others beat, in price and in the pressure that they need behind
//! the valve. The main is chosen together with them. Its circuits have flows of their own, so that no
//! one order of its sizes holds for all of them; losses are put in proportion to flow^1.852 and taken
//! once at the best and once at the worst of the circuits behind a pipe. The first gives a bound, the
//! second sizes that hold; where both cost the same, the sizes are proven.

mod allowed;
mod mains;
mod prices;
#[cfg(test)]
mod tests;

use crate::least::{self, Choice, End, Front, Offer, Section, Tree};
use crate::memory::{Look, Memory};
use crate::model::{Model, Sizes};
use crate::piping::Way;
use quantity::{Length, Pressure};
use rayon::prelude::*;
use std::ops::{ControlFlow, Range};
use std::sync::Arc;

pub(crate) use allowed::given_service;
pub(crate) use mains::behind_valve_with;

use prices::cost;

/// The sizes of all sections with what is proven of them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Chosen {
    pub sizes: Sizes,
    /// What the pipes cost.
    pub cost: f64,
    /// No sizes that keep the rules cost less.
    pub bound: f64,
    /// What sizes by velocity alone would cost, and the outlets that would lack pressure with them.
    pub by_velocity: f64,
    pub lacking_by_velocity: usize,
}

/// Lacks smaller than this are none.
pub(crate) const NO_LACK: Pressure = Pressure::pa(1.0);

/// Labels kept of a section in the first, coarse look.
const COARSE: usize = 48;

/// Money below this is none.
const NO_MONEY: f64 = 1e-6;

/// A circuit's lateral: its tree, which section of the model each of its sections is.
struct Lateral {
    way: usize,
    sections: Range<usize>,
    tree: Tree,
}

/// How far sizes are searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Search {
    /// The first, coarse look alone.
    Coarse,
    /// To the end, as far as there is room.
    Proven,
}

/// The sizes of all sections; nothing if it is stopped.
pub(crate) fn choose(
    model: &Model,
    (search, memory): (Search, &Memory),
    ask: &dyn Fn() -> ControlFlow<()>,
) -> Option<Chosen> {
    ask().continue_value()?;
    let allowed = allowed::all(model);
    let mut laterals = laterals(model, &allowed);
    let few = (search == Search::Coarse).then_some(COARSE);
    let main = mains::Mains::new(model, &allowed, few);
    let how = (search, memory);
    let mut solved = solve(model, &allowed, &main, (&mut laterals, how), ask)?;
    // The rule of spread makes three figures of two and is seldom felt: it is asked only of laterals that
    // break it without.
    if keep_spread(model, &mut laterals, &solved.0) {
        solved = solve(model, &allowed, &main, (&mut laterals, how), ask)?;
    }
    let (sizes, bound) = solved;
    let by_velocity = allowed::by_velocity(model);
    let total = cost(model, &sizes);
    Some(Chosen {
        bound: bound.min(total),
        cost: total,
        by_velocity: cost(model, &by_velocity),
        lacking_by_velocity: lacking(model, &by_velocity),
        sizes,
    })
}

/// The least costly sizes and their bound.
fn solve(
    model: &Model,
    allowed: &[Vec<bool>],
    main: &mains::Mains,
    (laterals, (search, memory)): (&mut [Lateral], (Search, &Memory)),
    ask: &dyn Fn() -> ControlFlow<()>,
) -> Option<(Sizes, f64)> {
    ask().continue_value()?;
    let look = |lateral: &mut Lateral| {
        lateral.tree.most_cost = f64::INFINITY;
        first_look(model, lateral, memory)
    };
    let looks: Vec<Arc<Look>> = laterals.par_iter_mut().map(look).collect();
    let fronts: Vec<&Front> = looks.iter().map(|look| &look.front).collect();
    ask().continue_value()?;
    let mut best = main.best(model, laterals, &fronts, f64::INFINITY).best;
    let mut bound = main.floor(laterals);
    if let Some(most) = best
        .as_ref()
        .map(|b| b.cost)
        .filter(|c| search == Search::Proven && *c > bound + NO_MONEY)
    {
        let slack = most - bound;
        ask().continue_value()?;
        let search_again = |lateral: &mut Lateral| {
            lateral.tree.most_cost = least::floor(&lateral.tree) + slack;
            least::front(&lateral.tree, None)
        };
        let fronts: Vec<Front> = laterals.par_iter_mut().map(search_again).collect();
        let fronts: Vec<&Front> = fronts.iter().collect();
        ask().continue_value()?;
        let second = main.best(model, laterals, &fronts, most);
        if fronts.iter().all(|f| f.complete) {
            bound = bound.max(second.bound);
        }
        if let Some(found) = second.best.filter(|f| f.cost < most) {
            best = Some(found);
        }
    }
    let sizes = best.map_or_else(|| allowed::smallest(model, allowed), |b| b.sizes);
    Some((sizes, bound))
}

/// Lets the rule of spread count for the laterals that break it with these sizes; whether any does.
fn keep_spread(model: &Model, laterals: &mut [Lateral], sizes: &Sizes) -> bool {
    let mut breaks = false;
    for lateral in laterals {
        let way = &model.piping.ways[lateral.way];
        let Some(most) = spread(model, way) else {
            continue;
        };
        let state = model.state(way, sizes, 1.0);
        let taps = way.taps.iter().zip(&state.outlets);
        let held = taps.filter(|(t, _)| !t.outlet.compensating);
        let spares: Vec<f64> = held
            .filter_map(|(t, p)| p.map(|p| (p - t.outlet.pressure).to_pa()))
            .collect();
        let highest = spares.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let lowest = spares.iter().copied().fold(f64::INFINITY, f64::min);
        if highest - lowest > most + NO_LACK.to_pa() {
            lateral.tree.spread = Some(most);
            breaks = true;
        }
    }
    breaks
}

/// Outlets that lack pressure with sizes.
pub(crate) fn lacking(model: &Model, sizes: &Sizes) -> usize {
    let ways = model.piping.ways.iter();
    ways.map(|way| {
        let state = model.state(way, sizes, 1.0);
        let taps = way.taps.iter().zip(&state.outlets);
        taps.filter(|(tap, p)| p.is_some_and(|p| p < tap.outlet.pressure - NO_LACK))
            .count()
    })
    .sum()
}

/// The sizes with everything at its largest.
pub(crate) fn largest(model: &Model) -> Sizes {
    let sections = model.piping.sections.iter();
    sections.map(|s| s.family.sizes.len() - 1).collect()
}

/// For every tap of a way, whether the largest pipes would give it its pressure: only such lacks are
/// worth larger pipe.
fn reachable(model: &Model, way: &Way) -> Vec<bool> {
    let state = model.state(way, &largest(model), 1.0);
    let enough = |(tap, p): (usize, &Option<Pressure>)| {
        p.is_some_and(|p| p >= way.taps[tap].outlet.pressure)
    };
    state.outlets.iter().enumerate().map(enough).collect()
}

/// What all labels of a way's taps may be apart; nothing where the rule says nothing.
fn spread(model: &Model, way: &Way) -> Option<f64> {
    let held = way
        .taps
        .iter()
        .filter(|t| t.node.is_some() && !t.outlet.compensating);
    let needs = held.map(|t| t.outlet.pressure).reduce(Pressure::min)?;
    Some((needs * model.job.practice.water.pressure_spread.value.to_one()).to_pa())
}

fn laterals(model: &Model, allowed: &[Vec<bool>]) -> Vec<Lateral> {
    let ways = model.piping.ways.iter().enumerate();
    ways.filter(|(_, way)| way.valve_node.is_some())
        .map(|(w, way)| lateral(model, allowed, w, way))
        .collect()
}

fn lateral(model: &Model, allowed: &[Vec<bool>], w: usize, way: &Way) -> Lateral {
    let runs = &model.piping.runs;
    let own = || way.laterals.clone().map(|r| runs[r].section);
    let sections = own()
        .min()
        .map_or(0..0, |first| first..own().max().map_or(first, |s| s + 1));
    let wanted = reachable(model, way);
    let height = model.valve_height(way);
    let mut tree = Tree {
        sections: sections
            .clone()
            .map(|s| {
                section(
                    model,
                    s,
                    sections.start,
                    &allowed[s],
                    |run, size, changes| {
                        let flow = runs[run].flow;
                        model.loss_in(run, size, changes, flow).total().to_pa()
                    },
                )
            })
            .collect(),
        ends: Vec::new(),
        limit: model.before_pipes(way, way.flow).to_pa() - model.valve_loss(way, way.flow).to_pa(),
        spread: None,
        most_cost: f64::INFINITY,
    };
    for (tap, wanted) in way.taps.iter().zip(wanted) {
        let Some(node) = tap.node else { continue };
        let rise = model.fall(model.height(node), height);
        let need = (tap.outlet.pressure + rise).to_pa();
        let offer = Offer {
            cost: 0.0,
            least: if wanted { need } else { f64::NEG_INFINITY },
            most: match tap.outlet.compensating {
                true => f64::INFINITY,
                false => need,
            },
        };
        let end = End {
            offers: vec![offer],
            extra: Vec::new(),
        };
        match tap.run {
            Some(run) => tree.sections[runs[run].section - sections.start]
                .ends
                .push(end),
            None => tree.ends.push(end),
        }
    }
    Lateral {
        way: w,
        sections,
        tree,
    }
}

/// A section of a tree from the model's; `loss` of a run in a size, and whether the size changes there.
fn section(
    model: &Model,
    section: usize,
    first: usize,
    allowed: &[bool],
    loss: impl Fn(usize, usize, bool) -> f64,
) -> Section {
    let this = &model.piping.sections[section];
    let choice = |size: usize| {
        let first = this.runs.first().copied();
        let rest = this.runs.iter().skip(1).map(|r| loss(*r, size, false));
        let rest: f64 = rest.sum();
        let begin = |changes| first.map_or(0.0, |r| loss(r, size, changes));
        let fed = first.is_some_and(|r| model.piping.runs[r].feeder.is_some());
        Choice {
            cost: prices::of(model, section, size),
            loss: begin(false) + rest,
            loss_changed: begin(fed) + rest,
        }
    };
    Section {
        above: this.above.filter(|a| *a >= first).map(|a| a - first),
        choices: allowed
            .iter()
            .enumerate()
            .map(|(size, allowed)| allowed.then(|| choice(size)))
            .collect(),
        ends: Vec::new(),
    }
}

/// What the first look at a lateral comes to, with its tree as that leaves it.
fn first_look(model: &Model, lateral: &mut Lateral, memory: &Memory) -> Arc<Look> {
    let circuit = &model.piping.ways[lateral.way].circuit.id;
    if let Some(look) = memory.look(circuit, &lateral.tree) {
        lateral.tree.clone_from(&look.left);
        return look;
    }
    let asked = lateral.tree.clone();
    let front = coarse(lateral);
    let left = lateral.tree.clone();
    let look = Arc::new(Look { asked, left, front });
    memory.put_look(circuit, &look);
    look
}

/// A first look at a lateral. The rule of spread is dropped where no sizes keep it, and all needs where
/// no sizes meet them.
fn coarse(lateral: &mut Lateral) -> Front {
    let found = least::front(&lateral.tree, Some(COARSE));
    if !found.answers.is_empty() {
        return found;
    }
    if lateral.tree.spread.is_some() {
        let found = least::front(&lateral.tree, None);
        if !found.answers.is_empty() {
            return found;
        }
        lateral.tree.spread = None;
        let found = least::front(&lateral.tree, Some(COARSE));
        if !found.answers.is_empty() {
            return found;
        }
    }
    let sections = lateral.tree.sections.iter_mut();
    for end in lateral
        .tree
        .ends
        .iter_mut()
        .chain(sections.flat_map(|s| &mut s.ends))
    {
        for offer in &mut end.offers {
            offer.least = f64::NEG_INFINITY;
        }
    }
    least::front(&lateral.tree, Some(COARSE))
}

/// The share of its flow at which a circuit would give all its outlets their pressure with these
/// sizes; `None` if even the least flow would not.
pub(crate) fn workable_share(model: &Model, circuit: usize, sizes: &Sizes) -> Option<f64> {
    let way = &model.piping.ways[circuit];
    let works = |share: f64| {
        crate::model::worst(way, &model.state(way, sizes, share))
            .is_none_or(|(tap, p)| p >= way.taps[tap].outlet.pressure)
    };
    let (mut low, mut high) = (0.0, 1.0);
    if !works(low) {
        return None;
    }
    // Forty halvings are finer than any flow can be set.
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if works(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}

/// The length of pipe of a section, for its price.
fn length(model: &Model, section: usize) -> Length {
    model.piping.sections[section].length
}
