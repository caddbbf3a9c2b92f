//! The highest pressure in service and main when a circuit's valve closes, and how often.
//!
//! The pressure of a pipe is not what it has at rest plus a surge: the surge stands on the pressure of
//! the running circuit, and the line packs up to the pressure at rest and beyond while the wave goes to
//! and fro. So the closing is played through, and the highest pressure in each pipe on the way counts.
//! Beside it stand the two textbook figures: Joukowsky's for a valve that closes at once, Michaud's for
//! a flow that falls in proportion to time.

mod account;
mod findings;

use crate::friction::velocity;
use crate::memory::{Closed, Memory};
use crate::model::{Model, Sizes};
use crate::piping::Way;
use crate::surge::{dimension_ratio, joukowsky, michaud, wave_speed};
use crate::transient::{Check, Line, Outcome, Pipe, Source, Valve};
use crate::{Hydraulics, derating, recurring};
use job::practice::{PipeMaterial, PipeSize};
use quantity::{Duration, Flow, Pressure, Ratio, Velocity};
use rayon::prelude::*;
use routes::{LineKind, StretchId};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use working::Ledger;

/// Node updates that one closing may take, so that a plan is quick.
const MOST_WORK: f64 = 60_000.0;

/// Reaches at most and at least.
const REACHES: (f64, f64) = (64.0, 12.0);

/// Days in a year.
const DAYS: f64 = 365.0;

/// What closing valves do to service and main.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Surges {
    /// The closing of each circuit's valve, in the job's order; without those that no pipe feeds or
    /// that let nothing flow.
    pub closings: Vec<Closing>,
    /// What each pipe of service and main bears, in the order of the pipes.
    pub strains: Vec<Strain>,
}

/// A valve that closes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Closing {
    /// The circuit.
    pub circuit: String,
    /// Time in which its valve closes.
    pub closure: Duration,
    /// Time of the wave from the valve to the source and back; a valve that closes in less closes at
    /// once.
    pub critical: Duration,
    /// Rise if it closed at once, after Joukowsky, in the pipe at the valve.
    pub at_once: Pressure,
    /// Rise if the flow fell in proportion to time, after Michaud, not more than at once.
    pub gradual: Pressure,
    /// Highest pressure at the valve's inlet over that before it closed.
    pub rise: Pressure,
    /// Lowest pressure in the pipes meanwhile.
    pub lowest: Pressure,
    /// The pipe in which the pressure comes nearest to the rating: its place among the pipes.
    pub pipe: usize,
    /// Whether the closing could not be played through, since the circuit has no pressure at its valve;
    /// then pressure at rest plus Joukowsky's rise counts.
    pub bound_only: bool,
}

/// What a pipe of service or main bears.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Strain {
    /// Its place among the pipes.
    pub pipe: usize,
    /// The stretch it lies in.
    pub stretch: StretchId,
    /// Highest pressure of all closings.
    pub peak: Pressure,
    /// The circuit whose closing makes it.
    pub circuit: String,
    /// Rating at the temperature of the pipe.
    pub rating: Pressure,
    /// Share of the cycles that it stands used up in its life, of PVC only.
    pub life_used: Option<Ratio>,
}

/// A pipe on the way of a circuit while the valve closes.
pub(crate) struct Passed {
    pub run: usize,
    pub before: Pressure,
    pub highest: Pressure,
    pub lowest: Pressure,
    pub at_rest: Pressure,
    pub rating: Pressure,
}

impl Passed {
    fn margin(&self) -> Pressure {
        self.rating - self.highest
    }
}

/// A circuit's closing played through.
pub(crate) struct Played<'a> {
    pub way: &'a Way<'a>,
    pub closed: Arc<Closed>,
    pub passed: Vec<Passed>,
    pub closing: Closing,
}

impl Played<'_> {
    /// The pipe whose peak comes nearest to its rating, the first in a tie.
    pub fn worst(&self) -> Option<&Passed> {
        let by_margin = |a: &&Passed, b: &&Passed| a.margin().total_cmp(&b.margin());
        self.passed.iter().min_by(by_margin)
    }
}

/// Plays all closings through; their figures go into the result and the ledger, what stands against
/// them to the findings.
pub(crate) fn put(
    model: &Model,
    sizes: &Sizes,
    memory: &Memory,
    result: &mut Hydraulics,
    ledger: &mut Ledger,
) {
    let ways = model.piping.ways.par_iter();
    let played: Vec<Option<Played>> = ways.map(|way| play(model, way, sizes, memory)).collect();
    for (circuit, played) in result.circuits.iter_mut().zip(&played) {
        let worst = played.as_ref().and_then(Played::worst);
        let rest = model.source(Flow::ZERO);
        circuit.surge = worst.map_or(Pressure::ZERO, |w| w.highest - w.before);
        circuit.surge_peak = worst.map_or(rest, |w| w.highest);
        circuit.rating = worst.map_or(Pressure::ZERO, |w| w.rating);
    }
    let played: Vec<Played> = played.into_iter().flatten().collect();
    let strains = strains(model, sizes, &played);
    account::put(model, sizes, result, (&played, &strains), ledger);
    result
        .findings
        .extend(findings::findings(model, sizes, &played, &strains));
    result.surge = Surges {
        closings: played.into_iter().map(|p| p.closing).collect(),
        strains,
    };
}

/// Whether a run in a size of its family may bear the closing of a circuit's valve: pressure at rest and
/// the lesser of the textbook rises, as if all the way were of this size. Where rest alone is too much, no
/// size helps. The closing itself is played through once all sizes are chosen.
pub(crate) fn may_bear(model: &Model, way: &Way, run: usize, size: usize) -> bool {
    let section = model.piping.runs[run].section;
    let size = &model.piping.sections[section].family.sizes[size];
    let at_rest = at_rest(model, run);
    let rating = size.rating * kept(model, run).to_one();
    let flow = velocity(way.flow, size.inside);
    let at_once = joukowsky(model.water, wave_in(model, run, size), flow);
    let lengths = way
        .upstream
        .iter()
        .map(|run| (model.piping.runs[*run].length, flow));
    let gradual = michaud(model.water, lengths, model.job.practice.surge.closure.value);
    at_rest > rating || at_rest + at_once.min(gradual) <= rating
}

/// Speed of the wave in a run.
pub(crate) fn wave(model: &Model, run: usize, sizes: &Sizes) -> Velocity {
    wave_in(model, run, model.size_of_run(run, sizes))
}

fn wave_in(model: &Model, run: usize, size: &PipeSize) -> Velocity {
    let family = model.piping.sections[model.piping.runs[run].section].family;
    let bulk = model.job.practice.water.bulk_modulus.value;
    let ratio = dimension_ratio(size.outside, size.inside);
    wave_speed(bulk, family.modulus.value, ratio)
}

/// The rating of a run at the temperature of the pipe.
pub(crate) fn rating(model: &Model, run: usize, sizes: &Sizes) -> Pressure {
    model.size_of_run(run, sizes).rating * kept(model, run).to_one()
}

/// The share of its rating that a run keeps at the temperature of the pipe.
fn kept(model: &Model, run: usize) -> Ratio {
    let rules = &model.job.practice.surge;
    let rows = derating::rows(rules, material(model, run));
    derating::share(rows, rules.pipe_temperature.value)
}

/// Pressure at the lower end of a run with nothing running.
pub(crate) fn at_rest(model: &Model, run: usize) -> Pressure {
    let branch = &model.piping.runs[run].branch;
    let lower = model.height(branch.from).min(model.height(branch.to));
    model.source(Flow::ZERO) + model.fall(model.piping.source_height, lower)
}

pub(crate) fn material(model: &Model, run: usize) -> PipeMaterial {
    let section = model.piping.runs[run].section;
    model.piping.sections[section].family.material
}

fn play<'a>(model: &Model, way: &'a Way<'a>, sizes: &Sizes, memory: &Memory) -> Option<Played<'a>> {
    let last = *way.upstream.last()?;
    if way.flow <= Flow::ZERO || way.valve_node.is_none() {
        return None;
    }
    let closure = model.job.practice.surge.closure.value;
    let closed = closed(memory, way, line_of(model, way, sizes)?, closure);
    let outcome = &closed.outcome;
    let passed: Vec<Passed> = way
        .upstream
        .iter()
        .enumerate()
        .map(|(i, run)| passed(model, way, *run, sizes, outcome.as_ref().map(|o| (o, i))))
        .collect();
    let critical = Duration::s(2.0 * closed.line.travel());
    let at_once = rise_at_once(model, way, last, sizes);
    let lengths = way.upstream.iter().map(|run| {
        let length = model.piping.runs[*run].length;
        (length, model.velocity(*run, way.flow, sizes))
    });
    let gradual = michaud(model.water, lengths, closure).min(at_once);
    let pressure = |head: f64| model.water.pressure_of(quantity::Length::m(head));
    let mut played = Played {
        way,
        closing: Closing {
            circuit: way.circuit.id.clone(),
            closure,
            critical,
            at_once,
            gradual: if closure <= critical {
                at_once
            } else {
                gradual
            },
            rise: outcome
                .as_ref()
                .map_or(at_once, |o| pressure(o.at_valve - o.at_valve_before)),
            lowest: passed
                .iter()
                .map(|p| p.lowest)
                .reduce(Pressure::min)
                .unwrap_or(Pressure::ZERO),
            pipe: last,
            bound_only: outcome.is_none(),
        },
        closed: closed.clone(),
        passed,
    };
    played.closing.pipe = played.worst().map_or(last, |w| w.run);
    Some(played)
}

/// A circuit's line with what becomes of it when its valve closes.
fn closed(memory: &Memory, way: &Way, line: Line, closure: Duration) -> Arc<Closed> {
    let (circuit, from) = (&way.circuit.id, (way.flow.to_m3s(), closure.to_s()));
    memory.closed(circuit, &line, from).unwrap_or_else(|| {
        let outcome = close(&line, way.flow, closure);
        let closed = Arc::new(Closed {
            line,
            from,
            outcome,
        });
        memory.put_closed(circuit, &closed);
        closed
    })
}

/// Closes a line in not more steps than there is time for.
fn close(line: &Line, flow: Flow, closure: Duration) -> Option<Outcome> {
    let waves = closure.to_s() / line.travel() + 8.0;
    let most = (MOST_WORK / waves).sqrt().clamp(REACHES.1, REACHES.0);
    line.close(flow.to_m3s(), closure.to_s(), line.reaches(most as usize))
}

fn rise_at_once(model: &Model, way: &Way, run: usize, sizes: &Sizes) -> Pressure {
    let velocity = model.velocity(run, way.flow, sizes);
    joukowsky(model.water, wave(model, run, sizes), velocity)
}

fn passed(
    model: &Model,
    way: &Way,
    run: usize,
    sizes: &Sizes,
    outcome: Option<(&Outcome, usize)>,
) -> Passed {
    let at_rest = at_rest(model, run);
    let pressure = |head: f64| model.water.pressure_of(quantity::Length::m(head));
    let (before, highest, lowest) = match outcome {
        // Whatever the waves do, in the end the pipe is at rest.
        Some((o, i)) => (
            pressure(o.before[i]),
            pressure(o.highest[i]).max(at_rest),
            pressure(o.lowest[i]),
        ),
        None => {
            let surge = rise_at_once(model, way, run, sizes);
            (at_rest, at_rest + surge, Pressure::ZERO)
        }
    };
    Passed {
        run,
        before,
        highest,
        lowest,
        at_rest,
        rating: rating(model, run, sizes),
    }
}

/// The way of a circuit as a line; nothing if a wave does not run in it.
fn line_of(model: &Model, way: &Way, sizes: &Sizes) -> Option<Line> {
    let flow = way.flow.to_m3s();
    let head = |p: Pressure| model.water.head_of(p).to_m();
    let resistance = |p: Pressure| head(p) / (flow * flow);
    let pipes: Vec<Pipe> = way
        .upstream
        .iter()
        .map(|run| {
            let this = &model.piping.runs[*run];
            let inside = model.size_of_run(*run, sizes).inside.to_m();
            Pipe {
                length: this.length.to_m(),
                area: std::f64::consts::FRAC_PI_4 * inside * inside,
                wave: wave(model, *run, sizes).to_mps(),
                resistance: resistance(model.loss(*run, way.flow, sizes).total()),
                from: model.height(this.branch.from).to_m(),
                to: model.height(this.branch.to).to_m(),
            }
        })
        .collect();
    let exponent = crate::friction::FLOW_EXPONENT;
    let rest = model.source(Flow::ZERO);
    let fall = head(rest - model.source(way.flow)).max(0.0) / flow.powf(exponent);
    let is_main = |run: &usize| {
        let line = model.piping.runs[*run].line;
        model.network.lines[line].kind == LineKind::Main
    };
    let sound = |p: &Pipe| p.wave > 0.0 && p.area > 0.0;
    pipes.iter().all(sound).then(|| Line {
        source: Source {
            rest: model.piping.source_height.to_m() + head(rest),
            fall,
            exponent,
        },
        check: way.upstream.iter().position(is_main).map(|before| Check {
            before,
            resistance: resistance(model.backflow_loss(way.flow)),
        }),
        valve: Valve {
            resistance: resistance(model.valve_loss(way, way.flow)),
            outlet: model.valve_height(way).to_m(),
        },
        pipes,
    })
}

/// What every pipe bears of all closings, in the order of the pipes.
fn strains(model: &Model, sizes: &Sizes, played: &[Played]) -> Vec<Strain> {
    let runs = 0..model.piping.runs.len();
    runs.filter_map(|run| {
        let closings = played.iter().flat_map(|p| {
            let here = p.passed.iter().filter(|passed| passed.run == run);
            here.map(|passed| (passed.highest, &p.way.circuit.id))
        });
        let peaks: Vec<(Pressure, &String)> = closings.collect();
        let (peak, circuit) = peaks
            .iter()
            .fold(None, |most: Option<(Pressure, &String)>, p| {
                Some(most.filter(|m| m.0 >= p.0).unwrap_or(*p))
            })?;
        let size = model.size_of_run(run, sizes);
        let ratio = dimension_ratio(size.outside, size.inside);
        let each = cycles_of_each(model);
        let used =
            |p: &Pressure| each / recurring::cycles_to_failure(recurring::hoop_stress(*p, ratio));
        Some(Strain {
            pipe: run,
            stretch: model.piping.runs[run].branch.stretch,
            peak,
            circuit: circuit.clone(),
            rating: rating(model, run, sizes),
            life_used: (material(model, run) == PipeMaterial::Pvc)
                .then(|| Ratio::one(peaks.iter().map(|(p, _)| used(p)).sum())),
        })
    })
    .collect()
}

/// Closings of one circuit in the life of the pipe, with what it must stand over that.
pub(crate) fn cycles_of_each(model: &Model) -> f64 {
    let rules = &model.job.practice.surge;
    rules.starts_per_day.value.to_one()
        * DAYS
        * rules.life_years.value.to_one()
        * rules.cycle_factor.value.to_one()
}
