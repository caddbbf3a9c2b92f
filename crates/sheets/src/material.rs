//! The order by counter, and what is cut from what.

use crate::told::Told;
use crate::{Block, Cell, Column, Page, Table};
use plan::takeoff::Counter;
use quantity::{Length, Money, Style};

pub fn pages(told: &Told) -> Vec<Page> {
    let order = order(told);
    if order.is_empty() {
        return Vec::new();
    }
    let page = |title: &str, blocks| Page {
        title: title.to_owned(),
        paper: told.paper(),
        blocks,
    };
    let note = "Quantities to order, waste and whole packs included. Prices are those of the price file. Tick what \
                is ordered and what has come.";
    let mut pages = vec![page(
        "Material order",
        vec![Block::Note(note.to_owned()), Block::Table(order)],
    )];
    let cutting = cutting(told);
    if !cutting.is_empty() {
        let note = "Cut in this order from each stick, coil or spool; what is left at the end is waste or spare.";
        pages.push(page(
            "Cutting list",
            vec![Block::Note(note.to_owned()), Block::Table(cutting)],
        ));
    }
    pages
}

fn order(told: &Told) -> Table {
    let columns = vec![
        Column::tick("ordered"),
        Column::tick("here"),
        Column::right("order"),
        Column::left("unit"),
        Column::words("what", 3),
        Column::words("sold as", 1),
        Column::money("cost", &told.plan.price.currency),
    ];
    let mut table = Table::new("material-order", columns);
    let takeoff = &told.plan.takeoff;
    for counter in Counter::ALL {
        let items = takeoff.items.iter().filter(|item| item.counter == counter);
        let items: Vec<_> = items.collect();
        if items.is_empty() {
            continue;
        }
        let sum = takeoff.counters.iter().find(|sum| sum.counter == counter);
        let cost = sum.map_or(Money::ZERO, |sum| sum.cost);
        table.group(format!(
            "{}, {} together",
            counter.label(),
            told.money(cost)
        ));
        for item in items {
            table.row(vec![
                Cell::Tick,
                Cell::Tick,
                Cell::number(item.order, told.units),
                Cell::text(item.order.parts(told.units).1),
                Cell::text(&item.what),
                Cell::text(&item.sold_as),
                Cell::number(item.cost.amount(), told.units),
            ]);
        }
    }
    table
}

/// One row for every stick, coil or spool from which something is cut.
fn cutting(told: &Told) -> Table {
    let columns = vec![
        Column::tick("cut"),
        Column::right("number"),
        Column::measure("of", Style::Length, told.units),
        Column::words("pieces, with where they go", 1),
    ];
    let mut table = Table::new("cutting-list", columns);
    let takeoff = &told.plan.takeoff;
    for cutting in &takeoff.cutting {
        table.group(what(told, &cutting.item));
        let sticks = cutting.pieces.iter().zip(&cutting.places);
        for (number, (pieces, places)) in (1..).zip(sticks) {
            table.row(stick(told, number, cutting.piece, pieces, places));
        }
    }
    for spooling in &takeoff.spools {
        table.group(what(told, &spooling.item));
        for (number, spool) in (1..).zip(&spooling.spools) {
            table.row(stick(
                told,
                number,
                spool.length,
                &spool.pieces,
                &spool.places,
            ));
        }
    }
    table
}

fn what(told: &Told, item: &str) -> String {
    let items = &told.plan.takeoff.items;
    let known = items.iter().find(|other| other.id == item);
    known.map_or_else(|| item.to_owned(), |item| item.what.clone())
}

fn stick(
    told: &Told,
    number: usize,
    length: Length,
    pieces: &[Length],
    places: &[String],
) -> Vec<Cell> {
    let cuts: Vec<String> = pieces
        .iter()
        .zip(places)
        .map(|(cut, place)| format!("{} {place}", told.show(cut.amount())))
        .collect();
    // Short pieces between fittings come by the dozen.
    let cuts = cuts.chunk_by(|one, next| one == next);
    let cuts: Vec<String> = cuts
        .map(|same| match same {
            [one] => one.clone(),
            _ => format!("{} × {}", same.len(), same[0]),
        })
        .collect();
    vec![
        Cell::Tick,
        Cell::text(number.to_string()),
        Cell::number(length.amount(), told.units),
        Cell::text(match cuts.is_empty() {
            true => "spare".to_owned(),
            false => cuts.join("; "),
        }),
    ]
}
