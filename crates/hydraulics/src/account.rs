//! The working of every figure that this stage reports.

use crate::minor::Fitting;
use crate::model::{Model, Sizes};
use crate::piping::Way;
use crate::{CircuitResult, Hydraulics, OutletResult, Pipe, report};
use quantity::{Amount, Length, Style};
use routes::NodeId;
use std::collections::BTreeMap;
use working::{Ledger, Working};

const EPA: &str =
    "US EPA, EPA/600/R-00/057: Hazen–Williams in the set 4.727, 1.852, 4.871 (ft, ft³/s)";

pub(crate) fn put(model: &Model, sizes: &Sizes, result: &Hydraulics, ledger: &mut Ledger) {
    let mut account = Account {
        model,
        sizes,
        result,
        ledger,
    };
    for run in 0..result.pipes.len() {
        account.pipe(run);
    }
    for (way, circuit) in model.piping.ways.iter().zip(&result.circuits) {
        account.circuit(way, circuit);
    }
    account.outlets();
}

struct Account<'a, 'l> {
    model: &'a Model<'a>,
    sizes: &'a Sizes,
    result: &'a Hydraulics,
    ledger: &'l mut Ledger,
}

impl Account<'_, '_> {
    fn pipe_id(&self, run: usize, figure: &str) -> String {
        let pipe = &self.result.pipes[run];
        let line = self.model.network.lines[pipe.line].name.replace(' ', "-");
        format!("pipe.{}.{line}.{figure}", pipe.stretch)
    }

    fn figure(&self, run: usize, figure: &str) -> String {
        format!("figure {}", self.pipe_id(run, figure))
    }

    /// `pipe in S3 (lateral C1)`.
    fn pipe_name(&self, pipe: &Pipe) -> String {
        let line = &self.model.network.lines[pipe.line].name;
        format!("pipe in {} ({line})", pipe.stretch)
    }

    fn pipe(&mut self, run: usize) {
        let workings = [
            ("flow", self.flow(run)),
            ("velocity", self.velocity(run)),
            ("friction", self.friction(run)),
            ("minor", self.minor(run)),
            ("size", self.size(run)),
        ];
        for (figure, working) in workings {
            let id = self.pipe_id(run, figure);
            self.ledger.put(id, working);
        }
    }

    fn flow(&self, run: usize) -> Working {
        let pipe = &self.result.pipes[run];
        let circuits = self.model.piping.ways.iter();
        let mut working = Working::new(
            format!("Flow in the {}", self.pipe_name(pipe)),
            pipe.flow.amount(),
            "sum of what the outlets behind it need; in the main the largest of the circuits \
             behind it, each running alone",
            "arithmetic",
        );
        for way in circuits {
            if way.upstream.contains(&run) {
                let id = format!("circuit.{}.flow", way.circuit.id);
                working = working.with(&way.circuit.id, way.flow.amount(), format!("figure {id}"));
            } else if way.laterals.contains(&run) {
                for tap in &way.taps {
                    if self.model.piping.way_to(tap.run).contains(&run) {
                        let from = format!("job feature {}", tap.outlet.id);
                        working = working.with(&tap.outlet.id, tap.outlet.flow.amount(), from);
                    }
                }
            }
        }
        working
    }

    fn velocity(&self, run: usize) -> Working {
        let pipe = &self.result.pipes[run];
        Working::new(
            format!("Velocity in the {}", self.pipe_name(pipe)),
            pipe.velocity.amount(),
            "flow / (π × inside² / 4)",
            "arithmetic",
        )
        .with("flow", pipe.flow.amount(), self.figure(run, "flow"))
        .with("inside", pipe.inside.small(), self.dimension_origin(run))
    }

    fn dimension_origin(&self, run: usize) -> String {
        let size = self.model.size_of_run(run, self.sizes);
        let family = &self.result.pipes[run].family;
        format!("practice pipe.{family} {}: {}", size.name, size.source)
    }

    fn friction(&self, run: usize) -> Working {
        let pipe = &self.result.pipes[run];
        let this = &self.model.piping.runs[run];
        let family = self.model.piping.sections[this.section].family;
        let years = self.model.job.practice.pipe_age.years.value;
        let temperature = &self.model.job.practice.water.temperature;
        Working::new(
            format!("Loss by friction in the {}", self.pipe_name(pipe)),
            pipe.friction.amount(),
            "ρ × g × 4.727 × length × flow^1.852 / (C^1.852 × inside^4.871), head in ft and ft³/s",
            EPA,
        )
        .with(
            "length",
            this.length.amount(),
            format!("figure stretch.{}.length", pipe.stretch),
        )
        .with("flow", pipe.flow.amount(), self.figure(run, "flow"))
        .with("inside", pipe.inside.small(), self.dimension_origin(run))
        .with(
            "C",
            Amount::ratio(family.c_at(years).to_one()),
            family.c_origin(years),
        )
        .with(
            "water temperature, for ρ",
            temperature.value.amount(),
            temperature.origin(),
        )
        .approximately("length along the trench; slack and depth of the pipe are not counted")
    }

    fn minor(&self, run: usize) -> Working {
        let pipe = &self.result.pipes[run];
        let mut counts: BTreeMap<Fitting, usize> = BTreeMap::new();
        for fitting in self.model.fittings(run, self.sizes) {
            *counts.entry(fitting).or_default() += 1;
        }
        let mut working = Working::new(
            format!("Loss in the fittings of the {}", self.pipe_name(pipe)),
            pipe.minor.amount(),
            match counts.is_empty() {
                true => "no fittings in this pipe, so no loss in any",
                false => "sum of K × ρ × velocity² / 2",
            },
            "US EPA, EPA/600/R-00/057, minor losses",
        )
        .with(
            "velocity",
            pipe.velocity.amount(),
            self.figure(run, "velocity"),
        );
        for (fitting, count) in counts {
            let k = fitting.k(&self.model.job.practice.minor_loss);
            working = working
                .with(
                    format!("{}, how many", fitting.label()),
                    Amount::count(count),
                    "the turns and branches of the line",
                )
                .with(
                    format!("{}, K", fitting.label()),
                    Amount::ratio(k.value.to_one()),
                    k.origin(),
                );
        }
        working.approximately("risers and swing joints up to the heads are not counted")
    }

    fn size(&self, run: usize) -> Working {
        let pipe = &self.result.pipes[run];
        let limit = &self.model.job.practice.water.velocity_limit;
        Working::new(
            format!("Size of the {}", self.pipe_name(pipe)),
            pipe.size.as_str(),
            "the smallest that keeps the velocity and is not smaller than the pipe it feeds (nor, \
             for the service, than the given size), made larger where an outlet lacked pressure \
             and this pipe gained most for its price",
            "common practice",
        )
        .with(
            "family",
            pipe.family.as_str(),
            "job feature of the circuit or source",
        )
        .with("flow", pipe.flow.amount(), self.figure(run, "flow"))
        .with(
            "velocity",
            pipe.velocity.amount(),
            self.figure(run, "velocity"),
        )
        .with("velocity limit", limit.value.amount(), limit.origin())
        .approximately("good, not proven least in price")
    }

    fn circuit(&mut self, way: &Way, circuit: &CircuitResult) {
        let workings = [
            ("flow", self.circuit_flow(way, circuit)),
            ("source_pressure", self.source_pressure(circuit)),
            ("valve_pressure", self.valve_pressure(way, circuit)),
            ("worst_pressure", self.worst_pressure(way, circuit)),
            ("spread", self.spread(way, circuit)),
            ("fastest", self.fastest(way, circuit)),
        ];
        for (figure, working) in workings {
            self.ledger
                .put(format!("circuit.{}.{figure}", circuit.circuit), working);
        }
    }

    fn circuit_flow(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let working = Working::new(
            format!("Flow of circuit {}", circuit.circuit),
            circuit.flow.amount(),
            "sum of what its outlets need",
            "arithmetic",
        );
        way.taps.iter().fold(working, |working, tap| {
            let from = format!("job feature {}", tap.outlet.id);
            working.with(&tap.outlet.id, tap.outlet.flow.amount(), from)
        })
    }

    fn source_pressure(&self, circuit: &CircuitResult) -> Working {
        let source = &self.model.job.system.source;
        let from = format!("job feature {}", source.id);
        Working::new(
            format!(
                "Pressure at the source while circuit {} runs",
                circuit.circuit
            ),
            circuit.source_pressure.amount(),
            "static − (static − residual) × (flow / tested flow)^1.852",
            "exponent of Hazen–Williams through a static and a flowing test, as NFPA 291 does for \
             hydrants (from memory)",
        )
        .with("static", source.static_pressure.amount(), &from)
        .with("residual", source.residual_pressure.amount(), &from)
        .with("tested flow", source.test_flow.amount(), &from)
        .with(
            "flow",
            circuit.flow.amount(),
            format!("figure circuit.{}.flow", circuit.circuit),
        )
    }

    fn valve_pressure(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let backflow = &self.model.job.system.backflow;
        let from = match backflow.loss {
            Some(_) => format!("job feature {}", backflow.id),
            None => self.model.job.practice.water.backflow_loss.origin(),
        };
        let mut working = Working::new(
            format!(
                "Pressure at the inlet of the valve of circuit {}",
                circuit.circuit
            ),
            circuit.valve_pressure.amount(),
            "pressure at the source + ρ × g × (height of source − height of valve) − backflow \
             assembly − each pipe on the way at this circuit's flow − tee at the valve",
            EPA,
        )
        .with(
            "pressure at the source",
            circuit.source_pressure.amount(),
            format!("figure circuit.{}.source_pressure", circuit.circuit),
        )
        .with(
            "backflow assembly",
            self.model.backflow_loss().amount(),
            from,
        )
        .with(
            "height of source",
            head(self.model.piping.source_height),
            "the network's elevations",
        )
        .with(
            "height of valve",
            head(self.model.valve_height(way)),
            "the network's elevations",
        );
        for run in &way.upstream {
            let lost = self.model.loss(*run, way.flow, self.sizes).total();
            let name = self.pipe_name(&self.result.pipes[*run]);
            working = working.with(name, lost.amount(), self.figure(*run, "size"));
        }
        let tee = self.model.valve_tee_loss(way, way.flow, self.sizes);
        let k = &self.model.job.practice.minor_loss.tee_branch;
        working.with("tee at the valve", tee.amount(), k.origin())
    }

    fn worst_pressure(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let working = Working::new(
            format!(
                "Pressure at the outlet of circuit {} with least to spare",
                circuit.circuit
            ),
            circuit.worst_pressure.amount(),
            "the pressure of the outlet whose margin is least",
            "arithmetic",
        )
        .with(
            "outlet",
            circuit.worst_outlet.as_str(),
            format!("job feature {}", circuit.worst_outlet),
        );
        way.taps.iter().fold(working, |working, tap| {
            let id = &tap.outlet.id;
            let margin = self
                .outlet(id)
                .map_or(Amount::ratio(0.0), |o| (o.pressure - o.needs).amount());
            working.with(
                format!("margin of {id}"),
                margin,
                format!("figure head.{id}.margin"),
            )
        })
    }

    fn outlet(&self, id: &str) -> Option<&OutletResult> {
        self.result.outlets.iter().find(|o| o.outlet == id)
    }

    fn spread(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let working = Working::new(
            format!("Spread of pressure in circuit {}", circuit.circuit),
            circuit.spread.amount(),
            "highest less lowest pressure among its outlets",
            "arithmetic",
        );
        let rule = &self.model.job.practice.water.pressure_spread;
        let share = Amount::new(rule.value.to_one(), Style::Percent);
        let working = working.with("most, of the pressure they need", share, rule.origin());
        way.taps.iter().fold(working, |working, tap| {
            let id = &tap.outlet.id;
            match self.outlet(id) {
                Some(o) => working.with(
                    id,
                    o.pressure.amount(),
                    format!("figure head.{id}.pressure"),
                ),
                None => working,
            }
        })
    }

    fn fastest(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let limit = &self.model.job.practice.water.velocity_limit;
        let working = Working::new(
            format!("Fastest water of circuit {}", circuit.circuit),
            circuit.fastest.amount(),
            "the largest velocity in its laterals and in the main that feeds it, at its own flow",
            "arithmetic",
        )
        .with("limit", limit.value.amount(), limit.origin());
        match report::fastest(self.model, way, self.sizes) {
            Some((run, _)) => {
                let name = self.pipe_name(&self.result.pipes[run]);
                working.with("where", name, self.figure(run, "size"))
            }
            None => working,
        }
    }

    fn outlets(&mut self) {
        for way in &self.model.piping.ways {
            for tap in 0..way.taps.len() {
                let id = &way.taps[tap].outlet.id;
                let Some(outlet) = self.outlet(id) else {
                    continue;
                };
                let pressure = self.head_pressure(way, tap, outlet);
                let margin = head_margin(outlet);
                self.ledger.put(format!("head.{id}.pressure"), pressure);
                self.ledger.put(format!("head.{id}.margin"), margin);
            }
        }
    }

    fn head_pressure(&self, way: &Way, tap: usize, outlet: &OutletResult) -> Working {
        let circuit = &way.circuit.id;
        let working = Working::new(
            format!("Pressure at {}", outlet.outlet),
            outlet.pressure.amount(),
            "pressure at the valve − valve + ρ × g × (height of valve − height of outlet) − \
             friction and fittings of each pipe on the way",
            EPA,
        );
        let reached = way.taps[tap].node.zip(way.valve_node);
        let Some((node, valve)): Option<(NodeId, NodeId)> = reached else {
            return working.approximately("no pipe reaches it: nothing comes out");
        };
        let loss = &self.model.job.practice.water.valve_loss;
        let at_valve = self.result.circuits.iter().find(|c| c.circuit == *circuit);
        let mut working = working
            .with(
                "pressure at the valve",
                at_valve.map_or(Amount::ratio(0.0), |c| c.valve_pressure.amount()),
                format!("figure circuit.{circuit}.valve_pressure"),
            )
            .with("valve", loss.value.amount(), loss.origin())
            .with(
                "height of valve",
                head(self.model.height(valve)),
                "the network's elevations",
            )
            .with(
                "height of outlet",
                head(self.model.height(node)),
                "the network's elevations",
            );
        for run in self.model.piping.way_to(way.taps[tap].run) {
            let pipe = &self.result.pipes[run];
            working = working
                .with(
                    format!("friction, {}", self.pipe_name(pipe)),
                    pipe.friction.amount(),
                    self.figure(run, "friction"),
                )
                .with(
                    format!("fittings, {}", self.pipe_name(pipe)),
                    pipe.minor.amount(),
                    self.figure(run, "minor"),
                );
        }
        working.approximately("every outlet draws what it needs, whatever its pressure")
    }
}

fn head_margin(outlet: &OutletResult) -> Working {
    let id = &outlet.outlet;
    Working::new(
        format!("Pressure to spare at {id}"),
        (outlet.pressure - outlet.needs).amount(),
        "pressure − what it needs",
        "arithmetic",
    )
    .with(
        "pressure",
        outlet.pressure.amount(),
        format!("figure head.{id}.pressure"),
    )
    .with(
        "what it needs",
        outlet.needs.amount(),
        format!("job feature {id}"),
    )
}

fn head(height: Length) -> Amount {
    Amount::new(height.to_m(), Style::Head)
}
