//! How much a circuit may take that a head is part of.

use ground::Ground;
use hydraulics::Water;
use hydraulics::friction::flow_at;
use hydraulics::supply;
use job::{Job, Outlet};
use quantity::{Flow, Length, Pressure, Velocity};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What keeps a circuit from taking more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// The source was not tested at more.
    Test,
    /// Water in the service pipe would run faster than the practice allows.
    Service,
    /// Water in the largest lateral would.
    Lateral,
    /// A head would lack pressure.
    Pressure,
}

/// The greatest flow of a circuit with a head, and what sets it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Most {
    pub flow: Flow,
    pub limit: Limit,
    /// What the source has to hold at that flow.
    pub at_source: Pressure,
}

/// The limits that hold for all heads of a job.
#[derive(Debug)]
pub(crate) struct Limits<'a> {
    job: &'a Job,
    ground: &'a Ground,
    water: Water,
    /// The least of those that know no head.
    common: (Flow, Limit),
}

impl<'a> Limits<'a> {
    pub fn new(job: &'a Job, ground: &'a Ground) -> Self {
        let source = &job.system.source;
        let velocity = &job.practice.water.velocity;
        // Heads with more pressure than they need draw more, by the spread of flow at most.
        let more = 1.0 + job.practice.water.flow_spread.value.to_one();
        let of =
            |inside: Option<Length>, limit: Velocity| Some(flow_at(limit, inside?) * (1.0 / more));
        let sizes = |family: &str| job.practice.pipe.get(family).map(|f| f.sizes.as_slice());
        let mains = sizes(&source.main_pipe).unwrap_or_default();
        let service = mains.iter().find(|s| s.name == source.service_size);
        let laterals = sizes(&job.practice.circuits.pipe.value).unwrap_or_default();
        let largest = laterals.iter().map(|s| s.inside).reduce(Length::max);
        let limits = [
            (Some(source.test_flow), Limit::Test),
            (
                of(service.map(|s| s.inside), velocity.service.value),
                Limit::Service,
            ),
            (of(largest, velocity.lateral.value), Limit::Lateral),
        ];
        let known = limits
            .into_iter()
            .filter_map(|(flow, limit)| Some((flow?, limit)));
        let least = known.min_by(|a, b| a.0.total_cmp(&b.0));
        Self {
            job,
            ground,
            water: Water::at(job.practice.water.temperature.value),
            common: least.unwrap_or((source.test_flow, Limit::Test)),
        }
    }

    /// What the source has to hold so that a head has its pressure: what it needs and the allowance for
    /// pipes, what backflow assembly and valve take at the largest flow of a circuit, and the height
    /// between.
    pub fn at_source(&self, outlet: &Outlet) -> Pressure {
        let practice = &self.job.practice;
        let system = &self.job.system;
        let given = system.backflow.loss.as_ref();
        let backflow = given.map(|curve| supply::loss(curve, self.common.0));
        let height = |at: job::Place| self.ground.elevation(at.into());
        let rise = height(outlet.at) - height(system.source.at);
        outlet.pressure * (1.0 + practice.circuits.pipe_allowance.value.to_one())
            + backflow.unwrap_or(practice.water.backflow_loss.value)
            + practice.water.valve_loss.value
            + self.water.pressure_of(rise)
    }

    /// The greatest flow of a circuit with a head; none at all if the source cannot even hold its
    /// pressure with nothing running.
    pub fn most(&self, outlet: &Outlet) -> Most {
        let source = &self.job.system.source;
        let at_source = self.at_source(outlet);
        let by_pressure = supply::most_flow(source, at_source).unwrap_or(Flow::ZERO);
        let (flow, limit) = if by_pressure < self.common.0 {
            (by_pressure, Limit::Pressure)
        } else {
            self.common
        };
        Most {
            flow,
            limit,
            at_source,
        }
    }
}

impl Limit {
    /// In words, as the reason for a flow.
    pub fn words(self) -> &'static str {
        match self {
            Self::Test => "the source was tested up to there",
            Self::Service => "the velocity limit in the service pipe",
            Self::Lateral => "the velocity limit in the largest lateral",
            Self::Pressure => "the pressure that its heads need",
        }
    }
}
