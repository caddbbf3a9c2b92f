//! Trench that stands open at evening.

use crate::place::Placed;
use crate::site::Site;
use crate::tasks::Planned;
use quantity::Length;
use routes::{Network, StretchId};

/// Moments nearer together than this are one, slots.
const HAIR: f64 = 1e-6;

/// When stretches are dug and when they are filled, in slots with their parts.
pub struct Open {
    spans: Vec<Option<(f64, f64)>>,
}

impl Open {
    pub fn of(site: &Site, network: &Network, tasks: &[Planned], placed: &[Placed]) -> Self {
        let mut spans = vec![None; network.stretches.len()];
        for (task, one) in tasks.iter().zip(placed) {
            for (stretch, time) in reached(site, &task.opens, task, one) {
                spans[stretch.index()] = Some((time, f64::INFINITY));
            }
        }
        for (task, one) in tasks.iter().zip(placed) {
            for (stretch, time) in reached(site, &task.closes, task, one) {
                if let Some((_, closed)) = &mut spans[stretch.index()] {
                    *closed = time;
                }
            }
        }
        Self { spans }
    }

    /// Stretches dug and not yet filled at the end of a day, counted from 0.
    pub fn at(&self, site: &Site, network: &Network, day: u32) -> Vec<StretchId> {
        let evening = f64::from((day + 1) * site.day);
        let open = self.spans.iter().zip(network.iter());
        open.filter(|(span, _)| {
            span.is_some_and(|(dug, filled)| dug <= evening + HAIR && filled > evening + HAIR)
        })
        .map(|(_, (id, _))| id)
        .collect()
    }

    /// For each stretch, the evenings at which it is open.
    fn evenings(&self, site: &Site, last: u32) -> impl Iterator<Item = f64> {
        let day = f64::from(site.day);
        self.spans.iter().map(move |span| match span {
            None => 0.0,
            Some((dug, filled)) => {
                let until = filled.min(f64::from(last));
                let first = ((dug - HAIR) / day).ceil().max(1.0);
                let end = ((until - HAIR) / day).ceil();
                (end - first).max(0.0)
            }
        })
    }
}

/// Length of open trench summed over the evenings.
pub fn sum(site: &Site, network: &Network, tasks: &[Planned], placed: &[Placed]) -> Length {
    let last = placed.iter().map(|one| one.end).max().unwrap_or(0);
    let open = Open::of(site, network, tasks, placed);
    let evenings = open.evenings(site, last).zip(&network.stretches);
    evenings
        .map(|(evenings, stretch)| stretch.length * evenings)
        .sum()
}

/// When a task is through with each of its stretches, taken in their order.
fn reached(
    site: &Site,
    shares: &[(StretchId, f64)],
    task: &Planned,
    placed: &Placed,
) -> impl Iterator<Item = (StretchId, f64)> {
    let people = f64::from(placed.people.max(1));
    let (start, slots) = (
        f64::from(placed.start),
        site.in_slots(task.spec.work / people),
    );
    let mut done = 0.0;
    shares.iter().map(move |(stretch, share)| {
        done += share;
        (*stretch, start + slots * done)
    })
}
