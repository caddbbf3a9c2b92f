//! The workings of pipes.

use super::{Account, EPA};
use crate::minor::Fitting;
use job::practice::Friction;
use quantity::Amount;
use std::collections::BTreeMap;
use working::Working;

impl Account<'_, '_> {
    pub(super) fn pipe(&mut self, run: usize) {
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
            "sum of what the outlets behind it draw; in the main the largest of what runs at a time \
             behind it",
            "arithmetic",
        );
        for way in circuits {
            if way.upstream.contains(&run) {
                let id = format!("circuit.{}.flow", way.circuit.id);
                working = working.with(&way.circuit.id, way.flow.amount(), format!("figure {id}"));
            } else if way.laterals.contains(&run) {
                for tap in &way.taps {
                    if self.model.piping.way_to(tap.run).contains(&run) {
                        let from = format!("figure head.{}.flow", tap.outlet.id);
                        working = working.with(&tap.outlet.id, tap.flow.amount(), from);
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

    pub(super) fn dimension_origin(&self, run: usize) -> String {
        let size = self.model.size_of_run(run, self.sizes);
        let family = &self.result.pipes[run].family;
        format!("practice pipe.{family} {}: {}", size.name, size.source)
    }

    fn friction(&self, run: usize) -> Working {
        let pipe = &self.result.pipes[run];
        let this = &self.model.piping.runs[run];
        let family = self.model.piping.sections[this.section].family;
        let temperature = &self.model.job.practice.water.temperature;
        let formula = &self.model.job.practice.water.friction;
        let (words, source) = match formula.value {
            Friction::HazenWilliams => (
                "ρ × g × 4.727 × length × flow^1.852 / (C^1.852 × inside^4.871), head in ft and ft³/s",
                EPA,
            ),
            Friction::DarcyWeisbach => (
                "ρ × f × length / inside × velocity² / 2; 1/√f = −2 log₁₀(roughness / (3.7 × inside) + \
                 2.51 / (Re × √f)), in laminar flow f = 64 / Re",
                "Darcy–Weisbach; Colebrook, J. ICE 11 (1939) 133 (from memory)",
            ),
        };
        let working = Working::new(
            format!("Loss by friction in the {}", self.pipe_name(pipe)),
            pipe.friction.amount(),
            words,
            source,
        )
        .with(
            "length",
            this.length.amount(),
            format!("figure stretch.{}.length", pipe.stretch),
        )
        .with("flow", pipe.flow.amount(), self.figure(run, "flow"))
        .with("inside", pipe.inside.small(), self.dimension_origin(run));
        let years = self.model.job.practice.pipe_age.years.value;
        let working = match formula.value {
            Friction::HazenWilliams => working.with(
                "C",
                Amount::ratio(family.c_at(years).to_one()),
                family.c_origin(years),
            ),
            Friction::DarcyWeisbach => working.with(
                "roughness",
                family.roughness.value.small(),
                family.roughness.origin(),
            ),
        };
        working
            .with(
                "water temperature, for ρ and viscosity",
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
        let section = self.model.piping.runs[run].section;
        let limit = self.model.velocity_limit(section);
        let proof = match self.result.sizing.is_proven() {
            true => "no sizes cost less for the flows that they lead to",
            false => "good, and how far from the least in price at most is told by sizing.bound",
        };
        Working::new(
            format!("Size of the {}", self.pipe_name(pipe)),
            pipe.size.as_str(),
            "of all sizes of all pipes that keep the velocity, rest and surge under the rating, the \
             order from large to small on the way, each outlet's pressure and the spread within a \
             circuit, those that cost least together",
            "exact by labels on trees: R. Bellman's principle of optimality (1957, from memory)",
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
        .with(
            "all pipe",
            self.result.sizing.cost.amount(),
            "figure sizing.cost",
        )
        .approximately(proof)
    }
}
