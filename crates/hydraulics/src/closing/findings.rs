//! What stands against closing valves, with the numbers that would pass.

use super::{Passed, Played, Strain, close, cycles_of_each, material};
use crate::derating;
use crate::model::{Model, Sizes};
use crate::recurring::{cycles_to_failure, hoop_stress, stress_for};
use crate::surge::dimension_ratio;
use job::Finding;
use job::practice::PipeMaterial;
use quantity::{Amount, Duration, Flow, Pressure, Style};

/// The slowest closing that is tried, s.
const SLOWEST: f64 = 60.0;

/// Halvings of a time or a flow: finer than either can be set.
const HALVINGS: usize = 10;

pub(super) fn findings(
    model: &Model,
    sizes: &Sizes,
    played: &[Played],
    strains: &[Strain],
) -> Vec<Finding> {
    let finder = Finder { model, sizes };
    let mut findings = Vec::new();
    findings.extend(played.iter().filter_map(|p| finder.over_rating(p)));
    findings.extend(finder.worn_out(played, strains));
    findings.extend(played.iter().filter_map(|p| finder.parted(p)));
    findings.extend(finder.too_warm(strains));
    findings
}

struct Finder<'a> {
    model: &'a Model<'a>,
    sizes: &'a Sizes,
}

impl Finder<'_> {
    fn show(&self, amount: Amount) -> String {
        amount.show(self.model.job.units)
    }

    fn seconds(&self, duration: Duration) -> String {
        self.show(Amount::new(duration.to_s(), Style::Seconds))
    }

    fn subject(&self, run: usize) -> String {
        let this = &self.model.piping.runs[run];
        let line = &self.model.network.lines[this.line].name;
        format!("{} {line}", this.branch.stretch)
    }

    fn rated(&self, passed: &Passed) -> String {
        let size = &self.model.size_of_run(passed.run, self.sizes).name;
        let rules = &self.model.job.practice.surge;
        format!(
            "{size} is rated for {} at {}",
            self.show(passed.rating.amount()),
            self.show(rules.pipe_temperature.value.amount()),
        )
    }

    fn over_rating(&self, played: &Played) -> Option<Finding> {
        let worst = played.worst()?;
        if worst.highest <= worst.rating {
            return None;
        }
        let (what, mend) = if worst.at_rest < worst.rating {
            (
                format!(
                    "when the valve of circuit {} closes in {}, {} at work become {}; {}",
                    played.closing.circuit,
                    self.seconds(played.closing.closure),
                    self.show(worst.before.amount()),
                    self.show(worst.highest.amount()),
                    self.rated(worst),
                ),
                self.mend(played, |passed| passed.rating),
            )
        } else {
            (
                format!(
                    "the {} at rest alone is not below what the pipe bears: {}",
                    self.show(worst.at_rest.amount()),
                    self.rated(worst),
                ),
                "a pressure regulator in front of it, or pipe of a higher rating".to_owned(),
            )
        };
        let subject = self.subject(worst.run);
        Some(Finding::warning("surge-over-rating", subject, what, mend))
    }

    /// What would bring each pipe on the way below its limit.
    fn mend(&self, played: &Played, limit: impl Fn(&Passed) -> Pressure) -> String {
        let limits: Vec<f64> = played
            .passed
            .iter()
            .map(|p| self.model.water.head_of(limit(p)).to_m())
            .collect();
        let passes = |flow: Flow, closure: Duration| {
            close(&played.closed.line, flow, closure)
                .is_none_or(|o| o.highest.iter().zip(&limits).all(|(most, may)| most <= may))
        };
        let mut ways = Vec::new();
        let flow = played.way.flow;
        if let Some(slow) = slow_enough(played.closing.closure, |t| passes(flow, t)) {
            ways.push(format!(
                "a valve that closes in not less than {}",
                self.seconds(slow)
            ));
        }
        let share = small_enough(|share| passes(flow * share, played.closing.closure));
        if share > 0.0 {
            let most = self.show((flow * share).amount());
            ways.push(format!("not more than {most} at a time"));
        }
        ways.push("a larger main, or pipe of a higher rating".to_owned());
        ways.join("; ")
    }

    /// PVC that does not stand its closings.
    fn worn_out(&self, played: &[Played], strains: &[Strain]) -> Option<Finding> {
        let used = |s: &&Strain| s.life_used.map_or(0.0, |u| u.to_one());
        let worst = strains.iter().max_by(|a, b| used(a).total_cmp(&used(b)))?;
        if used(&worst) <= 1.0 {
            return None;
        }
        let through = |p: &&Played| p.passed.iter().any(|passed| passed.run == worst.pipe);
        let circuits = played.iter().filter(through).count();
        let by = played.iter().find(|p| p.closing.circuit == worst.circuit)?;
        let rules = &self.model.job.practice.surge;
        let size = self.model.size_of_run(worst.pipe, self.sizes);
        let ratio = dimension_ratio(size.outside, size.inside);
        let cycles = cycles_of_each(self.model) * circuits as f64;
        let may = |run: usize| {
            let size = self.model.size_of_run(run, self.sizes);
            let ratio = dimension_ratio(size.outside, size.inside);
            Pressure::pa(stress_for(cycles).to_pa() / hoop_stress(Pressure::pa(1.0), ratio).to_pa())
        };
        let stands = cycles_to_failure(hoop_stress(worst.peak, ratio));
        let what = format!(
            "{} closings a day of each of {circuits} circuits, for {} years and with a factor of {}, \
             are {cycles:.0} cycles; at peaks of {} {} stands {stands:.0} of them",
            rules.starts_per_day.value.to_one(),
            rules.life_years.value.to_one(),
            rules.cycle_factor.value.to_one(),
            self.show(worst.peak.amount()),
            size.name,
        );
        let is_pvc = |run: usize| material(self.model, run) == PipeMaterial::Pvc;
        let unlimited = Pressure::pa(f64::MAX);
        let limit = |p: &Passed| if is_pvc(p.run) { may(p.run) } else { unlimited };
        let at_rest = by.passed.iter().any(|p| p.at_rest >= limit(p));
        let most = self.show(may(worst.pipe).amount());
        let mend = if at_rest {
            format!(
                "peaks of not more than {most}: a pressure regulator, or pipe of a thicker wall"
            )
        } else {
            format!("peaks of not more than {most}: {}", self.mend(by, limit))
        };
        let subject = self.subject(worst.pipe);
        Some(Finding::warning("surge-recurring", subject, what, mend))
    }

    /// Water that parts: what comes when it meets again is not in the figures.
    fn parted(&self, played: &Played) -> Option<Finding> {
        let vapour = Pressure::pa(VAPOUR_PA - AIR_PA);
        (!played.closing.bound_only && played.closing.lowest < vapour).then(|| {
            Finding::caution(
                "surge-parts-water",
                played.closing.circuit.as_str(),
                format!(
                    "when its valve closes in {}, the pressure in the main falls to that of vapour: \
                     the water parts, and makes a blow as it meets again that is not reckoned here",
                    self.seconds(played.closing.closure),
                ),
                "a valve that closes slower, a larger main, or less flow",
            )
        })
    }

    /// A temperature for which the table of a material has no row.
    fn too_warm(&self, strains: &[Strain]) -> Option<Finding> {
        let rules = &self.model.job.practice.surge;
        let temperature = rules.pipe_temperature.value;
        let of = |s: &&Strain| {
            derating::is_beyond(
                derating::rows(rules, material(self.model, s.pipe)),
                temperature,
            )
        };
        let pipe = strains.iter().find(of)?.pipe;
        let material = material(self.model, pipe);
        Some(Finding::warning(
            "pipe-too-warm",
            "practice surge.pipe_temperature",
            format!(
                "at {} there is no rating of {}",
                self.show(temperature.amount()),
                material.label(),
            ),
            "pipe of another material where it gets so warm",
        ))
    }
}

/// Pressure of water's vapour at 20 °C, and of the air at sea level, Pa.
///
/// Source: IAPWS-95 and the standard atmosphere; from memory.
const VAPOUR_PA: f64 = 2_339.0;
const AIR_PA: f64 = 101_325.0;

/// The shortest time that passes, to a tenth of a second above; nothing if none does.
fn slow_enough(closure: Duration, passes: impl Fn(Duration) -> bool) -> Option<Duration> {
    let (mut short, mut long) = (closure.to_s(), closure.to_s().max(0.25) * 2.0);
    while !passes(Duration::s(long)) {
        short = long;
        long *= 2.0;
        if long > SLOWEST {
            return None;
        }
    }
    for _ in 0..HALVINGS {
        let middle = (short + long) / 2.0;
        if passes(Duration::s(middle)) {
            long = middle;
        } else {
            short = middle;
        }
    }
    Some(Duration::s((long * 10.0).ceil() / 10.0))
}

/// The largest share of the flow that passes; 0 if none does.
fn small_enough(passes: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = (low + high) / 2.0;
        if passes(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}
