//! The workings of outlets.

use super::{Account, EPA, head};
use crate::OutletResult;
use crate::piping::{Tap, Way};
use quantity::Amount;
use routes::NodeId;
use working::Working;

impl Account<'_, '_> {
    pub(super) fn outlets(&mut self) {
        for way in &self.model.piping.ways {
            for tap in &way.taps {
                let id = &tap.outlet.id;
                let Some(outlet) = self.outlet(id) else {
                    continue;
                };
                let workings = [
                    ("pressure", self.head_pressure(way, tap, outlet)),
                    ("flow", self.head_flow(tap, outlet)),
                    ("margin", head_margin(outlet)),
                ];
                for (figure, working) in workings {
                    self.ledger.put(format!("head.{id}.{figure}"), working);
                }
            }
        }
    }

    pub(super) fn outlet(&self, id: &str) -> Option<&OutletResult> {
        self.result.outlets.iter().find(|o| o.outlet == id)
    }

    fn head_pressure(&self, way: &Way, tap: &Tap, outlet: &OutletResult) -> Working {
        let circuit = &way.circuit.id;
        let working = Working::new(
            format!("Pressure at {}", outlet.outlet),
            outlet.pressure.amount(),
            "pressure at the valve − open valve − its flow control + ρ × g × (height of valve − height \
             of outlet) − friction and fittings of each pipe on the way, at the flows that these \
             pressures make; solved by the global gradient method",
            EPA,
        );
        let reached = tap.node.zip(way.valve_node);
        let Some((node, valve)): Option<(NodeId, NodeId)> = reached else {
            return working.approximately("no pipe reaches it: nothing comes out");
        };
        let at_valve = self.result.circuits.iter().find(|c| c.circuit == *circuit);
        let mut working = working
            .with(
                "pressure at the valve",
                at_valve.map_or(Amount::ratio(0.0), |c| c.valve_pressure.amount()),
                format!("figure circuit.{circuit}.valve_pressure"),
            )
            .with(
                "open valve",
                self.model.valve_loss(way, way.flow).amount(),
                self.valve_origin(way),
            )
            .with(
                "flow control of the valve",
                at_valve.map_or(Amount::ratio(0.0), |c| c.taken.amount()),
                format!("figure circuit.{circuit}.taken"),
            )
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
        for run in self.model.piping.way_to(tap.run) {
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
        working
    }

    fn head_flow(&self, tap: &Tap, outlet: &OutletResult) -> Working {
        let practice = &self.model.job.practice.water.exponent;
        let from = format!("job feature {}", outlet.outlet);
        let (exponent, exponent_from) = match tap.outlet.exponent {
            Some(given) => (given, from.clone()),
            None => (practice.value, practice.origin()),
        };
        let words = match tap.outlet.compensating {
            true => {
                "flow needed × (pressure / pressure needed)^n below the pressure needed, the flow needed \
                 from there on: it compensates"
            }
            false => "flow needed × (pressure / pressure needed)^n",
        };
        Working::new(
            format!("Flow of {}", outlet.outlet),
            outlet.flow.amount(),
            words,
            "flow = k × pressure^n of a nozzle, k from the rated point",
        )
        .with("flow needed", tap.outlet.flow.amount(), &from)
        .with("pressure needed", tap.outlet.pressure.amount(), &from)
        .with(
            "pressure",
            outlet.pressure.amount(),
            format!("figure head.{}.pressure", outlet.outlet),
        )
        .with("n", Amount::ratio(exponent.to_one()), exponent_from)
    }
}

fn head_margin(outlet: &OutletResult) -> Working {
    let (id, circuit) = (&outlet.outlet, &outlet.circuit);
    let taken = outlet.margin - (outlet.pressure - outlet.needs);
    Working::new(
        format!("Pressure to spare at {id}"),
        outlet.margin.amount(),
        "pressure − what it needs + what the valve's flow control takes",
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
    .with(
        "flow control",
        taken.amount(),
        format!("figure circuit.{circuit}.taken"),
    )
}
