//! The machines that a job may have to hire.

use crate::hire::Tariff;
use job::prices::Hire;
use job::{Job, MethodId};
use quantity::{Duration, Money};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The key of a machine: that of its method or of a carrier in the price book.
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct MachineId(pub String);

impl std::fmt::Display for MachineId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// A machine that has to be hired, with the methods that need it.
#[derive(Debug, Clone)]
pub struct Rental<'a> {
    /// Its key.
    pub id: MachineId,
    /// In words.
    pub label: &'a str,
    /// The methods that need it.
    pub methods: Vec<MethodId>,
    /// Its prices as they stand in the price book.
    pub hire: &'a Hire,
    /// The same as a tariff.
    pub tariff: Tariff,
}

/// Every machine of the price book that costs something to have on site: first those of the methods,
/// then the carriers of attachments. What stands on the site already is left out.
pub fn rentals(job: &Job) -> Vec<Rental<'_>> {
    let own = job.prices.method.iter().filter_map(|(id, method)| {
        let hire = method.hire.as_ref()?;
        Some(rental(job, (&id.0, &method.label), vec![id.clone()], hire))
    });
    let carriers = job.prices.carrier.iter().map(|(key, carrier)| {
        let carried = job.prices.method.iter();
        let carried = carried.filter(|(_, method)| method.carrier.as_ref() == Some(key));
        let methods = carried.map(|(id, _)| id.clone()).collect();
        rental(job, (key, &carrier.label), methods, &carrier.hire)
    });
    own.chain(carriers)
        .filter(|rental| !rental.hire.on_site.value && !rental.methods.is_empty())
        .filter(|rental| rental.tariff.charge(Duration::ZERO).cost > Money::ZERO)
        .collect()
}

fn rental<'a>(
    job: &Job,
    (key, label): (&str, &'a str),
    methods: Vec<MethodId>,
    hire: &'a Hire,
) -> Rental<'a> {
    Rental {
        id: MachineId(key.to_owned()),
        label,
        methods,
        hire,
        tariff: tariff(job, hire),
    }
}

fn tariff(job: &Job, hire: &Hire) -> Tariff {
    let day = &job.practice.day;
    Tariff {
        hour: hire.hour.as_ref().map(|price| price.value),
        least_hours: hire.least_hours.as_ref().map_or(1, |least| least.value),
        day: hire.day.value,
        day_length: Duration::h(day.hours.value.to_one()),
        week: hire.week.as_ref().map(|price| price.value),
        week_days: day.week.value,
        mobilisation: hire.mobilisation.value,
    }
}
