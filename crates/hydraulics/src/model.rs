//! Pressures for given pipe sizes, each circuit running alone.

use crate::friction::{FLOW_EXPONENT, hazen_williams, velocity};
use crate::minor::{self, Fitting};
use crate::piping::{Piping, Way};
use crate::supply::source_pressure;
use crate::water::Water;
use job::Job;
use job::practice::PipeSize;
use quantity::{Flow, Length, Pressure, Velocity};
use routes::{Network, NodeId};

/// For every section the index of its size in its family.
pub(crate) type Sizes = Vec<usize>;

/// What a pipe takes at a flow.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Loss {
    pub friction: Pressure,
    pub minor: Pressure,
}

impl Loss {
    pub fn total(self) -> Pressure {
        self.friction + self.minor
    }
}

/// A circuit at work.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub source: Pressure,
    /// At the valve's inlet.
    pub valve: Pressure,
    /// At each tap of the way; `None` if the network does not reach it.
    pub outlets: Vec<Option<Pressure>>,
}

/// Everything that pressures depend on but the sizes.
pub(crate) struct Model<'a> {
    pub job: &'a Job,
    pub network: &'a Network,
    pub piping: Piping<'a>,
    pub water: Water,
    /// For every run and size the pressure that friction takes at 1 m³/s: the rest of the formula
    /// is worked out once, since sizing asks for it very often.
    unit_friction: Vec<Vec<Pressure>>,
}

impl<'a> Model<'a> {
    pub fn new(job: &'a Job, network: &'a Network) -> Self {
        let water = Water::at(job.practice.water.temperature.value);
        let piping = Piping::new(job, network);
        let unit = Flow::m3s(1.0);
        let unit_friction = piping
            .runs
            .iter()
            .map(|run| {
                let family = piping.sections[run.section].family;
                let c = family.c_at(job.practice.pipe_age.years.value);
                let head = |s: &PipeSize| hazen_williams(run.length, unit, s.inside, c);
                let sizes = family.sizes.iter();
                sizes.map(|s| water.pressure_of(head(s))).collect()
            })
            .collect();
        Self {
            job,
            network,
            piping,
            water,
            unit_friction,
        }
    }

    pub fn size_of(&self, section: usize, sizes: &Sizes) -> &'a PipeSize {
        &self.piping.sections[section].family.sizes[sizes[section]]
    }

    pub fn size_of_run(&self, run: usize, sizes: &Sizes) -> &'a PipeSize {
        self.size_of(self.piping.runs[run].section, sizes)
    }

    pub fn velocity(&self, run: usize, flow: Flow, sizes: &Sizes) -> Velocity {
        velocity(flow, self.size_of_run(run, sizes).inside)
    }

    /// The fittings on the way into a run, the change of size included.
    pub fn fittings(&self, run: usize, sizes: &Sizes) -> impl Iterator<Item = Fitting> + '_ {
        let this = &self.piping.runs[run];
        let changes = this.feeder.is_some_and(|feeder| {
            let section = self.piping.runs[feeder].section;
            sizes[section] != sizes[this.section]
        });
        let reducer = changes.then_some(Fitting::Reducer);
        this.fittings.iter().copied().chain(reducer)
    }

    pub fn loss(&self, run: usize, flow: Flow, sizes: &Sizes) -> Loss {
        let section = self.piping.runs[run].section;
        let rules = &self.job.practice.minor_loss;
        let k: f64 = self
            .fittings(run, sizes)
            .map(|f| f.k(rules).value.to_one())
            .sum();
        let share = flow.to_m3s().max(0.0).powf(FLOW_EXPONENT);
        Loss {
            friction: self.unit_friction[run][sizes[section]] * share,
            minor: minor::loss(k, self.velocity(run, flow, sizes), self.water),
        }
    }

    pub fn backflow_loss(&self) -> Pressure {
        self.job
            .system
            .backflow
            .loss
            .unwrap_or(self.job.practice.water.backflow_loss.value)
    }

    pub fn source(&self, flow: Flow) -> Pressure {
        let s = &self.job.system.source;
        source_pressure(s.static_pressure, s.residual_pressure, s.test_flow, flow)
    }

    /// Pressure won by going down from one height to another.
    pub fn fall(&self, from: Length, to: Length) -> Pressure {
        self.water.pressure_of(from - to)
    }

    pub fn height(&self, node: NodeId) -> Length {
        self.network.node(node).elevation
    }

    /// The height of a circuit's valve; that of the source if the network does not reach it.
    pub fn valve_height(&self, way: &Way) -> Length {
        way.valve_node
            .map_or(self.piping.source_height, |node| self.height(node))
    }

    /// Loss in the tee through which a valve leaves the main.
    pub fn valve_tee_loss(&self, way: &Way, flow: Flow, sizes: &Sizes) -> Pressure {
        let last = way.upstream.last().filter(|_| way.tee_at_valve);
        last.map_or(Pressure::ZERO, |run| {
            let k = self.job.practice.minor_loss.tee_branch.value.to_one();
            minor::loss(k, self.velocity(*run, flow, sizes), self.water)
        })
    }

    /// A circuit at work with `share` of the flow that its outlets need.
    pub fn state(&self, way: &Way, sizes: &Sizes, share: f64) -> State {
        let flow = way.flow * share;
        let source = self.source(flow);
        let height = self.valve_height(way);
        let lost: Pressure = way
            .upstream
            .iter()
            .map(|run| self.loss(*run, flow, sizes).total())
            .sum();
        let valve = source + self.fall(self.piping.source_height, height)
            - lost
            - self.backflow_loss()
            - self.valve_tee_loss(way, flow, sizes);
        let behind = valve - self.job.practice.water.valve_loss.value;
        let lost = self.lateral_losses(way, sizes, share);
        let outlets = way
            .taps
            .iter()
            .map(|tap| {
                let node = way.valve_node.and(tap.node)?;
                let lost = tap
                    .run
                    .map_or(Pressure::ZERO, |r| lost[r - way.laterals.start]);
                Some(behind + self.fall(height, self.height(node)) - lost)
            })
            .collect();
        State {
            source,
            valve,
            outlets,
        }
    }

    /// What is lost from the valve to the end of each lateral run.
    fn lateral_losses(&self, way: &Way, sizes: &Sizes, share: f64) -> Vec<Pressure> {
        let mut lost: Vec<Pressure> = Vec::with_capacity(way.laterals.len());
        for run in way.laterals.clone() {
            let this = &self.piping.runs[run];
            let before = this
                .feeder
                .map_or(Pressure::ZERO, |f| lost[f - way.laterals.start]);
            lost.push(before + self.loss(run, this.flow * share, sizes).total());
        }
        lost
    }

    /// The flow of a run when a circuit is at work.
    pub fn flow_in(&self, run: usize, way: &Way) -> Flow {
        if way.laterals.contains(&run) {
            self.piping.runs[run].flow
        } else {
            way.flow
        }
    }

    /// The runs from the source to a tap.
    pub fn way_to_tap(&self, way: &Way, tap: usize) -> Vec<usize> {
        let behind = self.piping.way_to(way.taps[tap].run);
        way.upstream.iter().copied().chain(behind).collect()
    }
}

/// The tap with the least margin over what it needs, with its pressure; the first in a tie.
pub(crate) fn worst(way: &Way, state: &State) -> Option<(usize, Pressure)> {
    let margin = |(tap, pressure): &(usize, Pressure)| *pressure - way.taps[*tap].outlet.pressure;
    state
        .outlets
        .iter()
        .enumerate()
        .filter_map(|(tap, pressure)| pressure.map(|p| (tap, p)))
        .min_by(|a, b| margin(a).total_cmp(&margin(b)))
}
