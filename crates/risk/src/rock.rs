//! What a metre of trench in rock costs beyond the plan.

use crate::causes::Causes;
use crate::loads::stones;
use crate::model::labour;
use digging::{Dig, Digging};
use job::Job;
use job::prices::MethodKind;
use quantity::{Length, Money};
use routes::Network;

/// What a rock clause rests on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rock {
    /// Beyond the plan, for a metre.
    pub per_m: Money,
    /// The trench it is averaged over.
    pub length: Length,
    /// Digging time in rock over that in soil without stones, the likeliest.
    pub slow: f64,
}

/// The mean over all trench that is dug or pulled, if any metre of it were rock: the people and the
/// machine for the time that it takes longer, hire by the hour's share of a day.
pub fn clause(job: &Job, network: &Network, digging: &Digging, causes: &Causes) -> Rock {
    let slow = causes.factors[causes.rock_slow].law.points()[1];
    let rentals = digging::rentals(job);
    let of = |dig: &Dig| {
        let method = job.prices.method.get(&dig.method)?;
        if matches!(method.kind, MethodKind::Surface | MethodKind::Sleeve) {
            return None;
        }
        let stretch = network.stretch(dig.stretch);
        let planned = stones(&job.practice, stretch.ground.soil.coarse.to_one(), 1.0);
        let longer = (slow / planned - 1.0).max(0.0);
        let hire: f64 = rentals
            .iter()
            .filter(|rental| rental.methods.contains(&dig.method))
            .map(|rental| rental.tariff.day.to_cents() as f64 / rental.tariff.day_length.to_h())
            .sum();
        let fuel = method.fuel_hour.value.to_cents() as f64;
        let machine = (hire + fuel) * dig.machine_hours().to_h();
        let people = labour(job, dig.hours.to_s() * f64::from(dig.crew));
        Some(((people + machine) * longer, stretch.length))
    };
    let (cents, length) = digging
        .digs
        .iter()
        .filter_map(of)
        .fold((0.0, Length::ZERO), |sum, dig| {
            (sum.0 + dig.0, sum.1 + dig.1)
        });
    let per_m = if length > Length::ZERO {
        Money::cents((cents / length.to_m()).round() as i64)
    } else {
        Money::ZERO
    };
    Rock {
        per_m,
        length,
        slow,
    }
}
