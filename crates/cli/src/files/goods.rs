//! The order list by counter, and what is cut from which stick, coil or spool.

use super::{bare, csv, head};
use crate::failure::Failure;
use crate::summary::words;
use plan::Plan;
use plan::takeoff::Counter;
use quantity::{Amount, Length, Style, Units};

/// One row for every item, the counters in turn.
pub fn order(plan: &Plan, units: Units) -> Result<String, Failure> {
    let currency = plan.price.currency.to_lowercase();
    let heads = [
        "counter",
        "id",
        "group",
        "what",
        "goes_in",
        "needed",
        "unit",
        "order",
        "order_unit",
        "sold_as",
        "beyond",
    ];
    let costs = [
        format!("cost_{currency}"),
        format!("cost_beyond_{currency}"),
    ];
    let heads = heads.map(str::to_owned).into_iter().chain(costs).collect();
    let mut rows: Vec<Vec<String>> = vec![heads];
    let amount = |amount: Option<Amount>| amount.map_or(String::new(), |a| bare(a, units));
    for counter in Counter::ALL {
        let items = plan.takeoff.items.iter();
        rows.extend(items.filter(|item| item.counter == counter).map(|item| {
            vec![
                counter.label().to_owned(),
                item.id.clone(),
                words::item_group(item.group).to_owned(),
                item.what.clone(),
                amount(item.net),
                bare(item.needed, units),
                item.needed.parts(units).1.to_owned(),
                bare(item.order, units),
                item.order.parts(units).1.to_owned(),
                item.sold_as.clone(),
                amount(item.waste),
                bare(item.cost.amount(), units),
                bare(item.waste_cost.amount(), units),
            ]
        }));
    }
    csv("materials.csv", &rows)
}

/// One row for every piece, from which stick, coil or spool it is cut and where it goes. One from which
/// nothing is cut has a row without a piece.
pub fn cutting(plan: &Plan, units: Units) -> Result<String, Failure> {
    let mut rows = vec![vec![
        "id".to_owned(),
        "number".to_owned(),
        head("of", Style::Length, units),
        "piece".to_owned(),
        head("length", Style::Length, units),
        "goes_to".to_owned(),
    ]];
    for cutting in &plan.takeoff.cutting {
        for (number, (pieces, places)) in (1..).zip(cutting.pieces.iter().zip(&cutting.places)) {
            let stick = (cutting.item.as_str(), number, cutting.piece);
            rows.extend(of_one(stick, pieces, places, units));
        }
    }
    for spooling in &plan.takeoff.spools {
        for (number, spool) in (1..).zip(&spooling.spools) {
            let stick = (spooling.item.as_str(), number, spool.length);
            rows.extend(of_one(stick, &spool.pieces, &spool.places, units));
        }
    }
    csv("cutting.csv", &rows)
}

fn of_one(
    (item, number, length): (&str, usize, Length),
    pieces: &[Length],
    places: &[String],
    units: Units,
) -> Vec<Vec<String>> {
    let row = |piece: String, cut: String, place: &str| {
        vec![
            item.to_owned(),
            number.to_string(),
            bare(length.amount(), units),
            piece,
            cut,
            place.to_owned(),
        ]
    };
    if pieces.is_empty() {
        return vec![row(String::new(), String::new(), "spare")];
    }
    let each = (1usize..).zip(pieces.iter().zip(places));
    each.map(|(n, (cut, place))| row(n.to_string(), bare(cut.amount(), units), place))
        .collect()
}
