//! The staking list: what is marked on the ground, by station and offset and by two tapes.

use crate::told::{Told, many};
use crate::{Block, Cell, Column, Fact, Page, Remark, Sheet, Table};
use plan::staking::{Distance, Role, StakePoint};
use quantity::{Amount, Length, Style};
use std::collections::BTreeMap;

pub fn pages(told: &Told) -> Vec<Page> {
    if told.plan.staking.points.is_empty() {
        return Vec::new();
    }
    let mut pages = crate::plan_sheets::stakes(told);
    pages.push(Page {
        title: Sheet::Staking.title().to_owned(),
        paper: told.paper().across(),
        blocks: vec![
            Block::Columns(vec![
                vec![Block::Facts(facts(told))],
                vec![Block::Checks(checks(told))],
            ]),
            Block::Table(fixed(told)),
            Block::Table(list(told)),
        ],
    });
    pages
}

fn facts(told: &Told) -> Vec<Fact> {
    let staking = &told.plan.staking;
    let practice = &told.job.practice.staking;
    let mut facts = vec![Fact::new(
        "points to mark",
        staking.points.len().to_string(),
    )];
    if let Some(line) = &staking.baseline {
        facts.push(Fact::new("stations count along", line.which.clone()));
    }
    let tape = told.show(practice.tape_length.value.amount());
    facts.push(Fact::new("tapes", format!("two of {tape}")));
    if let Some((point, tie)) = staking.worst() {
        let error = told.show(tie.error.small());
        facts.push(Fact::new(
            "largest expected error of a tie",
            format!("{error}, at {}", point.id),
        ));
    }
    let untied = staking.untied();
    if untied > 0 {
        let words = many(untied, "point", "points");
        facts.push(Fact::new("without a tie: by station and offset", words));
    }
    facts
}

fn checks(told: &Told) -> Vec<String> {
    let mut checks = vec![
        "Every utility is marked or cleared before a stake is driven: a stake can hit a cable."
            .to_owned(),
        "Tapes level and taut; where the ground falls, hold the high end down and plumb the other."
            .to_owned(),
        "The side is seen from the first fixed point towards the second.".to_owned(),
        "Measure the check distance too; where it does not fit, measure all three again."
            .to_owned(),
    ];
    if told
        .plan
        .staking
        .points
        .iter()
        .any(|p| p.tie.as_ref().is_some_and(|t| t.flat))
    {
        checks.push(
            "Where the tapes cross flat, set the point by station and offset as well.".to_owned(),
        );
    }
    checks
}

fn list(told: &Told) -> Table {
    let units = told.units;
    let columns = vec![
        Column::left("point"),
        Column::words("what", 5),
        Column::left("station"),
        Column::measure("offset", Style::Head, units),
        Column::left("side of line"),
        Column::words("first tape from", 4),
        Column::measure("first", Style::Head, units),
        Column::words("second tape from", 4),
        Column::measure("second", Style::Head, units),
        Column::left("side"),
        Column::words("check from", 4),
        Column::measure("check", Style::Head, units),
        Column::tick("staked"),
    ];
    let mut table = Table::new("staking-list", columns).titled("Points to mark");
    for point in &told.plan.staking.points {
        table.noted(row(told, point), note(point));
    }
    table
}

fn row(told: &Told, point: &StakePoint) -> Vec<Cell> {
    let mut cells = vec![Cell::text(point.id.clone()), Cell::text(what(point))];
    match told.plan.staking.baseline {
        Some(_) => cells.extend([
            Cell::text(layers::station(point.station, told.units)),
            taped(told, point.offset),
            Cell::text(point.side.map_or("", |side| side.label())),
        ]),
        None => cells.extend(std::iter::repeat_n(Cell::blank(), 3)),
    }
    let from = |distance: &Distance| {
        [
            Cell::text(name(told, distance)),
            taped(told, distance.length),
        ]
    };
    match &point.tie {
        Some(tie) => {
            cells.extend(from(&tie.first));
            cells.extend(from(&tie.second));
            cells.push(Cell::text(tie.side.label()));
            let blank = || [Cell::blank(), Cell::blank()];
            cells.extend(tie.check.as_ref().map_or_else(blank, from));
        }
        None => cells.extend(std::iter::repeat_n(Cell::blank(), 7)),
    }
    cells.push(Cell::Tick);
    cells
}

fn note(point: &StakePoint) -> Vec<Remark> {
    match &point.tie {
        Some(tie) if tie.flat => vec![Remark::plain("the tapes cross flat")],
        Some(_) => Vec::new(),
        None => vec![Remark::plain(format!("no tie: {}", point.untied))],
    }
}

fn name<'a>(told: &Told<'a>, distance: &Distance) -> &'a str {
    let fixed = told.plan.staking.fixed.get(distance.fixed);
    fixed.map_or("", |fixed| fixed.name.as_str())
}

/// A length as it is read on a long tape: hundredths of a foot, millimetres.
pub fn taped(told: &Told, length: Length) -> Cell {
    Cell::number(Amount::new(length.si(), Style::Head), told.units)
}

/// What is there.
pub fn what(point: &StakePoint) -> String {
    let roles: Vec<&str> = point.roles.iter().copied().map(Role::label).collect();
    match point.features.is_empty() {
        true => roles.join(", "),
        false => format!("{} {}", roles.join(", "), point.features.join(", ")),
    }
}

/// What tapes are held at, each with the points that are measured from it.
fn fixed(told: &Told) -> Table {
    let columns = vec![
        Column::left("fixed point"),
        Column::words("stands at", 3),
        Column::words("measured from it", 6),
        Column::tick("found"),
    ];
    let title = "Fixed points: find and flag them first";
    let mut table = Table::new("fixed-points", columns).titled(title);
    let mut uses: BTreeMap<usize, Vec<&str>> = BTreeMap::new();
    for point in &told.plan.staking.points {
        let Some(tie) = &point.tie else {
            continue;
        };
        for distance in [&tie.first, &tie.second] {
            uses.entry(distance.fixed).or_default().push(&point.id);
        }
    }
    for (fixed, points) in uses {
        let Some(fixed) = told.plan.staking.fixed.get(fixed) else {
            continue;
        };
        table.row(vec![
            Cell::text(fixed.name.clone()),
            Cell::text(standing(told, &fixed.feature)),
            Cell::text(points.join(", ")),
            Cell::Tick,
        ]);
    }
    table
}

/// What a fixed point belongs to, in a word.
fn standing(told: &Told, feature: &str) -> String {
    let survey = &told.job.survey;
    let obstacle = survey.obstacles.iter().find(|o| o.id == feature);
    if let Some(obstacle) = obstacle {
        return obstacle.kind.label().to_owned();
    }
    if survey.gates.iter().any(|gate| gate.id == feature) {
        return "gate".to_owned();
    }
    match feature == survey.boundary.id {
        true => "property line".to_owned(),
        false => "mark".to_owned(),
    }
}
