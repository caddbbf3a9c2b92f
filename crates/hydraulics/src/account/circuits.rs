//! The workings of circuits.

use super::{Account, EPA, head};
use crate::piping::Way;
use crate::{CircuitResult, report, supply};
use job::practice::ValveSetting;
use quantity::{Amount, Style};
use working::Working;

impl Account<'_, '_> {
    pub(super) fn circuit(&mut self, way: &Way, circuit: &CircuitResult) {
        let workings = [
            ("flow", self.circuit_flow(way, circuit)),
            ("source_pressure", self.source_pressure(circuit)),
            ("valve_pressure", self.valve_pressure(way, circuit)),
            ("taken", self.taken(way, circuit)),
            ("flow_spread", self.flow_spread(way, circuit)),
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
            "sum of what its outlets draw",
            "arithmetic",
        );
        way.taps.iter().fold(working, |working, tap| {
            let from = format!("figure head.{}.flow", tap.outlet.id);
            working.with(&tap.outlet.id, tap.flow.amount(), from)
        })
    }

    fn source_pressure(&self, circuit: &CircuitResult) -> Working {
        let source = &self.model.job.system.source;
        let from = format!("job feature {}", source.id);
        let flow = circuit.flow;
        let mut working = Working::new(
            format!(
                "Pressure at the source while circuit {} runs",
                circuit.circuit
            ),
            circuit.source_pressure.amount(),
            "static − (static − residual) × (flow / tested flow)^1.852, pump added, meter and filter \
             taken off, not more than a regulator lets through",
            "exponent of Hazen–Williams through a static and a flowing test, as NFPA 291 does for \
             hydrants (from memory)",
        )
        .with("static", source.static_pressure.amount(), &from)
        .with("residual", source.residual_pressure.amount(), &from)
        .with("tested flow", source.test_flow.amount(), &from)
        .with(
            "flow",
            flow.amount(),
            format!("figure circuit.{}.flow", circuit.circuit),
        );
        if let Some(curve) = &source.pump {
            working = working.with("pump", supply::pump(curve, flow).amount(), &from);
        }
        for (name, curve) in [
            ("meter", &source.meter_loss),
            ("filter", &source.filter_loss),
        ] {
            if let Some(curve) = curve {
                working = working.with(name, supply::loss(curve, flow).amount(), &from);
            }
        }
        match source.regulated {
            Some(most) => working.with("regulator", most.amount(), &from),
            None => working,
        }
    }

    fn valve_pressure(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let backflow = &self.model.job.system.backflow;
        let from = match &backflow.loss {
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
            self.model.backflow_loss(circuit.flow).amount(),
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

    fn taken(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let setting = &self.model.job.practice.water.valve_setting;
        let at_valve = circuit.valve_pressure;
        let open = self.model.valve_loss(way, circuit.flow);
        Working::new(
            format!("Taken by the flow control of the valve of circuit {}", circuit.circuit),
            circuit.taken.amount(),
            "pressure at the valve − loss of the open valve − what must be behind it so that the outlet \
             with least to spare has its pressure; nothing where the valve stays open",
            "arithmetic",
        )
        .with(
            "pressure at the valve",
            at_valve.amount(),
            format!("figure circuit.{}.valve_pressure", circuit.circuit),
        )
        .with("open valve", open.amount(), self.valve_origin(way))
        .with(
            "behind the valve",
            (at_valve - open - circuit.taken).amount(),
            "the flows of the circuit, solved",
        )
        .with(
            "valves are",
            match setting.value {
                ValveSetting::Set => "set",
                ValveSetting::Open => "open",
            },
            setting.origin(),
        )
    }

    pub(super) fn valve_origin(&self, way: &Way) -> String {
        match way.valve {
            Some(valve) if valve.loss.is_some() => format!("job feature {}", valve.id),
            _ => self.model.job.practice.water.valve_loss.origin(),
        }
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

    fn flow_spread(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let percent = |share: f64| Amount::new(share, Style::Percent);
        let rule = &self.model.job.practice.water.flow_spread;
        let working = Working::new(
            format!("Spread of flow in circuit {}", circuit.circuit),
            percent(circuit.flow_spread.to_one()),
            "largest less smallest of flow / flow needed among its outlets",
            "arithmetic",
        )
        .with("most", percent(rule.value.to_one()), rule.origin());
        way.taps.iter().fold(working, |working, tap| {
            let share = percent(tap.flow / tap.outlet.flow);
            working.with(
                &tap.outlet.id,
                share,
                format!("figure head.{}.flow", tap.outlet.id),
            )
        })
    }

    fn fastest(&self, way: &Way, circuit: &CircuitResult) -> Working {
        let limits = &self.model.job.practice.water.velocity;
        let working = Working::new(
            format!("Fastest water of circuit {}", circuit.circuit),
            circuit.fastest.amount(),
            "the largest velocity in its laterals and in the main that feeds it, at its own flow",
            "arithmetic",
        )
        .with(
            "limit in the main",
            limits.main.value.amount(),
            limits.main.origin(),
        )
        .with(
            "limit in laterals",
            limits.lateral.value.amount(),
            limits.lateral.origin(),
        );
        match report::fastest(self.model, way, self.sizes) {
            Some((run, _)) => {
                let name = self.pipe_name(&self.result.pipes[run]);
                working.with("where", name, self.figure(run, "size"))
            }
            None => working,
        }
    }
}
