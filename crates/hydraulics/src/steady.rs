//! What really flows while a circuit runs: every outlet draws as its pressure lets it.
//!
//! The laterals are solved by the global gradient method (crate `flow`) for a pressure behind the
//! valve; that pressure follows from how the valve is set. Main and service are a single way while one
//! circuit runs, so what they leave at the valve is known for any flow.

use crate::friction::FLOW_EXPONENT;
use crate::model::{Model, Sizes};
use crate::piping::{Tap, Way};
use crate::sizing::NO_LACK;
use flow::{Fault, Law, Link, Node, Outlet, Power, Steady};
use job::practice::{Friction, ValveSetting};
use quantity::{Flow, Pressure};

/// A circuit at work.
#[derive(Debug, Clone)]
pub(crate) struct Running {
    /// Of each tap; nothing where the network does not reach it.
    pub flows: Vec<Flow>,
    /// At each tap; `None` where the network does not reach it.
    pub pressures: Vec<Option<Pressure>>,
    /// Behind the valve.
    pub behind_valve: Pressure,
    /// What the valve's flow control takes beyond the loss of the open valve.
    pub taken: Pressure,
    /// Rounds of the solver, all calls together, and the largest disagreement of heads along a pipe.
    pub rounds: usize,
    pub head_error: Pressure,
    /// Why there is no steady state, if there is none; flows are then those asked for.
    pub fault: Option<Fault>,
}

/// Pressures nearer than this are the same.
const SAME: Pressure = Pressure::pa(0.2);

/// Most solutions on the way to a pressure.
const MOST_STEPS: usize = 60;

/// A circuit at work with these sizes.
pub(crate) fn run(model: &Model, way: &Way, sizes: &Sizes) -> Running {
    let Some(lateral) = Lateral::new(model, way, sizes) else {
        return idle(way);
    };
    let mut tally = Tally::default();
    let found = match model.job.practice.water.valve_setting.value {
        ValveSetting::Set => lateral.set(&mut tally),
        ValveSetting::Open => lateral.open(&mut tally),
    };
    found.unwrap_or_else(|fault| Running {
        fault: Some(fault),
        ..asked(model, way, sizes)
    })
}

/// A circuit without water.
fn idle(way: &Way) -> Running {
    Running {
        flows: vec![Flow::ZERO; way.taps.len()],
        pressures: vec![None; way.taps.len()],
        behind_valve: Pressure::ZERO,
        taken: Pressure::ZERO,
        rounds: 0,
        head_error: Pressure::ZERO,
        fault: None,
    }
}

/// A circuit at the flows that are asked for.
fn asked(model: &Model, way: &Way, sizes: &Sizes) -> Running {
    Running {
        flows: way.taps.iter().map(|t| t.flow).collect(),
        pressures: model.state(way, sizes, 1.0).outlets,
        behind_valve: model.behind_valve(way, way.flow, sizes),
        ..idle(way)
    }
}

#[derive(Debug, Default)]
struct Tally {
    rounds: usize,
    worst: f64,
}

/// The pipes behind a valve, for the solver: heads in metres above the job's datum, flows in m³/s.
struct Lateral<'a, 'm> {
    model: &'a Model<'m>,
    way: &'a Way<'m>,
    sizes: &'a Sizes,
    network: flow::Network<Pipe>,
    /// The node of each tap.
    nodes: Vec<Option<usize>>,
}

/// A solution for a pressure behind the valve.
struct Solved {
    behind_valve: Pressure,
    flows: Vec<Flow>,
    pressures: Vec<Option<Pressure>>,
}

impl<'a, 'm> Lateral<'a, 'm> {
    fn new(model: &'a Model<'m>, way: &'a Way<'m>, sizes: &'a Sizes) -> Option<Self> {
        way.valve_node?;
        let free = |height: f64, outlet: Option<Outlet>| Node::Free {
            height,
            demand: 0.0,
            outlet,
        };
        let mut network = flow::Network {
            nodes: vec![Node::Held { head: 0.0 }],
            links: Vec::new(),
        };
        let start = way.laterals.start;
        for run in way.laterals.clone() {
            let this = &model.piping.runs[run];
            let height = model.height(this.branch.to).to_m();
            network.nodes.push(free(height, None));
            network.links.push(Link {
                from: this.feeder.map_or(0, |f| f - start + 1),
                to: run - start + 1,
                law: Pipe::of(model, run, sizes),
            });
        }
        let mut nodes = Vec::with_capacity(way.taps.len());
        for tap in &way.taps {
            let Some(place) = tap.node else {
                nodes.push(None);
                continue;
            };
            let height = model.height(place).to_m();
            let at = tap.run.map_or(0, |run| run - start + 1);
            let outlet = outlet(model, tap);
            match &mut network.nodes[at] {
                Node::Free { outlet: free, .. } if free.is_none() => {
                    *free = Some(outlet);
                    nodes.push(Some(at));
                }
                // At the valve itself, or a second outlet at one place.
                _ => {
                    network.nodes.push(free(height, Some(outlet)));
                    let last = network.nodes.len() - 1;
                    network.links.push(Link {
                        from: at,
                        to: last,
                        law: Pipe::JOINT,
                    });
                    nodes.push(Some(last));
                }
            }
        }
        Some(Self {
            model,
            way,
            sizes,
            network,
            nodes,
        })
    }

    fn solve(&self, behind_valve: Pressure, tally: &mut Tally) -> Result<Solved, Fault> {
        let water = self.model.water;
        let mut network = self.network.clone();
        let head = water.head_of(behind_valve) + self.model.valve_height(self.way);
        network.nodes[0] = Node::Held { head: head.to_m() };
        let steady: Steady = flow::solve(&network)?;
        tally.rounds += steady.rounds;
        tally.worst = tally.worst.max(steady.head_error);
        let pressure = |node: usize| {
            let Node::Free { height, .. } = network.nodes[node] else {
                return behind_valve;
            };
            water.pressure_of(quantity::Length::m(steady.heads[node] - height))
        };
        let drawn = |node: &Option<usize>| node.map_or(0.0, |n| steady.drawn[n]);
        Ok(Solved {
            behind_valve,
            flows: self.nodes.iter().map(|n| Flow::m3s(drawn(n))).collect(),
            pressures: self.nodes.iter().map(|n| n.map(pressure)).collect(),
        })
    }

    /// The least that an outlet has beyond its need.
    fn spare(&self, solved: &Solved) -> Option<Pressure> {
        let taps = self.way.taps.iter().zip(&solved.pressures);
        let spares = taps.filter_map(|(tap, p)| p.map(|p| p - tap.outlet.pressure));
        spares.reduce(Pressure::min)
    }

    /// The valve's flow control set so that the outlet with least to spare has what it needs; fully open
    /// where that is not to be had.
    fn set(&self, tally: &mut Tally) -> Result<Running, Fault> {
        let mut at = self.model.behind_valve(self.way, self.way.flow, self.sizes);
        let state = self.model.state(self.way, self.sizes, 1.0);
        let spare = crate::model::worst(self.way, &state);
        at -= spare.map_or(Pressure::ZERO, |(tap, p)| {
            p - self.way.taps[tap].outlet.pressure
        });
        let mut before: Option<(Pressure, Pressure)> = None;
        for _ in 0..MOST_STEPS {
            let solved = self.solve(at.max(Pressure::ZERO), tally)?;
            let Some(spare) = self.spare(&solved) else {
                return Ok(self.told(solved, Pressure::ZERO, tally));
            };
            if spare.to_pa().abs() <= SAME.to_pa() {
                let flow: Flow = solved.flows.iter().copied().sum();
                let left = self.model.behind_valve(self.way, flow, self.sizes) - at;
                if left < -NO_LACK {
                    return self.open(tally);
                }
                return Ok(self.told(solved, left.max(Pressure::ZERO), tally));
            }
            let last = at;
            at = match before {
                Some((earlier, then)) if (spare - then).to_pa().abs() > 1e-9 => {
                    at - spare * ((at - earlier) / (spare - then))
                }
                _ => at - spare,
            };
            before = Some((last, spare));
        }
        self.open(tally)
    }

    /// The valve fully open: behind it is what the source leaves at the flow that goes through.
    fn open(&self, tally: &mut Tally) -> Result<Running, Fault> {
        let gives = |flow: Flow| self.model.behind_valve(self.way, flow, self.sizes);
        let (mut low, mut high) = (Pressure::ZERO, gives(Flow::ZERO));
        if high <= Pressure::ZERO {
            return Ok(self.told(self.solve(Pressure::ZERO, tally)?, Pressure::ZERO, tally));
        }
        // What the source leaves falls while the pressure behind the valve rises: they meet once.
        let mut at = (low + high) * 0.5;
        let mut solved = self.solve(at, tally)?;
        for step in 0..MOST_STEPS {
            let left = gives(solved.flows.iter().copied().sum());
            let over = left - at;
            if over.to_pa().abs() <= SAME.to_pa() {
                break;
            }
            if over > Pressure::ZERO {
                low = at;
            } else {
                high = at;
            }
            // Half way between what was tried and what it leaves is near; halving always gets there.
            let near = (at + left) * 0.5;
            let inside = near > low && near < high && step % 3 != 2;
            at = if inside { near } else { (low + high) * 0.5 };
            solved = self.solve(at, tally)?;
        }
        Ok(self.told(solved, Pressure::ZERO, tally))
    }

    fn told(&self, solved: Solved, taken: Pressure, tally: &Tally) -> Running {
        let error = quantity::Length::m(tally.worst);
        Running {
            flows: solved.flows,
            pressures: solved.pressures,
            behind_valve: solved.behind_valve,
            taken,
            rounds: tally.rounds,
            head_error: self.model.water.pressure_of(error),
            fault: None,
        }
    }
}

/// k from the flow that an outlet gives at the pressure it needs.
fn outlet(model: &Model, tap: &Tap) -> Outlet {
    let practice = &model.job.practice.water.exponent.value;
    let exponent = tap.outlet.exponent.unwrap_or(*practice).to_one();
    let head = model.water.head_of(tap.outlet.pressure).to_m();
    Outlet {
        factor: tap.outlet.flow.to_m3s() / head.powf(exponent),
        exponent,
        regulated: tap.outlet.compensating.then_some(head),
    }
}

/// Head lost in a pipe and its fittings.
#[derive(Debug, Clone, Copy)]
enum Pipe {
    /// By a power of the flow.
    Power(Power),
    /// By Darcy–Weisbach.
    Darcy(Darcy),
}

#[derive(Debug, Clone, Copy)]
struct Darcy {
    length: quantity::Length,
    inside: quantity::Length,
    roughness: quantity::Length,
    water: crate::Water,
    /// Head at fittings, over the square of the flow.
    minor: f64,
}

impl Pipe {
    /// Next to nothing lost: between things at one place.
    const JOINT: Self = Self::Power(Power {
        resistance: 1e-3,
        exponent: 1.0,
        minor: 0.0,
    });

    fn of(model: &Model, run: usize, sizes: &Sizes) -> Self {
        let water = model.water;
        let unit = Flow::m3s(1.0);
        let head = |p: Pressure| water.head_of(p).to_m();
        let this = &model.piping.runs[run];
        let size = model.size_of_run(run, sizes);
        let at_unit = model.loss(run, unit, sizes);
        let minor = head(at_unit.minor);
        match model.job.practice.water.friction.value {
            Friction::HazenWilliams => Self::Power(Power {
                // A pipe without length still is a pipe to the solver.
                resistance: head(at_unit.friction).max(1e-6),
                exponent: FLOW_EXPONENT,
                minor,
            }),
            Friction::DarcyWeisbach => Self::Darcy(Darcy {
                length: this.length.max(quantity::Length::mm(0.001)),
                inside: size.inside,
                roughness: model.piping.sections[this.section].family.roughness.value,
                water,
                minor,
            }),
        }
    }
}

impl Darcy {
    fn loss(&self, flow: f64) -> f64 {
        let size = flow.abs();
        let friction = crate::friction::darcy_weisbach(
            self.length,
            Flow::m3s(size),
            self.inside,
            self.roughness,
            self.water,
        );
        (friction.to_m() + self.minor * size * size).copysign(flow)
    }
}

impl Law for Pipe {
    fn at(&self, flow: f64) -> (f64, f64) {
        match self {
            Self::Power(power) => power.at(flow),
            Self::Darcy(darcy) => {
                let step = (flow.abs() * 1e-4).max(1e-9);
                let rise = darcy.loss(flow + step) - darcy.loss(flow - step);
                (darcy.loss(flow), (rise / (2.0 * step)).max(0.0))
            }
        }
    }
}
