//! How far cost and days may be from the plan: trials with the ground as it might be.
//!
//! Takes the plan's digs, material and tasks and gives the range of the cost and of the days, the causes
//! that move the cost most, and the contingency that does with a chosen chance. In each trial every
//! uncertain quantity of the practice (pace, stones, moisture, depth of services, rock, weather, material
//! prices) is drawn from its three points; each task's hours are scaled by what it goes by, the tasks are
//! run again in the plan's order, and labour, fuel, hire and material are priced anew.
//!
//! What always holds: with everything as planned the change is exactly nothing and the days are the
//! plan's; the same seed gives the same figures, on any number of threads.
//!
//! What is left out: routes and methods stay as planned whatever the ground turns out to be; stony spoil
//! is not hauled off nor bedding bought for rock; setting up is scaled with the digging; quantities of the
//! material list stay.
//!
//! # Words
//! - *standing*: where a value stands among all that might be, from 0 to 1.
//! - *change*: cost of a trial less that of the plan, before overhead and margin.

mod causes;
mod figures;
mod hire;
mod loads;
mod model;
mod order;
mod results;
mod rock;
pub mod sample;
mod spread;
pub mod statistics;
#[cfg(test)]
mod tests;

pub use results::*;
pub use spread::Spread;

use causes::Causes;
use crew::Schedule;
use digging::Digging;
use job::Job;
use model::{Model, Outcome, Scratch};
use quantity::Money;
use rayon::prelude::*;
use routes::Network;
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use takeoff::Takeoff;
use working::Ledger;

/// Steps of the curve of [`Risk::quantiles`].
const STEPS: u32 = 40;

/// Trials that one thread takes at a time.
const AT_A_TIME: usize = 250;
/// Trials between two looks at whether to stop.
const BETWEEN_ASKING: usize = 1_024;

/// Draws the trials and puts the working of every figure into the ledger.
pub fn assess(
    job: &Job,
    network: &Network,
    digging: &Digging,
    takeoff: &Takeoff,
    schedule: &Schedule,
    ledger: &mut Ledger,
) -> Risk {
    let going_on = || ControlFlow::Continue(());
    let planned = (network, digging, takeoff, schedule);
    assess_watched(job, planned, &going_on, ledger).expect("nobody stops it")
}

/// The same; nothing if `ask` stops it on the way.
pub fn assess_watched(
    job: &Job,
    (network, digging, takeoff, schedule): (&Network, &Digging, &Takeoff, &Schedule),
    ask: &dyn Fn() -> ControlFlow<()>,
    ledger: &mut Ledger,
) -> Option<Risk> {
    let causes = Causes::of(job, network, digging);
    let model = Model::new(job, &causes, network, digging, takeoff, schedule);
    let standings = standings(&causes, job.seed, job.practice.risk.trials.value as usize);
    ask().continue_value()?;
    let outcomes = outcomes(&model, &standings, ask)?;
    let rock = rock::clause(job, network, digging, &causes);
    let mut risk = told(job, &model, &standings, &outcomes);
    risk.rock_per_m = rock.per_m;
    figures::put(job, &causes, &risk, &rock, schedule, ledger);
    Some(risk)
}

/// Where each factor stands in each trial, by factor.
fn standings(causes: &Causes, seed: u64, trials: usize) -> Vec<Vec<f64>> {
    (0..causes.factors.len())
        .into_par_iter()
        .map(|factor| sample::column(seed, factor, trials))
        .collect()
}

/// What each trial comes to, in order; nothing if it is stopped.
fn outcomes(
    model: &Model,
    standings: &[Vec<f64>],
    ask: &dyn Fn() -> ControlFlow<()>,
) -> Option<Vec<Outcome>> {
    let factors = &model.causes.factors;
    let values: Vec<Vec<f64>> = standings
        .par_iter()
        .zip(factors)
        .map(|(column, factor)| column.iter().map(|s| factor.law.value(*s)).collect())
        .collect();
    let trials = standings.first().map_or(0, Vec::len);
    let mut found = Vec::with_capacity(trials);
    for first in (0..trials).step_by(BETWEEN_ASKING) {
        ask().continue_value()?;
        let some = (first..trials.min(first + BETWEEN_ASKING))
            .into_par_iter()
            .with_min_len(AT_A_TIME)
            .map_init(
                || (Scratch::default(), Vec::new()),
                |(scratch, now), trial| {
                    now.clear();
                    now.extend(values.iter().map(|column| column[trial]));
                    model.outcome(now, trial, scratch)
                },
            );
        found.par_extend(some);
    }
    Some(found)
}

fn told(job: &Job, model: &Model, standings: &[Vec<f64>], outcomes: &[Outcome]) -> Risk {
    let changes: Vec<f64> = outcomes
        .iter()
        .map(|o| o.change.to_cents() as f64)
        .collect();
    let mut sorted = changes.clone();
    sorted.sort_by(f64::total_cmp);
    let confidence = job.practice.risk.confidence.value;
    let at = |p: f64| cents(statistics::quantile(&sorted, p));
    let error = |p: f64| cents(statistics::quantile_error(&sorted, p));
    let days: Vec<f64> = outcomes.iter().map(|o| f64::from(o.days)).collect();
    let count = outcomes.len().max(1) as f64;
    let within = changes.iter().filter(|change| **change <= 0.0).count();
    Risk {
        trials: outcomes.len() as u32,
        seed: job.seed,
        cost: CostRange {
            p10: at(0.1),
            p50: at(0.5),
            p90: at(0.9),
            mean: cents(statistics::mean(&changes)),
            deviation: cents(statistics::deviation(&changes)),
            errors: [0.1, 0.5, 0.9].map(error),
        },
        days: days_of(outcomes, &days),
        within_plan: within as f64 / count,
        causes: causes_of(model, standings, &changes, &days),
        confidence,
        contingency: at(confidence.to_one()).max(Money::ZERO),
        contingency_error: error(confidence.to_one()),
        rock_per_m: Money::ZERO,
        quantiles: (0..=STEPS)
            .map(|step| at(f64::from(step) / f64::from(STEPS)))
            .collect(),
        day_shares: day_shares(outcomes),
    }
}

fn days_of(outcomes: &[Outcome], days: &[f64]) -> DaysRange {
    let mut sorted: Vec<u32> = outcomes.iter().map(|outcome| outcome.days).collect();
    sorted.sort_unstable();
    DaysRange {
        p10: statistics::quantile(&sorted, 0.1),
        p50: statistics::quantile(&sorted, 0.5),
        p90: statistics::quantile(&sorted, 0.9),
        mean: statistics::mean(days),
        deviation: statistics::deviation(days),
    }
}

fn day_shares(outcomes: &[Outcome]) -> Vec<DayShare> {
    let mut counts: BTreeMap<u32, u32> = BTreeMap::new();
    for outcome in outcomes {
        *counts.entry(outcome.days).or_default() += 1;
    }
    let share = |count: u32| f64::from(count) / outcomes.len() as f64;
    let told = counts.into_iter().map(|(days, count)| DayShare {
        days,
        share: share(count),
    });
    told.collect()
}

fn causes_of(model: &Model, standings: &[Vec<f64>], changes: &[f64], days: &[f64]) -> Vec<Cause> {
    let groups = &model.causes.groups;
    let mut found: Vec<Cause> = groups
        .par_iter()
        .map(|group| {
            let columns: Vec<&[f64]> = group.factors.iter().map(|f| &standings[*f][..]).collect();
            let end = |high: bool| {
                let mut values = model.causes.likely();
                for factor in &group.factors {
                    let [low, _, top] = model.causes.factors[*factor].law.points();
                    values[*factor] = if high { top } else { low };
                }
                model.outcome(&values, 0, &mut Scratch::default()).change
            };
            Cause {
                id: group.id.clone(),
                what: group.what.clone(),
                share: statistics::explained(&columns, changes),
                share_of_days: statistics::explained(&columns, days),
                at_low: end(false),
                at_high: end(true),
            }
        })
        .collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share).then(b.swing().cmp(&a.swing())));
    found
}

fn cents(cents: f64) -> Money {
    Money::cents(cents.round() as i64)
}
