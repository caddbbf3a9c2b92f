//! Working days: what is done on each, which machines are on site, what stands open at evening.

use crate::calendar::Dates;
use crate::evenings::Open;
use crate::place::Placed;
use crate::site::{Site, Slot};
use crate::tasks::Planned;
use crate::{Window, WorkDay};
use digging::Rental;
use job::MethodId;
use quantity::Money;
use routes::Network;
use std::collections::BTreeMap;
use std::ops::Range;

/// From the first to the last slot of work of each machine.
type OnSite<'a> = BTreeMap<&'a MethodId, Range<Slot>>;

/// Hire by the days on site, or where it is there for one only, by the time from its first to its last
/// hour of work.
pub fn hire(rentals: &[Rental], site: &Site, tasks: &[Planned], placed: &[Placed]) -> Money {
    let on_site = on_site(tasks, placed);
    let cost = |rental: &Rental| {
        let slots = rental
            .methods
            .iter()
            .filter_map(|method| on_site.get(method));
        let slots = slots
            .cloned()
            .reduce(|a, b| a.start.min(b.start)..a.end.max(b.end))?;
        let time = site.time(slots.end - slots.start);
        let days = days_of(site, &slots).len() as u32;
        Some(rental.tariff.charge_days(days, time).cost)
    };
    rentals.iter().filter_map(cost).sum()
}

fn on_site<'a>(tasks: &'a [Planned], placed: &[Placed]) -> OnSite<'a> {
    let mut on_site = OnSite::new();
    for (task, one) in tasks.iter().zip(placed) {
        let Some(machine) = &task.spec.machine else {
            continue;
        };
        let slots = one.start..one.end;
        let known = on_site.entry(machine).or_insert(slots.clone());
        *known = known.start.min(slots.start)..known.end.max(slots.end);
    }
    on_site
}

/// Days from 0 on that slots lie in; no slots are on the day of their start, or the evening before.
fn days_of(site: &Site, slots: &Range<Slot>) -> Range<u32> {
    let last = slots.end.div_ceil(site.day);
    let first = site.day_of(slots.start).min(last.saturating_sub(1));
    first..last.max(first + 1)
}

/// When each machine has to be there.
pub fn windows(site: &Site, tasks: &[Planned], placed: &[Placed]) -> Vec<Window> {
    let on_site = on_site(tasks, placed).into_iter();
    on_site
        .map(|(machine, slots)| {
            let days = days_of(site, &slots);
            Window {
                machine: machine.clone(),
                first: days.start + 1,
                last: days.end,
            }
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
    let machines = on_site(tasks, placed);
    let worked = |one: &Placed| days_of(site, &(one.start..one.end));
    let open = Open::of(site, network, tasks, placed);
    let count = placed.iter().map(|one| worked(one).end).max();
    (0..count.unwrap_or(0))
        .map(|index| (index, open.at(site, network, index)))
        .map(|(index, open_stretches)| WorkDay {
            day: index + 1,
            date: dates.on(i32::try_from(index + 1).unwrap_or(i32::MAX)),
            tasks: (0..placed.len())
                .filter(|task| worked(&placed[*task]).contains(&index))
                .collect(),
            machines: machines
                .iter()
                .filter(|(_, slots)| days_of(site, slots).contains(&index))
                .map(|(machine, _)| (*machine).clone())
                .collect(),
            open: open_stretches
                .iter()
                .map(|&stretch| network.stretch(stretch).length)
                .sum(),
            open_stretches,
        })
        .collect()
}
