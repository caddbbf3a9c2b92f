//! Machines: hire by the days on site, bringing them, fuel.

use crate::CostGroup;
use crate::lines::{Entry, Lines, worked};
use crew::Schedule;
use digging::{Digging, Rental};
use job::{Job, Method, MethodId, TaxClass};
use quantity::{Amount, Duration, Style};
use std::collections::BTreeMap;

pub fn add(job: &Job, digging: &Digging, schedule: &Schedule, lines: &mut Lines) {
    let mut hours: BTreeMap<&MethodId, Duration> = BTreeMap::new();
    for dig in &digging.digs {
        *hours.entry(&dig.method).or_default() += dig.machine_hours();
    }
    for rental in digging::rentals(job) {
        if rental.methods.iter().any(|m| hours.contains_key(m)) {
            let hire = Hire {
                days: schedule.days_of(&rental.methods),
                time: schedule.time_on_site(&rental.methods),
                rental: &rental,
            };
            hire.add(lines);
        }
    }
    for (id, hours) in hours {
        if let Some(method) = job.prices.method.get(id) {
            add_fuel(id, method, hours, lines);
        }
    }
}

struct Hire<'a> {
    rental: &'a Rental<'a>,
    /// On site, from its first to its last hour of work.
    days: u32,
    /// Working time between the two.
    time: Duration,
}

impl Hire<'_> {
    fn add(&self, lines: &mut Lines) {
        let Rental {
            id,
            label,
            hire: prices,
            tariff,
            ..
        } = self.rental;
        let charge = tariff.charge_days(self.days, self.time);
        let fee = &prices.mobilisation;
        let mut working = worked("the cheapest weeks and days that cover the days on site; by the hour if it is there for one day")
            .with("term", charge.term.to_string().as_str(), "the price book's terms")
            .with(
                "days on site",
                Amount::new(f64::from(self.days), Style::Days),
                "the crew's days, from its first to its last hour of work",
            )
            .with("hours on site", self.time.amount(), "the crew's days, from its first to its last hour of work")
            .with("hire for a day", prices.day.value.amount(), prices.day.origin());
        for (name, price) in [
            ("hire for an hour", &prices.hour),
            ("hire for a week", &prices.week),
        ] {
            if let Some(price) = price {
                working = working.with(name, price.value.amount(), price.origin());
            }
        }
        lines.add(
            entry(
                format!("machine.{id}.hire"),
                format!("Hire: {label}, {}", charge.term),
            ),
            charge.cost - fee.value,
            working,
        );
        lines.add(
            entry(
                format!("machine.{id}.mobilisation"),
                format!("Bringing and taking away: {label}"),
            ),
            fee.value,
            worked("once").with("fee", fee.value.amount(), fee.origin()),
        );
    }
}

fn add_fuel(id: &MethodId, method: &Method, hours: Duration, lines: &mut Lines) {
    let rate = &method.fuel_hour;
    let per_hour = Amount::new(rate.value.to_units(), Style::MoneyPerHour);
    lines.add(
        entry(
            format!("machine.{id}.fuel"),
            format!("Fuel: {}", method.label),
        ),
        rate.value.times(hours.to_h()),
        worked("hours × fuel for an hour")
            .with(
                "hours",
                hours.amount(),
                "sum of figures stretch.*.hours of this method, less stretch.*.pit_hours",
            )
            .with("fuel for an hour", per_hour, rate.origin()),
    );
}

fn entry(id: String, what: String) -> Entry {
    Entry::new(CostGroup::Machine, TaxClass::Machines, id, what)
}
