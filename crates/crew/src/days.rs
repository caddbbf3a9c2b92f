//! Working days: what is done on each, which machines are on site, what stands open at evening.

use crate::calendar::Dates;
use crate::evenings::Open;
use crate::place::Placed;
use crate::site::Site;
use crate::tasks::Planned;
use crate::{Window, WorkDay};
use digging::Rental;
use job::MethodId;
use quantity::Money;
use routes::Network;
use std::collections::BTreeMap;
use std::ops::Range;

/// Days on which each machine is on site, from its first to its last hour, counted from 0.
type OnSite<'a> = BTreeMap<&'a MethodId, Range<u32>>;

/// Hire by the days on site.
pub fn hire(rentals: &[Rental], site: &Site, tasks: &[Planned], placed: &[Placed]) -> Money {
    let on_site = on_site(site, tasks, placed);
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
    rentals.iter().filter_map(cost).sum()
}

fn on_site<'a>(site: &Site, tasks: &'a [Planned], placed: &[Placed]) -> OnSite<'a> {
    let mut on_site = OnSite::new();
    for (task, one) in tasks.iter().zip(placed) {
        let Some(machine) = &task.spec.machine else {
            continue;
        };
        let days = days_of(site, one);
        let known = on_site.entry(machine).or_insert(days.clone());
        *known = known.start.min(days.start)..known.end.max(days.end);
    }
    on_site
}

/// Days from 0 on in which a task is worked on; one without length is on the day of its start, or the
/// evening before.
fn days_of(site: &Site, placed: &Placed) -> Range<u32> {
    let last = placed.end.div_ceil(site.day);
    let first = site.day_of(placed.start).min(last.saturating_sub(1));
    first..last.max(first + 1)
}

/// When each machine has to be there.
pub fn windows(site: &Site, tasks: &[Planned], placed: &[Placed]) -> Vec<Window> {
    let on_site = on_site(site, tasks, placed).into_iter();
    on_site
        .map(|(machine, days)| Window {
            machine: machine.clone(),
            first: days.start + 1,
            last: days.end,
        })
        .collect()
}

/// The working days; tasks are numbered as in `tasks`.
pub fn of(
    site: &Site,
    network: &Network,
    tasks: &[Planned],
    placed: &[Placed],
    dates: &Dates,
) -> Vec<WorkDay> {
    let machines = on_site(site, tasks, placed);
    let open = Open::of(site, network, tasks, placed);
    let count = placed.iter().map(|one| days_of(site, one).end).max();
    (0..count.unwrap_or(0))
        .map(|index| WorkDay {
            day: index + 1,
            date: dates.on(i32::try_from(index + 1).unwrap_or(i32::MAX)),
            tasks: (0..placed.len())
                .filter(|task| days_of(site, &placed[*task]).contains(&index))
                .collect(),
            machines: machines
                .iter()
                .filter(|(_, days)| days.contains(&index))
                .map(|(machine, _)| (*machine).clone())
                .collect(),
            open: open.at(site, network, index),
        })
        .collect()
}
