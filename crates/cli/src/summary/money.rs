//! Material and cost.

use super::{Report, words};
use crate::table::Table;
use quantity::Money;

/// The material list with a sum for each group.
pub fn material(report: &Report) -> String {
    let items = &report.plan.takeoff.items;
    if items.is_empty() {
        return String::new();
    }
    let mut table = Table::new()
        .left("group")
        .right("order", "")
        .left("what")
        .left("sold as")
        .right("cost", &report.plan.price.currency);
    let mut last = None;
    for item in items {
        let first = last != Some(item.group);
        last = Some(item.group);
        let sum: Money = items
            .iter()
            .filter(|other| other.group == item.group)
            .map(|other| other.cost)
            .sum();
        if first {
            let name = words::item_group(item.group).to_owned();
            let empty = String::new;
            table.row(vec![
                name,
                empty(),
                empty(),
                "together".to_owned(),
                sum.to_string(),
            ]);
        }
        table.row(vec![
            String::new(),
            report.show(item.order),
            item.what.clone(),
            item.sold_as.clone(),
            item.cost.to_string(),
        ]);
    }
    table.text("  ")
}

/// The cost lines, and what makes the price of them.
pub fn price(report: &Report) -> String {
    let price = &report.plan.price;
    let mut table = Table::new()
        .left("group")
        .left("what")
        .right("amount", &price.currency);
    let mut last = None;
    for line in &price.lines {
        let name = if last == Some(line.group) {
            ""
        } else {
            words::cost_group(line.group)
        };
        last = Some(line.group);
        table.row(vec![
            name.to_owned(),
            line.what.clone(),
            line.amount.to_string(),
        ]);
    }
    for sum in words::sums(price) {
        table.row(vec![sum.group.to_owned(), sum.what, sum.amount.to_string()]);
    }
    table.text("  ")
}
