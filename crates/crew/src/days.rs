//! Working days: what is done on each, which machines are on site, what stands open at evening.

use crate::WorkDay;
use crate::list::{Placed, Spec, list};
use crate::tasks::Planned;
use digging::Rental;
use job::{Job, MethodId};
use quantity::{Duration, Length, Money};
use routes::{Network, StretchId};
use std::collections::BTreeMap;
use std::ops::Range;

/// Ends this little beyond an evening count as before it, days.
const HAIR: f64 = 1e-9;

/// Days on which each machine is on site, from its first to its last hour.
type OnSite = BTreeMap<MethodId, Range<u32>>;

/// Places all tasks; a machine comes a morning later where that saves a day of its hire and costs the
/// crew none.
pub fn with_short_hire(job: &Job, specs: &[Spec], crew: u32, day: Duration) -> Vec<Placed> {
    let mut specs = specs.to_vec();
    let mut placed = list(&specs, crew);
    let machines: Vec<MethodId> = on_site(&specs, &placed, day).into_keys().collect();
    for machine in machines {
        let now = on_site(&specs, &placed, day);
        let Some(days) = now.get(&machine) else {
            continue;
        };
        let later = coming_on(&specs, &machine, day * f64::from(days.start + 1));
        let tried = list(&later, crew);
        let saves = hire(job, &on_site(&later, &tried, day)) < hire(job, &now);
        if saves && count(&tried, day) <= count(&placed, day) {
            (specs, placed) = (later, tried);
        }
    }
    placed
}

fn coming_on(specs: &[Spec], machine: &MethodId, morning: Duration) -> Vec<Spec> {
    let mut specs = specs.to_vec();
    for spec in &mut specs {
        if spec.machine.as_ref() == Some(machine) {
            spec.not_before = morning;
        }
    }
    specs
}

/// Hire by the days on site.
fn hire(job: &Job, on_site: &OnSite) -> Money {
    let cost = |rental: &Rental| {
        let days = rental
            .methods
            .iter()
            .filter_map(|method| on_site.get(method));
        let days = days
            .cloned()
            .reduce(|a, b| a.start.min(b.start)..a.end.max(b.end))?;
        let days = days.len() as u32;
        let whole = rental.tariff.day_length * f64::from(days);
        Some(rental.tariff.charge_days(days, whole).cost)
    };
    digging::rentals(job).iter().filter_map(cost).sum()
}

fn on_site(specs: &[Spec], placed: &[Placed], day: Duration) -> OnSite {
    let mut on_site = OnSite::new();
    for (spec, one) in specs.iter().zip(placed) {
        let Some(machine) = &spec.machine else {
            continue;
        };
        let days = days_of(one, day);
        let known = on_site.entry(machine.clone()).or_insert(days.clone());
        *known = known.start.min(days.start)..known.end.max(days.end);
    }
    on_site
}

/// Days from 0 on in which a task is worked on; one without length is on the day of its start.
fn days_of(placed: &Placed, day: Duration) -> Range<u32> {
    let first = in_days(placed.start, day, f64::floor, HAIR);
    let last = in_days(placed.end(), day, f64::ceil, -HAIR);
    first..last.max(first + 1)
}

fn in_days(time: Duration, day: Duration, round: impl Fn(f64) -> f64, hair: f64) -> u32 {
    if day > Duration::ZERO {
        round(time / day + hair).max(0.0) as u32
    } else {
        0
    }
}

/// How many days the work takes.
fn count(placed: &[Placed], day: Duration) -> u32 {
    placed
        .iter()
        .map(|one| days_of(one, day).end)
        .max()
        .unwrap_or(0)
}

/// The working days; tasks are numbered as in `plan`.
pub fn of(network: &Network, plan: &[Planned], placed: &[Placed], day: Duration) -> Vec<WorkDay> {
    let specs: Vec<Spec> = plan.iter().map(|task| task.spec.clone()).collect();
    let machines = on_site(&specs, placed, day);
    let open = open_spans(plan, placed);
    (0..count(placed, day))
        .map(|index| WorkDay {
            day: index + 1,
            tasks: (0..placed.len())
                .filter(|task| days_of(&placed[*task], day).contains(&index))
                .collect(),
            machines: machines
                .iter()
                .filter(|(_, days)| days.contains(&index))
                .map(|(machine, _)| machine.clone())
                .collect(),
            open: open_at(network, &open, day * f64::from(index + 1)),
        })
        .collect()
}

/// When each stretch of trench is dug and when it is filled.
fn open_spans(
    plan: &[Planned],
    placed: &[Placed],
) -> BTreeMap<StretchId, (Duration, Option<Duration>)> {
    let mut spans = BTreeMap::new();
    for (task, one) in plan.iter().zip(placed) {
        for (stretch, time) in reached(&task.opens, one) {
            spans.insert(stretch, (time, None));
        }
    }
    for (task, one) in plan.iter().zip(placed) {
        for (stretch, time) in reached(&task.closes, one) {
            if let Some((_, closed)) = spans.get_mut(&stretch) {
                *closed = Some(time);
            }
        }
    }
    spans
}

/// When a task is through with each of its stretches, taken in their order.
fn reached(shares: &[(StretchId, f64)], placed: &Placed) -> Vec<(StretchId, Duration)> {
    let mut done = 0.0;
    shares
        .iter()
        .map(|(stretch, share)| {
            done += share;
            (*stretch, placed.start + placed.hours * done)
        })
        .collect()
}

fn open_at(
    network: &Network,
    spans: &BTreeMap<StretchId, (Duration, Option<Duration>)>,
    evening: Duration,
) -> Length {
    let hair = Duration::s(1e-3);
    spans
        .iter()
        .filter(|(_, (dug, filled))| {
            *dug <= evening + hair && filled.is_none_or(|filled| filled > evening + hair)
        })
        .map(|(stretch, _)| network.stretch(*stretch).length)
        .sum()
}
