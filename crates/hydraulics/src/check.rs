//! What stands against the sizes and pressures.

use crate::friction::{flow_at, velocity};
use crate::model::{Model, Sizes, worst};
use crate::piping::Way;
use crate::supply::flow_at_pressure;
use crate::{CircuitResult, Hydraulics, sizing};
use job::Finding;
use quantity::{Amount, Flow, Pressure};
use routes::LineKind;

pub(crate) fn findings(model: &Model, sizes: &Sizes, result: &Hydraulics) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, (way, circuit)) in model.piping.ways.iter().zip(&result.circuits).enumerate() {
        let checks = Checks {
            model,
            sizes,
            way,
            circuit,
        };
        findings.extend(checks.unconnected());
        findings.extend(checks.source());
        findings.extend(checks.pressure(i));
        findings.extend(checks.spread());
    }
    findings.extend(service(model));
    findings.extend(velocities(model, sizes));
    findings
}

/// The checks of one circuit.
struct Checks<'a> {
    model: &'a Model<'a>,
    sizes: &'a Sizes,
    way: &'a Way<'a>,
    circuit: &'a CircuitResult,
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

    fn source(&self) -> Option<Finding> {
        let source = &self.model.job.system.source;
        let flow = self.show(self.circuit.flow.amount());
        let most = flow_at_pressure(
            source.static_pressure,
            source.residual_pressure,
            source.test_flow,
            Pressure::ZERO,
        );
        if self.circuit.source_pressure <= Pressure::ZERO {
            let most = most.map_or_else(|| "nothing".to_owned(), |m| self.show(m.amount()));
            return Some(Finding::warning(
                "flow-above-source",
                self.circuit.circuit.as_str(),
                format!("it asks for {flow}; the source runs dry of pressure at {most}"),
                "split the circuit, or find a source that gives more",
            ));
        }
        (self.circuit.flow > source.test_flow).then(|| {
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
        // A pascal is less than any gauge shows.
        let lacking = left < wanted - Pressure::pa(1.0);
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
        let state = self.model.state(self.way, self.sizes, 1.0);
        let taps = self.way.taps.iter().zip(&state.outlets);
        taps.filter(|(tap, p)| p.is_some_and(|p| p < tap.outlet.pressure - Pressure::pa(1.0)))
            .count()
    }

    /// What would help: pipe does not, or it would have been made larger.
    fn mend_for_pressure(&self, index: usize) -> String {
        let largest = sizing::largest(self.model);
        let state = self.model.state(self.way, &largest, 1.0);
        let with_largest = worst(self.way, &state).map_or(Pressure::ZERO, |(_, p)| p);
        let pipe = format!(
            "the largest pipe everywhere would give {}",
            self.show(with_largest.max(Pressure::ZERO).amount())
        );
        match sizing::workable_share(self.model, index, self.sizes) {
            Some(share) if share > 0.05 => {
                let flow = self.way.flow * share;
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
        let reached = self.way.taps.iter().filter(|tap| tap.node.is_some());
        let needs = reached.map(|t| t.outlet.pressure).reduce(Pressure::min)?;
        let most = needs * rule.value.to_one();
        (self.circuit.spread > most).then(|| {
            Finding::warning(
                "pressure-spread",
                self.circuit.circuit.as_str(),
                format!(
                    "the pressures of its outlets lie {} apart; {} of the {} that they need is {}",
                    self.show(self.circuit.spread.amount()),
                    self.show(Amount::new(rule.value.to_one(), quantity::Style::Percent)),
                    self.show(needs.amount()),
                    self.show(most.amount()),
                ),
                "pressure-regulated heads, a valve nearer the middle, or the high and the low \
                 heads on circuits of their own",
            )
        })
    }
}

/// The given service pipe in front of the source's connection runs at the limit too.
fn service(model: &Model) -> Option<Finding> {
    let inside = sizing::given_service(model)?;
    let limit = model.job.practice.water.velocity_limit.value;
    let largest = model.piping.ways.iter().map(|w| w.flow);
    let flow = largest.reduce(Flow::max)?;
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
    let limit = model.job.practice.water.velocity_limit.value;
    let show = |amount: Amount| amount.show(model.job.units);
    let mut findings = Vec::new();
    for (i, section) in model.piping.sections.iter().enumerate() {
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
