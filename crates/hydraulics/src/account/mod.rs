//! The working of every figure that this stage reports.

mod circuits;
mod heads;
mod pipes;

use crate::model::{Model, Sizes};
use crate::{Hydraulics, Pipe};
use quantity::{Amount, Length, Style};
use working::{Ledger, Working};

const EPA: &str =
    "US EPA, EPA/600/R-00/057: Hazen–Williams in the set 4.727, 1.852, 4.871 (ft, ft³/s)";

/// `model` is taken at the flows that run.
pub(crate) fn put(model: &Model, sizes: &Sizes, result: &Hydraulics, ledger: &mut Ledger) {
    if ledger.is_closed() {
        return;
    }
    let mut account = Account {
        model,
        sizes,
        result,
        ledger,
    };
    account.sizing();
    account.together();
    for run in 0..result.pipes.len() {
        account.pipe(run);
    }
    for (way, circuit) in model.piping.ways.iter().zip(&result.circuits) {
        account.circuit(way, circuit);
    }
    account.outlets();
    account.altogether();
}

struct Account<'a, 'l> {
    model: &'a Model<'a>,
    sizes: &'a Sizes,
    result: &'a Hydraulics,
    ledger: &'l mut Ledger,
}

impl Account<'_, '_> {
    pub(super) fn pipe_id(&self, run: usize, figure: &str) -> String {
        self.result.pipes[run].figure_id(self.model.network, figure)
    }

    pub(super) fn figure(&self, run: usize, figure: &str) -> String {
        format!("figure {}", self.pipe_id(run, figure))
    }

    pub(super) fn pipe_name(&self, pipe: &Pipe) -> String {
        let line = &self.model.network.lines[pipe.line].name;
        format!("pipe in {} ({line})", pipe.stretch)
    }

    fn sizing(&mut self) {
        let sizing = &self.result.sizing;
        let book = "price book, pipe";
        let cost = Working::new(
            "Pipe of the chosen sizes",
            sizing.cost.amount(),
            "sum of length × price of the size; waste, slack and fittings left out",
            "arithmetic",
        )
        .with("pipes", Amount::count(self.result.pipes.len()), book);
        let bound = Working::new(
            "What the pipe costs at least",
            sizing.bound.amount(),
            "the least cost of sizes with the losses in the main taken at the best of the circuits behind \
             each pipe: no sizes that keep the rules cost less",
            "a relaxation; arithmetic",
        )
        .with("pipe of the chosen sizes", sizing.cost.amount(), "figure sizing.cost");
        let by_velocity = Working::new(
            "What the rule of velocity alone would buy",
            sizing.by_velocity.amount(),
            "sum of length × price of the smallest size that keeps the velocity, no pipe smaller than one \
             it feeds",
            "common practice",
        )
        .with(
            "outlets that would lack pressure",
            Amount::count(sizing.lacking_by_velocity),
            "pressures with those sizes at the same flows",
        )
        .with(
            "dearer or cheaper than the chosen",
            (sizing.by_velocity - sizing.cost).amount(),
            "figure sizing.cost",
        );
        self.ledger.put("sizing.cost", cost);
        self.ledger.put("sizing.bound", bound);
        self.ledger.put("sizing.by_velocity", by_velocity);
    }

    /// What is told of all pipes and of all outlets.
    fn altogether(&mut self) {
        let pipes = Working::new(
            "Length of all pipe",
            self.result.pipe_length(self.model.network).amount(),
            "sum of the stretches' lengths, each as often as pipes lie in it; slack and waste left out",
            "arithmetic",
        )
        .with("pipes", Amount::count(self.result.pipes.len()), "stage hydraulics");
        self.ledger.put("pipes.length", pipes);
        let Some(least) = self.result.least_to_spare() else {
            return;
        };
        let id = &least.outlet;
        let spare = Working::new(
            "Pressure to spare at the head with least",
            least.margin.amount(),
            "the least of what the heads have to spare",
            "arithmetic",
        )
        .with(
            "heads",
            Amount::count(self.result.outlets.len()),
            "job file",
        )
        .with(
            format!("to spare at {id}"),
            least.margin.amount(),
            format!("figure head.{id}.margin"),
        );
        self.ledger.put("heads.least_to_spare", spare);
    }

    fn together(&mut self) {
        for pair in &self.result.together {
            for (i, spare) in pair.spare.iter().enumerate() {
                let (one, other) = (&pair.circuits[i], &pair.circuits[1 - i]);
                let working = Working::new(
                    format!("To spare behind the valve of circuit {one} while {other} runs too"),
                    spare.amount(),
                    "pressure behind its open valve, shared pipes at both flows − what it needs there",
                    EPA,
                )
                .with("both draw", pair.flow.amount(), "sum of both circuits' flows")
                .with("pressure at the source", pair.source_pressure.amount(), "its curve at that flow");
                self.ledger
                    .put(format!("together.{one}.{other}.spare"), working);
            }
        }
    }
}

pub(super) fn head(height: Length) -> Amount {
    Amount::new(height.to_m(), Style::Head)
}
