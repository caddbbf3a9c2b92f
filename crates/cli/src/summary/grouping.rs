//! The table of circuits proposed.

use super::Report;
use crate::table::{Table, wrapped};
use quantity::{Amount, Style};

pub fn text(report: &Report) -> String {
    let Some(grouping) = &report.plan.grouping else {
        return String::new();
    };
    let flow = report.unit(Style::Flow);
    let mut table = Table::new()
        .left("circuit")
        .left("valve")
        .left("manifold")
        .right("heads", "")
        .right("flow", flow)
        .right("may take", flow)
        .right("together", "%")
        .words("heads");
    for proposed in &grouping.circuits {
        let together = Amount::new(proposed.together.to_one(), Style::Percent);
        table.row(vec![
            proposed.circuit.clone(),
            proposed.valve.clone(),
            proposed.manifold.clone(),
            proposed.outlets.len().to_string(),
            report.number(proposed.flow.amount()),
            report.number(proposed.most.amount()),
            report.number(together),
            proposed.outlets.join(" "),
        ]);
    }
    let money = |value: f64| report.show(Amount::new(value, Style::Money));
    let proven = if grouping.exact {
        "every grouping was looked at, and none costs less".to_owned()
    } else if grouping.bound <= 0.0 {
        "the circuits are those of the plan before the change, and whether others cost less was not looked at"
            .to_owned()
    } else {
        format!(
            "no grouping costs less than {}, so that it is at most {} above the least",
            money(grouping.bound),
            report.show(Amount::new(grouping.gap(), Style::Percent)),
        )
    };
    let words = format!(
        "The job names no circuit for these heads; this is our proposal, and the designer decides. By its own \
         cost model it costs {} {}; {proven}. \"Together\" is the share of heads whose nearest neighbour \
         that they may run with is in their circuit. Why a circuit is as it is: spadework why JOB \
         grouping.{}.why",
        money(grouping.cost.total()),
        report.plan.price.currency,
        grouping
            .circuits
            .first()
            .map_or("C1", |c| c.circuit.as_str()),
    );
    table.text("  ") + &wrapped(&words, "  ", "  ")
}
