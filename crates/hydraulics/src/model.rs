//! Pressures for given pipe sizes, each circuit running alone.

use crate::friction::{FLOW_EXPONENT, darcy_weisbach, hazen_williams, velocity};
use crate::minor::{self, Fitting};
use crate::piping::{Piping, Way};
use crate::steady::Running;
use crate::supply;
use crate::water::Water;
use job::practice::{Friction, PipeSize};
use job::{Curve, Job};
use quantity::{Flow, Length, Pressure, Velocity};
use routes::{LineKind, Network, NodeId};

/// Flows nearer than this share are the same.
const SAME_FLOW: f64 = 1e-6;

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

/// A circuit at work at the flows that are taken for it.
#[derive(Debug, Clone)]
pub(crate) struct State {
    /// At each tap of the way; `None` if the network does not reach it.
    pub outlets: Vec<Option<Pressure>>,
}

/// Everything that pressures depend on but the sizes.
pub(crate) struct Model<'a> {
    pub job: &'a Job,
    pub network: &'a Network,
    pub piping: Piping<'a>,
    pub water: Water,
    /// For every run and size the pressure that friction takes at 1 m³/s by Hazen–Williams: the rest of
    /// the formula is worked out once, since sizing asks for it very often.
    unit_friction: Vec<Vec<Pressure>>,
    /// For every run the sum of K of its fittings, a change of size left out.
    fittings: Vec<f64>,
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
        let rules = &job.practice.minor_loss;
        let k = |fittings: &[Fitting]| fittings.iter().map(|f| f.k(rules).value.to_one()).sum();
        let fittings = piping.runs.iter().map(|run| k(&run.fittings)).collect();
        Self {
            job,
            network,
            piping,
            water,
            unit_friction,
            fittings,
        }
    }

    /// Takes every outlet at what it drew, if that is more than it was taken at; whether any was.
    pub fn take_more(&mut self, running: &[Running]) -> bool {
        let mut more = false;
        for (way, running) in self.piping.ways.iter_mut().zip(running) {
            for (tap, flow) in way.taps.iter_mut().zip(&running.flows) {
                more |= *flow > tap.flow * (1.0 + SAME_FLOW);
                tap.flow = tap.flow.max(*flow);
            }
        }
        self.piping.set_flows();
        more
    }

    /// Takes every outlet at what it draws.
    pub fn take(&mut self, running: &[Running]) {
        for (way, running) in self.piping.ways.iter_mut().zip(running) {
            for (tap, flow) in way.taps.iter_mut().zip(&running.flows) {
                tap.flow = *flow;
            }
        }
        self.piping.set_flows();
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

    /// The limit of velocity for a section.
    pub fn velocity_limit(&self, section: usize) -> &'a job::Sourced<Velocity> {
        let limits = &self.job.practice.water.velocity;
        match self.network.lines[self.piping.sections[section].line].kind {
            LineKind::Service => &limits.service,
            LineKind::Main => &limits.main,
            _ => &limits.lateral,
        }
    }

    /// The fittings on the way into a run, the change of size included.
    pub fn fittings(&self, run: usize, sizes: &Sizes) -> impl Iterator<Item = Fitting> + '_ {
        let reducer = self.changes(run, sizes).then_some(Fitting::Reducer);
        self.piping.runs[run]
            .fittings
            .iter()
            .copied()
            .chain(reducer)
    }

    /// Whether the pipe in front of a run in its line is of another size.
    pub fn changes(&self, run: usize, sizes: &Sizes) -> bool {
        let this = &self.piping.runs[run];
        this.feeder
            .is_some_and(|f| sizes[self.piping.runs[f].section] != sizes[this.section])
    }

    pub fn loss(&self, run: usize, flow: Flow, sizes: &Sizes) -> Loss {
        let size = sizes[self.piping.runs[run].section];
        self.loss_in(run, size, self.changes(run, sizes), flow)
    }

    /// What a run takes in a size of its family; `changes` if the pipe in front has another.
    pub fn loss_in(&self, run: usize, size: usize, changes: bool, flow: Flow) -> Loss {
        let this = &self.piping.runs[run];
        let family = self.piping.sections[this.section].family;
        let inside = family.sizes[size].inside;
        let flow = flow.max(Flow::ZERO);
        let friction = match self.job.practice.water.friction.value {
            Friction::HazenWilliams => {
                self.unit_friction[run][size] * flow.to_m3s().powf(FLOW_EXPONENT)
            }
            Friction::DarcyWeisbach => {
                let rough = family.roughness.value;
                let head = darcy_weisbach(this.length, flow, inside, rough, self.water);
                self.water.pressure_of(head)
            }
        };
        let reducer = match changes {
            true => Fitting::Reducer
                .k(&self.job.practice.minor_loss)
                .value
                .to_one(),
            false => 0.0,
        };
        let k = self.fittings[run] + reducer;
        Loss {
            friction,
            minor: minor::loss(k, velocity(flow, inside), self.water),
        }
    }

    /// Pressure that the backflow assembly takes at a flow.
    pub fn backflow_loss(&self, flow: Flow) -> Pressure {
        let given = &self.job.system.backflow.loss;
        self.given_or(given, self.job.practice.water.backflow_loss.value, flow)
    }

    /// Pressure that a circuit's valve takes at a flow, fully open.
    pub fn valve_loss(&self, way: &Way, flow: Flow) -> Pressure {
        let given = way.valve.map_or(&None, |v| &v.loss);
        self.given_or(given, self.job.practice.water.valve_loss.value, flow)
    }

    fn given_or(&self, curve: &Option<Curve>, practice: Pressure, flow: Flow) -> Pressure {
        curve.as_ref().map_or(practice, |c| supply::loss(c, flow))
    }

    /// Behind the source and what stands at it.
    pub fn source(&self, flow: Flow) -> Pressure {
        supply::behind_source(&self.job.system.source, flow)
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
        let last = way.upstream.last();
        last.map_or(Pressure::ZERO, |run| {
            let size = sizes[self.piping.runs[*run].section];
            self.valve_tee_loss_in(way, flow, size)
        })
    }

    /// The same where the pipe that ends at the valve has a size of its family.
    pub fn valve_tee_loss_in(&self, way: &Way, flow: Flow, size: usize) -> Pressure {
        let last = way.upstream.last().filter(|_| way.tee_at_valve);
        last.map_or(Pressure::ZERO, |run| {
            let family = self.piping.sections[self.piping.runs[*run].section].family;
            let k = self.job.practice.minor_loss.tee_branch.value.to_one();
            minor::loss(k, velocity(flow, family.sizes[size].inside), self.water)
        })
    }

    /// At a circuit's valve with nothing lost in the main's pipes and tees.
    pub fn before_pipes(&self, way: &Way, flow: Flow) -> Pressure {
        let height = self.valve_height(way);
        let fall = self.fall(self.piping.source_height, height);
        self.source(flow) + fall - self.backflow_loss(flow)
    }

    /// At the inlet of a circuit's valve when it runs alone at a flow.
    pub fn at_valve(&self, way: &Way, flow: Flow, sizes: &Sizes) -> Pressure {
        let upstream = way.upstream.iter();
        let lost: Pressure = upstream
            .map(|run| self.loss(*run, flow, sizes).total())
            .sum();
        self.before_pipes(way, flow) - lost - self.valve_tee_loss(way, flow, sizes)
    }

    /// Behind a circuit's valve, fully open, when it runs alone at a flow.
    pub fn behind_valve(&self, way: &Way, flow: Flow, sizes: &Sizes) -> Pressure {
        self.at_valve(way, flow, sizes) - self.valve_loss(way, flow)
    }

    /// A circuit at work with `share` of the flows that its taps are taken to draw, its valve fully open.
    pub fn state(&self, way: &Way, sizes: &Sizes, share: f64) -> State {
        let behind = self.behind_valve(way, way.flow * share, sizes);
        let height = self.valve_height(way);
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
        State { outlets }
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
