//! What is said before work begins, and what is looked at in the trenches every day.

use crate::told::Told;
use crate::words;
use crate::{Block, Cell, Column, Fact, Page, Sheet, Table};
use plan::crew::WorkDay;
use plan::digging::Dig;
use quantity::Length;

pub fn pages(told: &Told) -> Vec<Page> {
    vec![
        Page {
            title: Sheet::Talk.title().to_owned(),
            paper: told.paper(),
            blocks: talk(told),
        },
        Page {
            title: "Daily trench check".to_owned(),
            paper: told.paper().across(),
            blocks: check(told),
        },
    ]
}

fn talk(told: &Told) -> Vec<Block> {
    vec![
        Block::Words(
            "To be read out before work begins, and again when people, machines or weather change. The competent \
             person on site and local rules decide; these points do not."
                .to_owned(),
        ),
        Block::Heading("Depths that count".to_owned()),
        Block::Facts(triggers(told)),
        Block::Heading("On this job".to_owned()),
        Block::Points(here(told)),
        Block::Heading("Talk through".to_owned()),
        Block::Checks(points(told)),
        Block::Heading("Who was there".to_owned()),
        Block::Lines(vec![
            vec!["Talk held by".to_owned(), "date, time".to_owned()],
            vec!["Name".to_owned(), "Name".to_owned(), "Name".to_owned()],
            vec!["Name".to_owned(), "Name".to_owned(), "Name".to_owned()],
            vec!["Nearest hospital".to_owned(), "emergency number".to_owned()],
        ]),
    ]
}

fn triggers(told: &Told) -> Vec<Fact> {
    let rules = &told.job.practice.excavation;
    let show = |length: Length| told.show(length.amount());
    vec![
        Fact::new(
            format!(
                "way out, never farther than {} from anyone in it",
                show(rules.egress_travel.value)
            ),
            format!("from {} deep", show(rules.egress_depth.value)),
        ),
        Fact::new(
            "sides sloped, benched or shored, unless the competent person finds stable rock",
            format!("from {} deep", show(rules.protection_depth.value)),
        ),
        Fact::new(
            "protection designed by an engineer",
            format!("beyond {} deep", show(rules.engineer_depth.value)),
        ),
        Fact::new(
            "spoil, tools and machines back from the edge",
            format!("at least {}", show(rules.spoil_setback.value)),
        ),
        Fact::new(
            "hand tools only, each side of a mark",
            format!(
                "within {}",
                words::on_tape(told, told.job.practice.utility.tolerance.value)
            ),
        ),
    ]
}

/// What of it concerns this job.
fn here(told: &Told) -> Vec<String> {
    let digs = &told.plan.digging.digs;
    let named = |wanted: fn(&Dig) -> bool| {
        let ids: Vec<_> = digs
            .iter()
            .filter(|dig| wanted(dig))
            .map(|dig| dig.stretch)
            .collect();
        match ids.is_empty() {
            true => "none as planned".to_owned(),
            false => words::stretches(&ids),
        }
    };
    let deepest = digs
        .iter()
        .max_by(|a, b| a.section.depth.total_cmp(&b.section.depth));
    let mut points: Vec<String> = deepest
        .map(|dig| {
            format!(
                "Deepest cut: {} at {}.",
                words::on_tape(told, dig.section.depth),
                dig.stretch
            )
        })
        .into_iter()
        .collect();
    points.push(format!(
        "Way out needed: {}.",
        named(|dig| dig.section.egress)
    ));
    points.push(format!(
        "Sides protected: {}.",
        named(|dig| dig.section.protection)
    ));
    for zone in &told.plan.digging.hand_zones {
        points.push(format!(
            "By hand, {}: {} ({}).",
            words::stretches(&zone.stretches),
            told.show(zone.length.amount()),
            zone.reason
        ));
    }
    let nights: Vec<String> = told
        .plan
        .schedule
        .days
        .iter()
        .filter(|day| day.open > Length::ZERO)
        .map(|day| {
            format!(
                "{} on {}",
                told.show(day.open.amount()),
                words::day_named(told, day.day)
            )
        })
        .collect();
    points.push(match nights.is_empty() {
        true => "No trench stands open overnight as planned; what does is guarded.".to_owned(),
        false => format!(
            "Open overnight, to be marked and guarded: {}.",
            nights.join("; ")
        ),
    });
    points
}

fn points(told: &Told) -> Vec<String> {
    let mut points = vec![
        "Marks: what each colour means, where the services of this site are; nobody digs where marks are missing, old \
         or doubtful."
            .to_owned(),
        "A service is hit, scraped or smelt: stop, stay away, warn others, call its owner and the emergency number; \
         mend nothing."
            .to_owned(),
        "On the body: boots, gloves, eyes and ears; hard hat where something may fall; high visibility near traffic."
            .to_owned(),
        "Machines: manual read, guards on, nobody beside a turning chain or blade, off before anything is freed by \
         hand; slopes and edges."
            .to_owned(),
        "Edges: spoil and machines back from them; nobody alone in a trench, nobody under a load, out at once when \
         the sides move."
            .to_owned(),
        "Guards: every open trench and test hole is marked and guarded at breaks and at evening; plates or bridges \
         where people pass."
            .to_owned(),
        "Pressure: bleed air, stand clear of ends and fittings; nobody tests with compressed air.".to_owned(),
        "Lifting, heat, water, sun, insects; first aid and who is trained in it.".to_owned(),
    ];
    let roots = told
        .plan
        .findings
        .iter()
        .any(|finding| finding.rule == "roots");
    if roots {
        points.push("Roots: pass under them; none is cut without the owner's word.".to_owned());
    }
    points
}

/// Names of stretches beyond which a line of the check only counts them.
const NAMED: usize = 12;

/// What stands open from the evening of a day, as the lines of the day plan name it.
fn left_open(told: &Told, day: &WorkDay) -> String {
    match day.open_stretches.len() {
        0 => "none as planned".to_owned(),
        n if n > NAMED => format!(
            "{n} stretches, {}: see the days, evening of day {}",
            told.show(day.open.amount()),
            day.day
        ),
        _ => words::stretches(&day.open_stretches),
    }
}

/// Lines for every day, and one more after rain.
fn check(told: &Told) -> Vec<Block> {
    let columns = vec![
        Column::left("day"),
        Column::blank("time", 18.0),
        Column::words("open in the morning", 3),
        Column::tick("marks"),
        Column::tick("sides"),
        Column::tick("spoil"),
        Column::tick("water"),
        Column::tick("way out"),
        Column::tick("guards"),
        Column::blank("soil type, rain, what was mended", 55.0),
        Column::blank("competent person", 38.0),
    ];
    let mut table = Table::new("trench-check", columns);
    let mut before = "none as planned".to_owned();
    for day in &told.plan.schedule.days {
        let mut row = vec![Cell::text(words::day_named(told, day.day)), Cell::blank()];
        row.push(Cell::text(before));
        row.extend(vec![Cell::Tick; 6]);
        row.extend([Cell::blank(), Cell::blank()]);
        table.row(row);
        before = left_open(told, day);
    }
    for _ in 0..4 {
        let mut row = vec![Cell::text("after rain"), Cell::blank(), Cell::blank()];
        row.extend(vec![Cell::Tick; 6]);
        row.extend([Cell::blank(), Cell::blank()]);
        table.row(row);
    }
    vec![
        Block::Words(
            "By the competent person, before anyone goes in, every day and after rain, frost or whatever else may \
             have changed the sides. Whoever finds a hazard takes people out first."
                .to_owned(),
        ),
        Block::Table(table),
        Block::Note(
            "marks: still there. sides: no cracks, no bulges, as planned or better. spoil: back from the edge. water: \
             none standing. way out: there where the depth asks for it. guards: up, lit where people pass in the dark."
                .to_owned(),
        ),
    ]
}
