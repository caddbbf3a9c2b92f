//! What lines and crossings cost by the metre, as the router sees it.

use hydraulics::Hydraulics;
use job::Job;
use routes::{LineKind, Network};
use std::collections::BTreeMap;

/// Cost of a metre of each line, material and laying, on top of the trench; currency units.
#[derive(Debug, Clone, PartialEq)]
pub struct LineRates {
    pipes: BTreeMap<String, f64>,
    wire: f64,
    cable: f64,
}

impl LineRates {
    /// Before any pipe is sized: the second smallest size of each family.
    pub fn guessed(job: &Job) -> Self {
        let second = |family: &str| {
            let sizes = &job.practice.pipe[family].sizes;
            let size = &sizes[1.min(sizes.len() - 1)].name;
            pipe_price(job, family, size)
        };
        let system = &job.system;
        let mut pipes: BTreeMap<String, f64> = system
            .circuits
            .iter()
            .map(|c| (key(&lateral(&c.id)), second(&c.pipe)))
            .collect();
        for kind in [LineKind::Service, LineKind::Main] {
            pipes.insert(
                key(&kind),
                pipe_price(job, &system.source.main_pipe, &system.source.service_size),
            );
        }
        Self {
            pipes,
            wire: wire_rate(job),
            cable: cable_rate(job),
        }
    }

    /// From the sizes of a plan: the mean over each line's pipes, by length. What the plan names and
    /// the job does not have (any more) is passed over.
    pub fn of(job: &Job, network: &Network, water: &Hydraulics) -> Self {
        let mut rates = Self::guessed(job);
        let mut sums: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
        for pipe in &water.pipes {
            let stretch = network.stretches.get(pipe.stretch.index());
            let price = known_price(job, &pipe.family, &pipe.size);
            let (Some(stretch), Some(price)) = (stretch, price) else {
                continue;
            };
            let length = stretch.length.to_m();
            let sum = sums.entry(pipe.line).or_default();
            sum.0 += length * price;
            sum.1 += length;
        }
        for (line, (money, length)) in sums {
            if let Some(line) = network.lines.get(line).filter(|_| length > 0.0) {
                rates.pipes.insert(key(&line.kind), money / length);
            }
        }
        rates
    }

    /// A metre of a line.
    pub fn of_line(&self, kind: &LineKind) -> f64 {
        match kind {
            LineKind::Wire => self.wire,
            LineKind::Cable(_) => self.cable,
            pipe => self.pipes.get(&key(pipe)).copied().unwrap_or(0.0),
        }
    }
}

/// A metre of a new sleeve, bored, put in and pulled through; the boring crew's coming is paid once and so
/// by no metre.
pub fn sleeve_new(job: &Job) -> f64 {
    job.prices.new_sleeve().to_units() + sleeve_existing(job)
}

/// A metre pulled through a sleeve that lies there: laying alone.
pub fn sleeve_existing(job: &Job) -> f64 {
    hour(job) * job.prices.labour.lay_pipe_per_m.value.to_h()
}

/// Exposing one buried service by hand.
pub fn crossing(job: &Job) -> f64 {
    hour(job) * job.practice.utility.test_hole_hours.value.to_one()
}

/// A bend in a trench: an elbow, and setting the machine anew.
pub fn bend(job: &Job) -> f64 {
    let labour = &job.prices.labour;
    job.prices.fitting.elbow.value.to_units() + hour(job) * labour.turn_trench.value.to_h()
}

/// A junction of trenches: a tee, and beginning the branch.
pub fn junction(job: &Job) -> f64 {
    let labour = &job.prices.labour;
    job.prices.fitting.tee.value.to_units() + hour(job) * labour.branch_trench.value.to_h()
}

/// A metre of pipe for the grouping; nothing for what the price list does not have.
pub fn pipe(job: &Job, family: &str, size: &str) -> f64 {
    known_price(job, family, size).unwrap_or(0.0)
}

/// A valve: itself, a splice on each of its conductors, setting and testing its circuit.
pub fn valve(job: &Job) -> f64 {
    let (item, labour) = (&job.prices.item, &job.prices.labour);
    let tests = labour.inspect_each.value + labour.flush_each.value + labour.test_each.value;
    let time = labour.set_valve.value + tests;
    item.valve.value.to_units() + 2.0 * item.splice.value.to_units() + hour(job) * time.to_h()
}

/// A metre of a single conductor of the thinnest wire.
pub fn conductor(job: &Job) -> f64 {
    let thinnest = &job.practice.wire.gauge[0].name;
    job.prices.wire[thinnest].value.to_units()
}

/// A metre of laying valve wire, with the common conductor.
pub fn wire(job: &Job) -> f64 {
    conductor(job) + lay_wire(job)
}

/// A metre of a pipe of the job's own price list, laid.
fn pipe_price(job: &Job, family: &str, size: &str) -> f64 {
    known_price(job, family, size).expect("a checked job has a price for each of its sizes")
}

fn known_price(job: &Job, family: &str, size: &str) -> Option<f64> {
    let price = job.prices.pipe.get(family)?.get(size)?.value.to_units();
    Some(price + hour(job) * job.prices.labour.lay_pipe_per_m.value.to_h())
}

/// Half the valves' own conductors and the common one: a metre of wire carries fewer the farther it is
/// from the controller.
fn wire_rate(job: &Job) -> f64 {
    let thinnest = &job.practice.wire.gauge[0].name;
    let conductors = 1.0 + job.system.valves.len() as f64 / 2.0;
    job.prices.wire[thinnest].value.to_units() * conductors + lay_wire(job)
}

fn cable_rate(job: &Job) -> f64 {
    job.prices.item.cable.value.to_units() + lay_wire(job)
}

fn lay_wire(job: &Job) -> f64 {
    hour(job) * job.prices.labour.lay_wire_per_m.value.to_h()
}

fn hour(job: &Job) -> f64 {
    job.prices.labour.hour().to_units()
}

fn lateral(circuit: &str) -> LineKind {
    LineKind::Lateral(circuit.to_owned())
}

fn key(kind: &LineKind) -> String {
    match kind {
        LineKind::Lateral(circuit) => format!("lateral {circuit}"),
        LineKind::Service => "service".to_owned(),
        _ => "main".to_owned(),
    }
}
