//! The records of testing and of filling, to fill in.

use crate::told::Told;
use crate::{Block, Cell, Column, Page, Table};
use plan::digging::{Dig, FillMoisture};
use quantity::{Amount, Length, Style, Volume};

pub fn pages(told: &Told) -> Vec<Page> {
    let mut pages = Vec::new();
    let tests = tests(told);
    if !tests.is_empty() {
        pages.push(Page {
            title: "Flush and pressure test".to_owned(),
            paper: told.paper().across(),
            blocks: vec![
                Block::Words(
                    "Nothing is covered before it has passed. Flush until it runs clear, bleed all air, bring up the \
                     pressure slowly and stand clear; look at every joint. Local code decides on pressure and time."
                        .to_owned(),
                ),
                Block::Table(tests),
                Block::Note(
                    "The gauge of the main is at the source, that of a circuit before its valve while it runs. Read it at \
                     the start and at the end; between them it loses at most what is allowed."
                        .to_owned(),
                ),
                signatures(&["Tested by", "Witnessed by (inspector, owner)", "Date"]),
            ],
        });
    }
    let fills = fills(told);
    if !fills.is_empty() {
        pages.push(Page {
            title: "Backfill record".to_owned(),
            paper: told.paper().across(),
            blocks: vec![
                Block::Words(fill_words(told)),
                Block::Table(fills),
                signatures(&["Filled by", "Seen by", "Date"]),
            ],
        });
    }
    pages
}

fn signatures(names: &[&str]) -> Block {
    Block::Lines(vec![names.iter().map(|name| (*name).to_owned()).collect()])
}

fn tests(told: &Told) -> Table {
    let units = told.units;
    let pressure = told.unit(Style::Pressure);
    let columns = vec![
        Column::words("part", 1),
        Column::tick("flushed"),
        Column::measure("test at", Style::Pressure, units),
        Column::measure("held for", Style::Hours, units),
        Column::measure("may lose", Style::Pressure, units),
        Column::blank("start, time", 24.0),
        Column::blank(&format!("start, {pressure}"), 22.0),
        Column::blank("end, time", 24.0),
        Column::blank(&format!("end, {pressure}"), 22.0),
        Column::tick("joints dry"),
        Column::tick("passed"),
        Column::blank("initials", 18.0),
    ];
    let mut table = Table::new("test-record", columns);
    for test in &told.plan.hydraulics.tests {
        let mut row = vec![
            Cell::text(&test.part),
            Cell::Tick,
            Cell::number(test.pressure.amount(), units),
            Cell::number(test.held.amount(), units),
            Cell::number(test.may_lose.amount(), units),
        ];
        row.extend(vec![Cell::blank(); 4]);
        row.extend([Cell::Tick, Cell::Tick, Cell::blank()]);
        table.row(row);
    }
    table
}

fn fill_words(told: &Told) -> String {
    let window = &told.job.practice.fill.moisture_window.value;
    format!(
        "Debris and stones out before pipe is covered; clean fill around it first. Fill in lifts, tamp each before \
         the next, and leave the crown. Soil is near enough to its optimum within {} of water content: a handful \
         holds together and breaks cleanly.",
        told.show(Amount::new(window.to_one(), Style::Percent))
    )
}

fn fills(told: &Told) -> Table {
    let units = told.units;
    let columns = vec![
        Column::left("stretch"),
        Column::right("lifts"),
        Column::measure("each", Style::SmallLength, units),
        Column::words("tamped with", 2),
        Column::right("passes"),
        Column::words("moisture of the spoil", 2),
        Column::measure("water to a lift", Style::Liquid, units),
        Column::measure("crown", Style::SmallLength, units),
        Column::words("lifts done (tick each)", 3),
        Column::tick("crown"),
        Column::blank("date, initials", 34.0),
    ];
    let mut table = Table::new("backfill-record", columns);
    let open = told.plan.digging.digs.iter();
    for dig in open.filter(|dig| dig.earth.lifts > 0) {
        table.row(fill(told, dig));
    }
    table
}

fn fill(told: &Told, dig: &Dig) -> Vec<Cell> {
    let units = told.units;
    let small =
        |length: Length| Cell::written(layers::on_tape(length, units), length.small(), units);
    let moisture = match dig.fill.moisture {
        FillMoisture::Near => "near enough",
        FillMoisture::Dry => "too dry: water it",
        FillMoisture::Wet => "too wet: let it dry",
    };
    let water = match dig.fill.water_per_lift > Volume::ZERO {
        true => Cell::number(
            Amount::new(dig.fill.water_per_lift.to_m3(), Style::Liquid),
            units,
        ),
        false => Cell::text("–"),
    };
    let lifts: Vec<String> = (1..=dig.earth.lifts)
        .map(|lift| format!("{lift} __"))
        .collect();
    vec![
        Cell::text(dig.stretch.to_string()),
        Cell::text(dig.earth.lifts.to_string()),
        small(dig.fill.lift),
        Cell::text(&dig.fill.compactor),
        Cell::text(dig.fill.passes.to_string()),
        Cell::text(moisture),
        water,
        small(dig.earth.crown),
        Cell::text(lifts.join("   ")),
        Cell::Tick,
        Cell::blank(),
    ]
}
