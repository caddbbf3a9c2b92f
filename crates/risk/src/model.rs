//! One trial: the plan's tasks with other times, and what they come to.

use crate::causes::Causes;
use crate::hire::{Hired, hired};
use crate::loads::{self, By, Effort, In, Soil, stones};
use crate::order::Order;
use crate::sample::{binomial, dice, mark};
use crew::Schedule;
use digging::Digging;
use job::Job;
use quantity::Money;
use routes::Network;
use takeoff::Takeoff;

/// Ends this little beyond an evening count as before it, days.
const HAIR: f64 = 1e-9;

const SECONDS_OF_HOUR: f64 = 3600.0;

/// What a trial comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Outcome {
    /// Change of the cost against the plan.
    pub change: Money,
    /// Working days on site, lost ones counted.
    pub days: u32,
}

/// Room for a trial's times, kept from one to the next.
#[derive(Debug, Clone, Default)]
pub struct Scratch {
    times: Vec<f64>,
    starts: Vec<f64>,
    ends: Vec<f64>,
    lost: Vec<bool>,
    soils: Vec<[f64; 3]>,
}

/// A plan, ready for trials.
pub struct Model<'a> {
    job: &'a Job,
    pub causes: &'a Causes,
    soils: Vec<Soil>,
    efforts: Vec<Effort>,
    order: Order,
    hires: Vec<Hired>,
    /// Seconds of a working day.
    day: f64,
    crew: f64,
    /// Cents of all material.
    material: f64,
    /// Days of the plan, and those that the order gives with its times.
    days: (u32, u32),
}

impl<'a> Model<'a> {
    pub fn new(
        job: &'a Job,
        causes: &'a Causes,
        network: &Network,
        digging: &Digging,
        takeoff: &Takeoff,
        schedule: &Schedule,
    ) -> Self {
        let (soils, efforts) = loads::of(job, network, digging, schedule, causes);
        let material: Money = takeoff.items.iter().map(|item| item.cost).sum();
        let mut model = Self {
            job,
            causes,
            soils,
            efforts,
            order: Order::of(job, &schedule.tasks, &schedule.crews),
            hires: Vec::new(),
            day: job.practice.day.hours.value.to_one() * SECONDS_OF_HOUR,
            crew: f64::from(schedule.crew),
            material: material.to_cents() as f64,
            days: (schedule.days.len() as u32, 0),
        };
        let mut scratch = Scratch::default();
        let times: Vec<f64> = model.efforts.iter().map(|effort| effort.time).collect();
        model.run(&times, &mut scratch);
        model.days.1 = model.days_of(&scratch).1;
        model.hires = hired(job, schedule, |tasks| model.span(tasks, &scratch));
        model
    }

    fn run(&self, times: &[f64], scratch: &mut Scratch) {
        scratch.starts.resize(times.len(), 0.0);
        scratch.ends.resize(times.len(), 0.0);
        self.order
            .run(times, &mut scratch.starts, &mut scratch.ends);
    }

    /// The first day worked on, from 0, and the day after the last.
    fn days_of(&self, scratch: &Scratch) -> (u32, u32) {
        let all = 0..scratch.ends.len();
        self.span(all, scratch)
    }

    /// The same of some tasks.
    fn span(&self, tasks: impl IntoIterator<Item = usize>, scratch: &Scratch) -> (u32, u32) {
        let whole = |time: f64, hair: f64, round: fn(f64) -> f64| {
            if self.day > 0.0 {
                round(time / self.day + hair).max(0.0) as u32
            } else {
                0
            }
        };
        let of = |task: usize| {
            let first = whole(scratch.starts[task], HAIR, f64::floor);
            (
                first,
                whole(scratch.ends[task], -HAIR, f64::ceil).max(first + 1),
            )
        };
        let both = tasks.into_iter().map(of);
        both.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
            .unwrap_or((0, 0))
    }

    /// What it comes to where everything is as `values` say, in the places of the causes' factors.
    /// `trial` only numbers the dice that say which days the weather takes.
    pub fn outcome(&self, values: &[f64], trial: usize, scratch: &mut Scratch) -> Outcome {
        self.set_soils(values, scratch);
        let crew = 1.0 / values[self.causes.crew];
        let mut times = std::mem::take(&mut scratch.times);
        times.clear();
        let (mut work, mut fuel) = (0.0, 0.0);
        for effort in &self.efforts {
            let mut more = 0.0;
            for load in &effort.loads {
                more += load.work * (crew * self.slower(&load.by, values, scratch) - 1.0);
            }
            times.push(
                effort.time
                    + if effort.people > 0.0 {
                        more / effort.people
                    } else {
                        0.0
                    },
            );
            work += more;
            if effort.work > 0.0 {
                fuel += effort.fuel * effort.machine * (more / effort.work) / SECONDS_OF_HOUR;
            }
        }
        self.run(&times, scratch);
        let (_, worked) = self.days_of(scratch);
        let lost = self.lose_days(values, trial, worked, scratch);
        let hire = self.hires.iter().map(|hire| {
            let span = self.span(hire.tasks.iter().copied(), scratch);
            let range = span.0 as usize..(span.1 as usize).min(scratch.lost.len());
            let away = scratch
                .lost
                .get(range)
                .map_or(0, |days| days.iter().filter(|d| **d).count());
            let longer: f64 = hire
                .tasks
                .iter()
                .map(|t| times[*t] - self.efforts[*t].time)
                .sum();
            hire.change(span, away as u32, longer)
        });
        let hire: Money = hire.sum();
        scratch.times = times;
        let paid = self.job.practice.risk.weather.paid.value.to_one();
        let idle = paid * f64::from(lost) * self.crew * self.day;
        let material = self.material * (values[self.causes.material] - 1.0);
        let cents = labour(self.job, work + idle) + fuel + material;
        Outcome {
            change: Money::cents(cents.round() as i64) + hire,
            days: (self.days.0 + worked).saturating_sub(self.days.1) + lost,
        }
    }

    /// How many days the weather takes; they are marked in `scratch.lost`.
    fn lose_days(&self, values: &[f64], trial: usize, worked: u32, scratch: &mut Scratch) -> u32 {
        let (chance, luck) = (values[self.causes.lost], values[self.causes.luck]);
        let lost = binomial(worked, chance, luck);
        scratch.lost.clear();
        if lost > 0 {
            scratch.lost.resize(worked as usize, false);
            mark(&mut scratch.lost, lost, &mut dice(self.job.seed, trial));
        }
        lost
    }

    /// Time over that of the plan in each soil: of digging, of a sleeve, of filling.
    fn set_soils(&self, values: &[f64], scratch: &mut Scratch) {
        let practice = &self.job.practice;
        let share = values[self.causes.rock_share];
        let step = (values[self.causes.moisture] + 1.0).clamp(0.0, 2.0) as usize;
        scratch.soils.clear();
        scratch.soils.extend(self.soils.iter().map(|soil| {
            let slow = stones(practice, values[soil.coarse], values[self.causes.stones]);
            let slow = slow / soil.stones;
            let rock = (values[self.causes.rock_slow] / soil.stones).max(slow);
            let [dig, fill] = soil.moisture[step];
            [
                ((1.0 - share) * slow + share * rock) * dig,
                slow * dig,
                fill,
            ]
        }));
    }

    /// Time over that of the plan, the crew's pace left out.
    fn slower(&self, by: &By, values: &[f64], scratch: &Scratch) -> f64 {
        let pace = by.pace.map_or(1.0, |factor| 1.0 / values[factor]);
        let soil = by.soil.map_or(1.0, |(soil, what)| {
            let [dig, sleeve, fill] = scratch.soils[soil];
            match what {
                In::Dig => dig,
                In::Sleeve => sleeve,
                In::Fill => fill,
            }
        });
        let follows = if by.soil.is_some() {
            self.job.practice.risk.service.zone_follows.value.to_one()
        } else {
            1.0
        };
        let deeper = |service: &usize| 1.0 + follows * (values[*service] - 1.0);
        pace * soil * by.services.iter().map(deeper).product::<f64>()
    }
}

/// Labour of some people times seconds, in cents.
pub fn labour(job: &Job, work: f64) -> f64 {
    job.prices.labour.hour().to_cents() as f64 * work / SECONDS_OF_HOUR
}
