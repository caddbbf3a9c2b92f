//! What stands against the sizes and pressures.

use crate::friction::{flow_at, velocity};
use crate::model::{Model, Sizes, worst};
use crate::piping::Way;
use crate::sizing::NO_LACK;
use crate::steady::Running;
use crate::supply::most_flow;
use crate::{CircuitResult, Hydraulics, sizing};
use job::Finding;
use quantity::{Amount, Flow, Length, Pressure};
use routes::LineKind;
use std::collections::BTreeSet;

/// `model` is taken at the flows that run, `asked` at those that the outlets need.
pub(crate) fn findings(
    model: &Model,
    asked: &Model,
    sizes: &Sizes,
    running: &[Running],
    result: &Hydraulics,
) -> Vec<Finding> {
    let mut findings = lines(model);
    let circuits = result.circuits.iter().zip(running);
    for (i, (way, (circuit, running))) in model.piping.ways.iter().zip(circuits).enumerate() {
        let checks = Checks {
            model,
            asked,
            sizes,
            way,
            circuit,
            running,
        };
        findings.extend(checks.settled());
        findings.extend(checks.unconnected());
        findings.extend(checks.source());
        findings.extend(checks.pressure(i));
        findings.extend(checks.spread().or_else(|| checks.flow_spread()));
    }
    findings.extend(together(model, result));
    findings.extend(service(model));
    findings.extend(velocities(model, sizes));
    findings
}

/// The checks of one circuit.
struct Checks<'a> {
    model: &'a Model<'a>,
    asked: &'a Model<'a>,
    sizes: &'a Sizes,
    way: &'a Way<'a>,
    circuit: &'a CircuitResult,
    running: &'a Running,
}

impl Checks<'_> {
    fn show(&self, amount: Amount) -> String {
        amount.show(self.model.job.units)
    }

    fn unconnected(&self) -> Vec<Finding> {
        let what = match (self.way.valve, self.way.valve_node) {
            (None, _) => "the circuit has no valve".to_owned(),
            (Some(valve), None) => format!("no pipe reaches its valve {}", valve.id),
            (Some(_), Some(_)) => return self.unreached_outlets(),
        };
        vec![Finding::warning(
            "circuit-not-connected",
            self.circuit.circuit.as_str(),
            what,
            "give it a valve at a place that trenches can reach; its heads are without water in \
             this plan",
        )]
    }

    fn unreached_outlets(&self) -> Vec<Finding> {
        let unreached = self.way.taps.iter().filter(|tap| tap.node.is_none());
        unreached
            .map(|tap| {
                Finding::warning(
                    "outlet-not-connected",
                    tap.outlet.id.as_str(),
                    format!("no pipe of circuit {} reaches it", self.circuit.circuit),
                    "move it to where trenches can reach it",
                )
            })
            .collect()
    }

    fn settled(&self) -> Option<Finding> {
        let fault = self.running.fault?;
        Some(Finding::warning(
            "flow-not-settled",
            self.circuit.circuit.as_str(),
            format!("its flows could not be worked out: {fault}; those that it needs are shown"),
            "look at its heads and pipes for figures out of the ordinary, such as a head that needs \
             next to no pressure",
        ))
    }

    fn source(&self) -> Option<Finding> {
        let source = &self.model.job.system.source;
        let flow = self.show(self.circuit.asked.amount());
        let most = most_flow(source, Pressure::ZERO);
        if self.model.source(self.circuit.asked) <= Pressure::ZERO {
            let most = most.map_or_else(|| "nothing".to_owned(), |m| self.show(m.amount()));
            return Some(Finding::warning(
                "flow-above-source",
                self.circuit.circuit.as_str(),
                format!("it asks for {flow}; the source runs dry of pressure at {most}"),
                "split the circuit, or find a source that gives more",
            ));
        }
        (self.circuit.asked > source.test_flow).then(|| {
            Finding::caution(
                "flow-above-test",
                self.circuit.circuit.as_str(),
                format!(
                    "it asks for {flow}, the flowing test went to {}: the pressure at the source \
                     is an extrapolation",
                    self.show(source.test_flow.amount()),
                ),
                format!("test the source at {flow} or more, or split the circuit"),
            )
        })
    }

    fn pressure(&self, index: usize) -> Option<Finding> {
        let (left, wanted) = (self.circuit.worst_pressure, self.circuit.worst_needs);
        let lacking = left < wanted - NO_LACK;
        (lacking && !self.circuit.worst_outlet.is_empty()).then(|| {
            let lacking = self.lacking();
            let others = match lacking {
                0 | 1 => String::new(),
                n => format!(" ({n} outlets of the circuit lack pressure)"),
            };
            Finding::warning(
                "pressure-missing",
                self.circuit.worst_outlet.as_str(),
                format!(
                    "circuit {}: {} left, {} wanted{others}",
                    self.circuit.circuit,
                    self.show(left.max(Pressure::ZERO).amount()),
                    self.show(wanted.amount()),
                ),
                self.mend_for_pressure(index),
            )
        })
    }

    fn lacking(&self) -> usize {
        let taps = self.way.taps.iter().zip(&self.running.pressures);
        taps.filter(|(tap, p)| p.is_some_and(|p| p < tap.outlet.pressure - NO_LACK))
            .count()
    }

    /// What would help: pipe does not, or it would have been made larger.
    fn mend_for_pressure(&self, index: usize) -> String {
        let way = &self.asked.piping.ways[index];
        let largest = sizing::largest(self.asked);
        let state = self.asked.state(way, &largest, 1.0);
        let with_largest = worst(way, &state).map_or(Pressure::ZERO, |(_, p)| p);
        let pipe = format!(
            "the largest pipe everywhere would give {}",
            self.show(with_largest.max(Pressure::ZERO).amount())
        );
        match sizing::workable_share(self.asked, index, self.sizes) {
            Some(share) if share > 0.05 => {
                let flow = way.flow * share;
                format!(
                    "split the circuit: with {} or less at a time every outlet has its pressure; \
                     {pipe}",
                    self.show(flow.amount())
                )
            }
            _ => {
                let lack = self.circuit.worst_needs - with_largest;
                format!(
                    "a booster pump of at least {}, or heads that need less; {pipe}",
                    self.show(lack.max(Pressure::ZERO).amount())
                )
            }
        }
    }

    fn spread(&self) -> Option<Finding> {
        let rule = &self.model.job.practice.water.pressure_spread;
        let held = || {
            let taps = self.way.taps.iter().zip(&self.running.pressures);
            taps.filter_map(|(t, p)| p.filter(|_| !t.outlet.compensating).map(|p| (t, p)))
        };
        let needs = held()
            .map(|(t, _)| t.outlet.pressure)
            .reduce(Pressure::min)?;
        let spares = || held().map(|(t, p)| p - t.outlet.pressure);
        let spread = spares().reduce(Pressure::max)? - spares().reduce(Pressure::min)?;
        let most = needs * rule.value.to_one();
        (spread > most + NO_LACK).then(|| {
            Finding::warning(
                "pressure-spread",
                self.circuit.circuit.as_str(),
                format!(
                    "what its outlets have beyond their need lies {} apart; {} of the {} that they need \
                     is {}",
                    self.show(spread.amount()),
                    self.show(Amount::new(rule.value.to_one(), quantity::Style::Percent)),
                    self.show(needs.amount()),
                    self.show(most.amount()),
                ),
                "pressure-regulated heads, a valve nearer the middle, or the high and the low \
                 heads on circuits of their own",
            )
        })
    }

    fn flow_spread(&self) -> Option<Finding> {
        let rule = &self.model.job.practice.water.flow_spread;
        let spread = self.circuit.flow_spread.to_one();
        let percent = |share: f64| self.show(Amount::new(share, quantity::Style::Percent));
        (spread > rule.value.to_one() + 1e-6).then(|| {
            Finding::warning(
                "flow-spread",
                self.circuit.circuit.as_str(),
                format!(
                    "of the flow that each needs, its outlets draw shares that lie {} apart; {} may be",
                    percent(spread),
                    percent(rule.value.to_one()),
                ),
                "pressure-regulated heads, a valve nearer the middle, or the high and the low heads on \
                 circuits of their own",
            )
        })
    }
}

/// What is wrong with the lines themselves.
fn lines(model: &Model) -> Vec<Finding> {
    let mut findings = Vec::new();
    for line in &model.network.lines {
        if matches!(line.kind, LineKind::Wire | LineKind::Cable(_)) {
            continue;
        }
        let mut reached = BTreeSet::from([line.root]);
        for branch in &line.branches {
            let subject = format!("{} {}", branch.stretch, line.name);
            if !reached.insert(branch.to) {
                findings.push(Finding::warning(
                    "loop-in-line",
                    subject.as_str(),
                    "this pipe closes a loop, and sizes are worked out for trees; it is left out of the \
                     pressures",
                    "take one of the fixed trenches out that make the loop",
                ));
            }
            if model.network.stretch(branch.stretch).length <= Length::ZERO {
                findings.push(Finding::warning(
                    "pipe-without-length",
                    subject,
                    "this pipe has no length, so it loses no pressure and costs nothing",
                    "set the two things that it joins apart, or make them one",
                ));
            }
        }
    }
    findings
}

/// Pairs that lack pressure while both run.
fn together(model: &Model, result: &Hydraulics) -> Vec<Finding> {
    let show = |amount: Amount| amount.show(model.job.units);
    let mut findings = Vec::new();
    for pair in &result.together {
        for (i, spare) in pair.spare.iter().enumerate() {
            if *spare < Pressure::ZERO - NO_LACK {
                let (one, other) = (&pair.circuits[i], &pair.circuits[1 - i]);
                findings.push(Finding::warning(
                    "together-lacking",
                    one.as_str(),
                    format!(
                        "while {other} runs too, {} are missing behind its valve: both draw {}",
                        show((Pressure::ZERO - *spare).amount()),
                        show(pair.flow.amount()),
                    ),
                    "let them run one after the other, or find a source that gives more",
                ));
            }
        }
    }
    findings
}

/// The given service pipe in front of the source's connection runs at the limit too.
fn service(model: &Model) -> Option<Finding> {
    let inside = sizing::given_service(model)?;
    let limit = model.job.practice.water.velocity.service.value;
    let ways = &model.piping.ways;
    let pairs = model
        .piping
        .pairs
        .iter()
        .map(|(a, b)| ways[*a].flow + ways[*b].flow);
    let flow = ways.iter().map(|w| w.flow).chain(pairs).reduce(Flow::max)?;
    let fast = velocity(flow, inside);
    let show = |amount: Amount| amount.show(model.job.units);
    (fast > limit).then(|| {
        let source = &model.job.system.source;
        Finding::warning(
            "service-velocity",
            source.id.as_str(),
            format!(
                "{} runs at {} in the {} service; the limit is {}",
                show(flow.amount()),
                show(fast.amount()),
                source.service_size,
                show(limit.amount()),
            ),
            format!(
                "not more than {} at a time, or a larger service",
                show(flow_at(limit, inside).amount())
            ),
        )
    })
}

/// Sections in which even the largest size runs too fast.
fn velocities(model: &Model, sizes: &Sizes) -> Vec<Finding> {
    let show = |amount: Amount| amount.show(model.job.units);
    let mut findings = Vec::new();
    for (i, section) in model.piping.sections.iter().enumerate() {
        let limit = model.velocity_limit(i).value;
        let size = model.size_of(i, sizes);
        let fast = velocity(section.flow, size.inside);
        let (true, Some(first)) = (fast > limit, section.runs.first()) else {
            continue;
        };
        let line = &model.network.lines[section.line];
        let stretch = model.piping.runs[*first].branch.stretch;
        let mend = if matches!(line.kind, LineKind::Lateral(_)) {
            "split the circuit so that"
        } else {
            "make the circuits smaller so that"
        };
        findings.push(Finding::warning(
            "velocity-over-limit",
            format!("{stretch} {}", line.name),
            format!(
                "{} runs at {} even in {}, the largest {}; the limit is {}",
                show(section.flow.amount()),
                show(fast.amount()),
                size.name,
                section.family.label,
                show(limit.amount()),
            ),
            format!(
                "{mend} not more than {} goes through it, or choose a pipe family with larger \
                 sizes",
                show(flow_at(limit, size.inside).amount()),
            ),
        ));
    }
    findings
}
