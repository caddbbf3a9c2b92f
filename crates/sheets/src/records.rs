//! The records of testing and of filling, to fill in.

use crate::told::Told;
use crate::{Block, Boxes, Cell, Column, Page, Table};
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

/// How a cut is filled, without where it is.
#[derive(PartialEq)]
struct Fill {
    lifts: u32,
    lift: String,
    compactor: String,
    passes: u32,
    moisture: FillMoisture,
    crown: String,
    /// Whether only its pits are filled, since pipe is pulled in.
    pits: bool,
}

impl Fill {
    fn of(told: &Told, dig: &Dig) -> Self {
        Self {
            lifts: dig.earth.lifts,
            lift: layers::on_tape(dig.fill.lift, told.units),
            compactor: dig.fill.compactor.clone(),
            passes: dig.fill.passes,
            moisture: dig.fill.moisture,
            crown: layers::on_tape(dig.earth.crown, told.units),
            pits: dig.pull.is_some(),
        }
    }
}

/// Stretches in a row of the table at most, so that a row is never longer than a page.
const MOST: usize = 30;

/// Stretches that are filled alike stand together; each has a box for every lift and one for its crown.
fn fills(told: &Told) -> Table {
    let units = told.units;
    let columns = vec![
        Column::right("lifts"),
        Column::measure("each", Style::SmallLength, units),
        Column::words("tamped with", 2),
        Column::right("passes"),
        Column::words("moisture of the spoil", 2),
        Column::measure("crown", Style::SmallLength, units),
        Column::words("stretches: tick every lift, then the crown", 9),
        Column::blank("date, initials", 30.0),
    ];
    let mut table = Table::new("backfill-record", columns);
    let mut alike: Vec<(Fill, Vec<&Dig>)> = Vec::new();
    let open = told.plan.digging.digs.iter();
    for dig in open.filter(|dig| dig.earth.lifts > 0) {
        let fill = Fill::of(told, dig);
        match alike.iter_mut().find(|(known, _)| *known == fill) {
            Some((_, digs)) => digs.push(dig),
            None => alike.push((fill, vec![dig])),
        }
    }
    for (fill, digs) in alike {
        for digs in digs.chunks(MOST) {
            table.row(row(told, &fill, digs));
        }
    }
    table
}

fn row(told: &Told, fill: &Fill, digs: &[&Dig]) -> Vec<Cell> {
    let units = told.units;
    let moisture = match fill.moisture {
        FillMoisture::Near => "near enough",
        FillMoisture::Dry => "too dry: water it",
        FillMoisture::Wet => "too wet: let it dry",
    };
    let with = match fill.pits {
        true => "pits only",
        false => fill.compactor.as_str(),
    };
    let boxes = digs.iter().map(|dig| Boxes {
        name: named(told, dig),
        boxes: fill.lifts + 1,
    });
    let small =
        |shown: &str, length: Length| Cell::written(shown.to_owned(), length.small(), units);
    // All of them are alike in these on a tape.
    let one = digs.first();
    let lift = one.map_or(Length::ZERO, |dig| dig.fill.lift);
    let crown = one.map_or(Length::ZERO, |dig| dig.earth.crown);
    vec![
        Cell::text(fill.lifts.to_string()),
        small(&fill.lift, lift),
        Cell::text(with),
        Cell::text(match fill.passes {
            0 => "–".to_owned(),
            passes => passes.to_string(),
        }),
        Cell::text(moisture),
        small(&fill.crown, crown),
        Cell::Boxes(boxes.collect()),
        Cell::blank(),
    ]
}

/// A stretch with the water that each of its lifts wants.
fn named(told: &Told, dig: &Dig) -> String {
    match dig.fill.water_per_lift > Volume::ZERO {
        true => {
            let water = Amount::new(dig.fill.water_per_lift.to_m3(), Style::Liquid);
            format!("{} ({} a lift)", dig.stretch, told.show(water))
        }
        false => dig.stretch.to_string(),
    }
}
