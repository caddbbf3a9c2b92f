//! price.csv: the cost lines and all that is added to them.

use crate::failure::Failure;
use crate::files::{bare, csv};
use crate::summary::words;
use plan::Plan;
use quantity::Units;

/// One row for every cost line, then the sums in the order in which they are added.
pub fn rows(plan: &Plan, units: Units) -> Result<String, Failure> {
    let price = &plan.price;
    let amount = format!("amount_{}", price.currency.to_lowercase());
    let heads = ["group", "id", "what", &amount, "tax_class"];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    rows.extend(price.lines.iter().map(|line| {
        vec![
            words::cost_group(line.group).to_owned(),
            line.id.clone(),
            line.what.clone(),
            bare(line.amount.amount(), units),
            line.class.map_or("", words::tax_class).to_owned(),
        ]
    }));
    rows.extend(words::sums(price).into_iter().map(|sum| {
        vec![
            sum.group.to_owned(),
            sum.id,
            sum.what,
            bare(sum.amount.amount(), units),
            sum.class.map_or("", words::tax_class).to_owned(),
        ]
    }));
    csv("price.csv", &rows)
}
