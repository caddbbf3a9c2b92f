//! The working of every figure of closing valves.

use super::{Played, Strain, cycles_of_each, wave};
use crate::model::{Model, Sizes};
use crate::{Hydraulics, Pipe, derating};
use quantity::{Amount, Duration, Style};
use working::{Ledger, Working};

const METHOD: &str = "method of characteristics, Wylie and Streeter, Fluid Transients (from memory); wave speed after \
     AWWA M23 and the PPI handbook (from memory)";

pub(super) fn put(
    model: &Model,
    sizes: &Sizes,
    result: &Hydraulics,
    (played, strains): (&[Played], &[Strain]),
    ledger: &mut Ledger,
) {
    if ledger.is_closed() {
        return;
    }
    let account = Account {
        model,
        sizes,
        result,
    };
    for played in played {
        let id = |figure: &str| format!("circuit.{}.{figure}", played.closing.circuit);
        ledger.put(id("surge_critical"), account.critical(played));
        ledger.put(id("surge_at_once"), account.at_once(played));
        ledger.put(id("surge_gradual"), account.gradual(played));
        ledger.put(id("surge_rise"), account.rise(played));
        ledger.put(id("surge"), account.surge(played));
        ledger.put(id("surge_peak"), account.peak(played));
    }
    for strain in strains {
        let id = |figure: &str| account.pipe_id(strain.pipe, figure);
        ledger.put(id("rating"), account.rating(strain));
        ledger.put(id("peak"), account.pipe_peak(strain, played));
        if let Some(working) = account.life(strain, played) {
            ledger.put(id("life_used"), working);
        }
    }
    for circuit in &result.circuits {
        let id = format!("circuit.{}.surge", circuit.circuit);
        if ledger.get(&id).is_none() {
            let working = Working::new(
                format!("Surge when the valve of circuit {} closes", circuit.circuit),
                circuit.surge.amount(),
                "no pipe lies between source and valve, or nothing flows: no surge",
                "arithmetic",
            );
            ledger.put(id, working);
        }
    }
}

struct Account<'a> {
    model: &'a Model<'a>,
    sizes: &'a Sizes,
    result: &'a Hydraulics,
}

fn seconds(duration: Duration) -> Amount {
    Amount::new(duration.to_s(), Style::Seconds)
}

impl Account<'_> {
    fn pipe_id(&self, run: usize, figure: &str) -> String {
        self.result.pipes[run].figure_id(self.model.network, figure)
    }

    fn figure(&self, run: usize, figure: &str) -> String {
        format!("figure {}", self.pipe_id(run, figure))
    }

    fn pipe_name(&self, run: usize) -> String {
        let pipe: &Pipe = &self.result.pipes[run];
        let line = &self.model.network.lines[pipe.line].name;
        format!("pipe in {} ({line})", pipe.stretch)
    }

    fn dimensions(&self, run: usize) -> String {
        let size = self.model.size_of_run(run, self.sizes);
        let family = &self.result.pipes[run].family;
        format!("practice pipe.{family} {}: {}", size.name, size.source)
    }

    /// Wave speed and what it comes from.
    fn with_wave(&self, working: Working, run: usize) -> Working {
        let rules = &self.model.job.practice.water;
        let size = self.model.size_of_run(run, self.sizes);
        let section = self.model.piping.runs[run].section;
        let modulus = &self.model.piping.sections[section].family.modulus;
        working
            .with("outside", size.outside.small(), self.dimensions(run))
            .with("wall", size.wall().small(), self.dimensions(run))
            .with(
                "K of water",
                rules.bulk_modulus.value.amount(),
                rules.bulk_modulus.origin(),
            )
            .with("E of pipe", modulus.value.amount(), modulus.origin())
            .with(
                "wave speed a",
                wave(self.model, run, self.sizes).amount(),
                "4660 ft/s / √(1 + (K / E) × (outside / wall − 2))",
            )
    }

    fn critical(&self, played: &Played) -> Working {
        let mut working = Working::new(
            format!(
                "Time of the wave from the valve of circuit {} to the source and back",
                played.closing.circuit
            ),
            seconds(played.closing.critical),
            "2 × sum of length / wave speed",
            "any textbook of hydraulics (from memory)",
        );
        for run in &played.way.upstream {
            working = working.with(
                format!("wave speed, {}", self.pipe_name(*run)),
                wave(self.model, *run, self.sizes).amount(),
                self.figure(*run, "size"),
            );
        }
        working
    }

    fn at_once(&self, played: &Played) -> Working {
        let last = played.way.upstream.last().copied().unwrap_or(0);
        let working = Working::new(
            format!(
                "Rise if the valve of circuit {} closed at once",
                played.closing.circuit
            ),
            played.closing.at_once.amount(),
            "ρ × a × velocity in the pipe at the valve",
            "Joukowsky 1898; wave speed after AWWA M23 and the PPI handbook (from memory)",
        )
        .with("pipe", self.pipe_name(last), self.figure(last, "size"))
        .with(
            "velocity",
            self.model
                .velocity(last, played.way.flow, self.sizes)
                .amount(),
            "flow of the circuit in this pipe",
        );
        self.with_wave(working, last)
    }

    fn gradual(&self, played: &Played) -> Working {
        let closure = &self.model.job.practice.surge.closure;
        Working::new(
            format!(
                "Rise if the flow of circuit {} fell in proportion to time",
                played.closing.circuit
            ),
            played.closing.gradual.amount(),
            "2 × ρ × sum of length × velocity / closing time, not more than at once, and that if the \
             time is not above that of the wave",
            "Michaud 1878, for several bores as their sum (from memory)",
        )
        .with("closing time", seconds(closure.value), closure.origin())
        .with(
            "time of the wave",
            seconds(played.closing.critical),
            format!("figure circuit.{}.surge_critical", played.closing.circuit),
        )
        .with(
            "at once",
            played.closing.at_once.amount(),
            format!("figure circuit.{}.surge_at_once", played.closing.circuit),
        )
        .approximately(
            "a valve's flow does not fall in proportion to time, so the rise may be more than this",
        )
    }

    fn rise(&self, played: &Played) -> Working {
        let closure = &self.model.job.practice.surge.closure;
        let valve = &self.model.job.practice.water.valve_loss;
        let id = &played.closing.circuit;
        Working::new(
            format!("Rise of pressure at the valve of circuit {id} as it closes"),
            played.closing.rise.amount(),
            "the closing played through from source to valve: highest pressure less that at work",
            METHOD,
        )
        .with("closing time", seconds(closure.value), closure.origin())
        .with(
            "flow",
            played.way.flow.amount(),
            format!("figure circuit.{id}.flow"),
        )
        .with(
            "loss in the open valve",
            valve.value.amount(),
            valve.origin(),
        )
        .with(
            "time of the wave",
            seconds(played.closing.critical),
            format!("figure circuit.{id}.surge_critical"),
        )
        .approximately(APPROXIMATE)
    }

    fn surge(&self, played: &Played) -> Working {
        let id = &played.closing.circuit;
        let working = Working::new(
            format!("Surge when the valve of circuit {id} closes"),
            played
                .worst()
                .map_or(played.closing.rise, |w| w.highest - w.before)
                .amount(),
            "highest pressure − pressure at work before, in the pipe between source and valve whose \
             highest pressure comes nearest to its rating",
            METHOD,
        );
        let Some(worst) = played.worst() else {
            return working;
        };
        let working = working
            .with(
                "pipe",
                self.pipe_name(worst.run),
                self.figure(worst.run, "size"),
            )
            .with("pressure at work", worst.before.amount(), "steady flow")
            .with(
                "highest pressure",
                worst.highest.amount(),
                format!("figure circuit.{id}.surge_peak"),
            );
        self.with_wave(working, worst.run)
    }

    fn peak(&self, played: &Played) -> Working {
        let id = &played.closing.circuit;
        let closure = &self.model.job.practice.surge.closure;
        let formula = if played.closing.bound_only {
            "pressure at rest + ρ × a × velocity: the circuit has no pressure at its valve, so its \
             closing cannot be played through"
        } else {
            "the closing played through: the highest pressure in the pipe that comes nearest to its \
             rating, never less than at rest"
        };
        let Some(worst) = played.worst() else {
            return Working::new(id.clone(), played.closing.rise.amount(), formula, METHOD);
        };
        Working::new(
            format!("Highest pressure when the valve of circuit {id} closes"),
            worst.highest.amount(),
            formula,
            METHOD,
        )
        .with(
            "pipe",
            self.pipe_name(worst.run),
            self.figure(worst.run, "size"),
        )
        .with("closing time", seconds(closure.value), closure.origin())
        .with(
            "at rest",
            worst.at_rest.amount(),
            "static test and elevation",
        )
        .with(
            "rating",
            worst.rating.amount(),
            self.figure(worst.run, "rating"),
        )
        .approximately(APPROXIMATE)
    }

    fn rating(&self, strain: &Strain) -> Working {
        let rules = &self.model.job.practice.surge;
        let material = super::material(self.model, strain.pipe);
        let kept = derating::share(
            derating::rows(rules, material),
            rules.pipe_temperature.value,
        );
        let size = self.model.size_of_run(strain.pipe, self.sizes);
        Working::new(
            format!(
                "Rating of the {} as warm as it gets",
                self.pipe_name(strain.pipe)
            ),
            strain.rating.amount(),
            "rating at 23 °C × share kept at its temperature",
            "arithmetic",
        )
        .with(
            "rating at 23 °C",
            size.rating.amount(),
            self.dimensions(strain.pipe),
        )
        .with(
            "temperature",
            rules.pipe_temperature.value.amount(),
            rules.pipe_temperature.origin(),
        )
        .with(
            "share kept",
            Amount::new(kept.to_one(), Style::Percent),
            derating::origin(rules, material),
        )
    }

    fn pipe_peak(&self, strain: &Strain, played: &[Played]) -> Working {
        let mut working = Working::new(
            format!(
                "Highest pressure in the {} when valves close",
                self.pipe_name(strain.pipe)
            ),
            strain.peak.amount(),
            "the largest of the circuits whose water passes here, each closing played through",
            METHOD,
        );
        for played in played {
            let here = played.passed.iter().filter(|p| p.run == strain.pipe);
            for passed in here {
                working = working.with(
                    format!("circuit {}", played.closing.circuit),
                    passed.highest.amount(),
                    "its valve closing, in this pipe",
                );
            }
        }
        working.approximately(APPROXIMATE)
    }

    fn life(&self, strain: &Strain, played: &[Played]) -> Option<Working> {
        let used = strain.life_used?;
        let rules = &self.model.job.practice.surge;
        let size = self.model.size_of_run(strain.pipe, self.sizes);
        let circuits = played
            .iter()
            .filter(|p| p.passed.iter().any(|passed| passed.run == strain.pipe))
            .count();
        let working = Working::new(
            format!(
                "Share of the cycles that the {} stands used up in its life",
                self.pipe_name(strain.pipe)
            ),
            Amount::new(used.to_one(), Style::Percent),
            "sum over the circuits of cycles / (5.05e21 × stress^−4.906), stress = peak × (outside / \
             wall − 1) / 2 in psi; cycles = starts a day × 365 × years × factor",
            "Vinson 1981, in Moser, Buried Pipe Design, equation 4.17; cycles of several circuits \
             added up after Miner (from memory)",
        )
        .with(
            "largest peak",
            strain.peak.amount(),
            self.figure(strain.pipe, "peak"),
        )
        .with("outside", size.outside.small(), self.dimensions(strain.pipe))
        .with("wall", size.wall().small(), self.dimensions(strain.pipe))
        .with(
            "circuits",
            Amount::count(circuits),
            "those whose water passes here",
        )
        .with(
            "cycles of each",
            Amount::count(cycles_of_each(self.model) as usize),
            "starts a day × 365 × years × factor",
        );
        Some(
            [
                &rules.starts_per_day,
                &rules.life_years,
                &rules.cycle_factor,
            ]
            .iter()
            .fold(working, |working, value| {
                let name = value.path.rsplit('.').next().unwrap_or_default();
                working.with(
                    name.replace('_', " "),
                    Amount::ratio(value.value.to_one()),
                    value.origin(),
                )
            })
            .approximately("waves of circuits that do not pass here are not counted"),
        )
    }
}

const APPROXIMATE: &str = "friction as in steady flow; the valve's opening falls in proportion to time, and what lies behind \
     it is one resistance; no water goes back through the backflow assembly; branches of the main off \
     the way are left out";
