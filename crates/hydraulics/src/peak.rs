//! The highest pressure in the main when a circuit's valve closes at once.

use crate::friction::velocity;
use crate::model::{Model, Sizes};
use crate::piping::Way;
use crate::surge::{dimension_ratio, joukowsky, wave_speed};
use quantity::{Flow, Length, Pressure, Velocity};

/// The pipe in which static pressure plus surge comes nearest to the rating.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Peak {
    pub run: usize,
    pub velocity: Velocity,
    pub wave: Velocity,
    pub surge: Pressure,
    /// With nothing running, at the pipe's lower end.
    pub at_rest: Pressure,
    pub rating: Pressure,
}

impl Peak {
    pub fn total(&self) -> Pressure {
        self.at_rest + self.surge
    }

    fn margin(&self) -> Pressure {
        self.rating - self.total()
    }
}

/// The pipe between source and valve that bears the closing of a circuit's valve worst; `None` if
/// no pipe lies between them.
pub(crate) fn of_circuit(model: &Model, way: &Way, sizes: &Sizes) -> Option<Peak> {
    way.upstream
        .iter()
        .map(|run| in_run(model, way, *run, sizes[model.piping.runs[*run].section]))
        .min_by(|a, b| a.margin().total_cmp(&b.margin()))
}

/// Whether a run in a size of its family bears rest and surge when a circuit's valve closes; where rest
/// alone is too much, no size helps.
pub(crate) fn holds(model: &Model, way: &Way, run: usize, size: usize) -> bool {
    let peak = in_run(model, way, run, size);
    peak.margin() >= Pressure::ZERO || peak.at_rest > peak.rating
}

fn in_run(model: &Model, way: &Way, run: usize, size: usize) -> Peak {
    let this = &model.piping.runs[run];
    let family = model.piping.sections[this.section].family;
    let size = &family.sizes[size];
    let ratio = dimension_ratio(size.outside, size.inside);
    let bulk = model.job.practice.water.bulk_modulus.value;
    let wave = wave_speed(bulk, family.modulus.value, ratio);
    let velocity = velocity(way.flow, size.inside);
    let lowest: Length = model
        .height(this.branch.from)
        .min(model.height(this.branch.to));
    Peak {
        run,
        velocity,
        wave,
        surge: joukowsky(model.water, wave, velocity),
        at_rest: model.source(Flow::ZERO) + model.fall(model.piping.source_height, lowest),
        rating: size.rating,
    }
}
