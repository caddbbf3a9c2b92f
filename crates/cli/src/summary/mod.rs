//! The summary of a plan: what a contractor reads before anything is ordered or dug.

mod circuits;
mod days;
mod goods;
mod grouping;
mod methods;
mod money;
mod risk;
mod staking;
mod stretches;
mod totals;
mod water;
pub mod words;

use crate::findings;
use job::{Finding, Job, Severity};
use plan::Plan;
use quantity::{Amount, Style, Units};

/// What every part is written from.
#[derive(Clone, Copy)]
struct Report<'a> {
    job: &'a Job,
    plan: &'a Plan,
    units: Units,
}

impl Report<'_> {
    fn show(&self, amount: Amount) -> String {
        amount.show(self.units)
    }

    /// A number for a table whose head names the unit.
    fn number(&self, amount: Amount) -> String {
        amount.parts(self.units).0
    }

    /// The unit for a table's head.
    fn unit(&self, style: Style) -> &'static str {
        Amount::new(0.0, style).parts(self.units).1
    }

    /// Money with the currency's code.
    fn money(&self, money: quantity::Money) -> String {
        format!("{money} {}", self.plan.price.currency)
    }
}

/// The whole summary; `of_job` are the findings of reading the job.
pub fn text(job: &Job, plan: &Plan, of_job: &[Finding], units: Units) -> String {
    let report = Report { job, plan, units };
    let mut found: Vec<Finding> = of_job.iter().chain(&plan.findings).cloned().collect();
    found.sort();
    found.dedup();
    let (cautions, pressing): (Vec<Finding>, Vec<Finding>) = found
        .into_iter()
        .partition(|finding| finding.severity == Severity::Caution);
    let parts = [
        totals::text(&report),
        section("Wants a decision", findings::list(&pressing)),
        section("Circuits proposed", grouping::text(&report)),
        section(
            "Circuits",
            circuits::text(&report) + &water::sizing(&report),
        ),
        section("Together", water::together(&report)),
        section("Heads", water::heads(&report)),
        section("Pipes", water::pipes(&report)),
        section("Valve wire", water::wires(&report)),
        section("Before the frost", water::winter(&report)),
        section("Methods", methods::uses(&report)),
        section("Too narrow", methods::narrows(&report)),
        section("Services met", methods::crossings(&report)),
        section("Dug by hand whatever the method", methods::by_hand(&report)),
        section("Stretches", stretches::text(&report)),
        section("To stake", staking::text(&report)),
        section("Machines to hire", days::hire(&report)),
        section("Days", days::text(&report)),
        section("Material", money::material(&report)),
        section("Order by counter", goods::text(&report)),
        section("Cost and price", money::price(&report)),
        section("Risk", risk::text(&report)),
        section("Cautions", findings::list(&cautions)),
        "Ask how any figure came about: spadework why JOB price.total\n".to_owned(),
    ];
    let filled: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    filled.join("\n")
}

fn many(n: usize, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

/// A part under its heading; nothing if it says nothing.
fn section(heading: &str, text: String) -> String {
    if text.is_empty() {
        return text;
    }
    format!("{heading}\n{text}")
}
