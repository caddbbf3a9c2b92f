//! What a machine costs more or less where it is on site for other days than planned.

use crew::Schedule;
use digging::hire::Tariff;
use job::Job;
use quantity::{Duration, Money};

/// Days of hire whose price is worked out once.
const DAYS_AT_HAND: u32 = 250;

/// A machine that the plan has on site.
pub struct Hired {
    /// Tasks that it is at.
    pub tasks: Vec<usize>,
    tariff: Tariff,
    /// From its first to its last hour of work, as the plan pays for it.
    work: Duration,
    /// Days on site of the plan, and those that its order gives with its times.
    days: (u32, u32),
    planned: Money,
    /// Price by days from 2 on, for which hours do not count.
    by_days: Vec<Money>,
}

/// The machines that the plan pays for; `span` gives the days of some tasks.
pub fn hired(
    job: &Job,
    schedule: &Schedule,
    span: impl Fn(Vec<usize>) -> (u32, u32),
) -> Vec<Hired> {
    let rentals = digging::rentals(job).into_iter();
    rentals
        .filter_map(|rental| {
            let is_at = |task: &usize| {
                let machine = schedule.tasks[*task].machine.as_ref();
                machine.is_some_and(|machine| rental.methods.contains(machine))
            };
            let tasks: Vec<usize> = (0..schedule.tasks.len()).filter(is_at).collect();
            if tasks.is_empty() {
                return None;
            }
            let work = schedule.time_on_site(&rental.methods);
            let (first, end) = span(tasks.clone());
            let tariff = rental.tariff;
            let days = schedule.days_of(&rental.methods);
            Some(Hired {
                tasks,
                work,
                days: (days, end - first),
                planned: tariff.charge_days(days, work).cost,
                by_days: (0..=DAYS_AT_HAND)
                    .map(|days| tariff.charge_days(days.max(2), work).cost)
                    .collect(),
                tariff,
            })
        })
        .collect()
}

impl Hired {
    /// Change of hire where it is on site for other days, `away` of them lost to the weather, and at
    /// work for `longer` seconds more.
    pub fn change(&self, span: (u32, u32), away: u32, longer: f64) -> Money {
        let days = (self.days.0 + span.1 - span.0 + away).saturating_sub(self.days.1);
        let cost = match self.by_days.get(days as usize) {
            Some(cost) if days >= 2 => *cost,
            _ => {
                let work = self.work + Duration::s(longer);
                self.tariff.charge_days(days, work).cost
            }
        };
        cost - self.planned
    }
}
