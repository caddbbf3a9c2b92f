//! Machines: hire by the days on site, bringing them, fuel.

use crate::CostGroup;
use crate::lines::{Lines, worked};
use crew::Schedule;
use digging::{Digging, Hire};
use job::{Job, Method, MethodId};
use quantity::{Amount, Duration, Style};
use std::collections::BTreeMap;

pub fn add(job: &Job, digging: &Digging, schedule: &Schedule, lines: &mut Lines) {
    let mut hours: BTreeMap<&MethodId, Duration> = BTreeMap::new();
    for dig in &digging.digs {
        *hours.entry(&dig.method).or_default() += dig.machine_hours();
    }
    for (id, hours) in hours {
        if let Some(method) = job.prices.method.get(id) {
            let hired = digging.hires.iter().find(|hire| hire.method == *id);
            add_hire(id, method, hired, schedule.days_of(id), lines);
            add_mobilisation(id, method, lines);
            add_fuel(id, method, hours, lines);
        }
    }
}

fn add_hire(id: &MethodId, method: &Method, hired: Option<&Hire>, days: u32, lines: &mut Lines) {
    let of_days = |days: u32| Amount::new(f64::from(days), Style::Days);
    let mut working = worked("days on site × hire for a day")
        .with(
            "days on site",
            of_days(days),
            "the crew's days, from its first to its last hour of work",
        )
        .with(
            "hire for a day",
            method.day.value.amount(),
            method.day.origin(),
        );
    if let Some(hire) = hired {
        let from =
            format!("figure hire.{id}.days; served the choice of machines, not counted here");
        working = working.with("days by its hours of work alone", of_days(hire.days), from);
    }
    lines.add(
        CostGroup::Machine,
        format!("machine.{id}.hire"),
        format!(
            "Hire: {}, {days} {}",
            method.label,
            if days == 1 { "day" } else { "days" }
        ),
        method.day.value.times(f64::from(days)),
        working,
    );
}

fn add_mobilisation(id: &MethodId, method: &Method, lines: &mut Lines) {
    let fee = &method.mobilisation;
    lines.add(
        CostGroup::Machine,
        format!("machine.{id}.mobilisation"),
        format!("Bringing and taking away: {}", method.label),
        fee.value,
        worked("once").with("fee", fee.value.amount(), fee.origin()),
    );
}

fn add_fuel(id: &MethodId, method: &Method, hours: Duration, lines: &mut Lines) {
    let rate = &method.fuel_hour;
    let per_hour = Amount::new(rate.value.to_units(), Style::MoneyPerHour);
    lines.add(
        CostGroup::Machine,
        format!("machine.{id}.fuel"),
        format!("Fuel: {}", method.label),
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
