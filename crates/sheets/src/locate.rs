//! The locate request: what the notification service is told, and what is white-lined.

use crate::told::Told;
use crate::words;
use crate::{Block, Cell, Column, Drawing, Fact, Page, Paper, Sheet, Table};
use drawing::Picture;
use job::Place;
use plan::crew::TaskKind;
use plan::staking::{DigArea, DigCorner, StakePoint};
use quantity::Style;

/// Nearer than this a stake marks the place, metres.
const SAME: f64 = 0.01;

pub fn pages(told: &Told) -> Vec<Page> {
    let mut pages = vec![Page {
        title: Sheet::Locate.title().to_owned(),
        paper: told.paper(),
        blocks: request(told),
    }];
    if told.drawn && !told.plan.staking.request.areas.is_empty() {
        let (paper, picture) = picture(told);
        pages.push(Page {
            title: format!("Dig area, {}", picture.scale),
            paper,
            blocks: vec![Block::Drawing(Drawing::new(
                picture.svg,
                picture.width,
                picture.height,
                "",
            ))],
        });
    }
    pages
}

/// The drawing on the way of laying the paper that makes it larger.
fn picture(told: &Told) -> (Paper, Picture) {
    let drawn = |paper: Paper| {
        let space = paper.space();
        let drawn = drawing::locate(told.job, told.plan, told.units, space);
        (paper, drawn)
    };
    let (upright, across) = (drawn(told.paper()), drawn(told.paper().across()));
    if across.1.ratio < upright.1.ratio {
        across
    } else {
        upright
    }
}

fn request(told: &Told) -> Vec<Block> {
    let mut blocks = vec![
        Block::Caution(vec![
            "The local notification service decides: what it wants to be told, how the area is marked, how long \
             is waited and how near a mark one digs by hand. Ask it; this sheet only gathers what it asks for."
                .to_owned(),
            "Nobody digs before the wait is over and every service is marked or cleared. Private lines, such as \
             those behind a meter, are often not marked by it: have them located too."
                .to_owned(),
        ]),
        Block::Facts(facts(told)),
        Block::Lines(vec![
            vec!["Address".to_owned(), "nearest cross street".to_owned()],
            vec!["Called by".to_owned(), "date, time".to_owned(), "ticket no.".to_owned()],
            vec!["Marks hold until".to_owned(), "to be renewed on".to_owned()],
        ]),
    ];
    let areas = &told.plan.staking.request.areas;
    if !areas.is_empty() {
        blocks.push(Block::Heading("The dig area in words".to_owned()));
        blocks.push(Block::Words(in_words(told)));
        blocks.push(Block::Table(corners(told)));
    }
    blocks.push(Block::Heading("White-lining".to_owned()));
    blocks.push(Block::Checks(white_lining(told)));
    let services = services(told);
    if !services.is_empty() {
        blocks.push(Block::Table(services));
    }
    let holes = test_holes(told);
    if !holes.is_empty() {
        blocks.push(Block::Table(holes));
    }
    blocks
}

fn facts(told: &Told) -> Vec<Fact> {
    let request = &told.plan.staking.request;
    let mut facts = vec![Fact::new(
        "work",
        "irrigation: trenches for pipe and wire, by hand and machine",
    )];
    if let Some(stretch) = request.deepest_at {
        let depth = words::on_tape(told, request.deepest);
        facts.push(Fact::new("deepest cut", format!("{depth}, at {stretch}")));
    }
    facts.push(Fact::new("area", told.show(request.area.amount())));
    facts.extend(before_the_cut(told));
    let wait = told.plan.schedule.notice_days as usize;
    let wait = crate::told::many(wait, "full working day", "full working days");
    facts.push(Fact::new(
        "wait before the first cut, by this job's practice",
        wait,
    ));
    if told.begins().is_some() {
        facts.push(Fact::new("first cut not before", words::day_named(told, 1)));
    }
    let tolerance = told.job.practice.utility.tolerance.value;
    facts.push(Fact::new(
        "by hand each side of a service, by practice",
        words::on_tape(told, tolerance),
    ));
    facts
}

/// What comes before the first cut, with what falls on the same days in one line.
fn before_the_cut(told: &Told) -> Vec<Fact> {
    let mut facts: Vec<Fact> = Vec::new();
    for (kind, name) in [
        (TaskKind::WhiteLine, "white-lined"),
        (TaskKind::Request, "request made"),
        (TaskKind::Locate, "services marked or cleared"),
    ] {
        let ahead = &told.plan.schedule.ahead;
        let Some(ahead) = ahead.iter().find(|ahead| ahead.kind == kind) else {
            continue;
        };
        let when = words::ahead_when(ahead);
        match facts.last_mut() {
            Some(last) if last.is == when => last.name = format!("{}, {name}", last.name),
            _ => facts.push(Fact::new(name, when)),
        }
    }
    facts
}

fn in_words(told: &Told) -> String {
    let request = &told.plan.staking.request;
    let count = match request.areas.len() {
        1 => "One area".to_owned(),
        count => format!("{count} areas"),
    };
    format!(
        "{count} around all trenches, reaching {} beyond them and at most to the property line; {}. Buildings \
         inside are not dug. The letters stand on the drawing; go round clockwise.",
        told.show(request.margin.amount()),
        request.north,
    )
}

fn corners(told: &Told) -> Table {
    let columns = vec![
        Column::left("corner"),
        Column::words("where", 3),
        Column::words("from it to the next", 3),
        Column::tick("white-lined"),
    ];
    let mut table = Table::new("dig-area", columns);
    let areas = &told.plan.staking.request.areas;
    for (number, area) in (1..).zip(areas) {
        if areas.len() > 1 {
            table.group(format!("area {number}, {}", told.show(area.area.amount())));
        }
        for (i, corner) in area.corners.iter().enumerate() {
            let next = &area.corners[(i + 1) % area.corners.len()];
            table.row(row(told, corner, next));
        }
    }
    table
}

fn row(told: &Told, corner: &DigCorner, next: &DigCorner) -> Vec<Cell> {
    let fixed = &told.plan.staking.fixed;
    vec![
        Cell::text(corner.id.clone()),
        Cell::text(corner.place(fixed, told.units)),
        Cell::text(format!("{} to {}", corner.side(told.units), next.id)),
        Cell::Tick,
    ]
}

fn white_lining(told: &Told) -> Vec<String> {
    let letters = |area: &DigArea| {
        let ids: Vec<&str> = area
            .corners
            .iter()
            .map(|corner| corner.id.as_str())
            .collect();
        ids.join("–")
    };
    let areas: Vec<String> = told
        .plan
        .staking
        .request
        .areas
        .iter()
        .map(letters)
        .collect();
    let mut checks = Vec::new();
    if !areas.is_empty() {
        checks.push(format!(
            "White line or white flags at every corner and along the outline {}, before the call.",
            areas.join(" and ")
        ));
    }
    checks.push(
        "Every trench, by the staking list: white line or flags along it, arrows at its ends."
            .to_owned(),
    );
    let holes: Vec<String> = drawing::test_holes(told.plan)
        .map(|(name, _)| name)
        .collect();
    if !holes.is_empty() {
        checks.push(format!(
            "A white cross at every test hole: {}.",
            holes.join(", ")
        ));
    }
    checks.push("Nothing white where one could take it for a mark of a service.".to_owned());
    checks.push(
        "Photographs of the white lines, and of the marks as soon as they are there.".to_owned(),
    );
    checks
}

/// The services that the survey knows, each with room for what the locators say.
fn services(told: &Told) -> Table {
    let columns = vec![
        Column::left("service"),
        Column::words("kind", 4),
        Column::words("surveyed", 4),
        Column::left("crossings"),
        Column::words("comes near", 2),
        Column::tick("marked"),
        Column::tick("cleared"),
        Column::blank("marked on, by", 32.0),
    ];
    let title = "Services the survey knows of; there may be others";
    let mut table = Table::new("services", columns).titled(title);
    let checks = &told.plan.digging.crossings;
    for utility in &told.job.survey.utilities {
        let here = || checks.iter().filter(|check| check.utility == utility.id);
        let crossings = here()
            .filter(|c| c.meeting == plan::digging::Meeting::Crosses)
            .count();
        let mut near: Vec<String> = here().map(|check| check.stretch.to_string()).collect();
        near.dedup();
        let state = match (utility.located, utility.marked) {
            (true, true) => "located and marked",
            (true, false) => "located, not marked",
            (false, true) => "marked, not located",
            (false, false) => "neither located nor marked",
        };
        table.row(vec![
            Cell::text(utility.id.clone()),
            Cell::text(format!(
                "{}, {}",
                utility.class.label(),
                utility.class.colour()
            )),
            Cell::text(state),
            Cell::text(crossings.to_string()),
            Cell::text(near.join(", ")),
            Cell::Tick,
            Cell::Tick,
            Cell::blank(),
        ]);
    }
    table
}

/// Where a service is exposed by hand before a machine comes near.
fn test_holes(told: &Told) -> Table {
    let columns = vec![
        Column::left("hole"),
        Column::words("service", 3),
        Column::left("stretch"),
        Column::left("stake"),
        Column::measure("top of it", Style::SmallLength, told.units),
        Column::measure("cut", Style::SmallLength, told.units),
        Column::blank("found at", 18.0),
        Column::blank("depth found", 20.0),
        Column::blank("by", 16.0),
    ];
    let title = "Test holes: expose by hand before a machine comes near";
    let mut table = Table::new("test-holes", columns).titled(title);
    for (name, check) in drawing::test_holes(told.plan) {
        let depth = match check.service_depth {
            // Not rounded as a cut is: to think a service deeper than it lies is dangerous.
            Some(depth) => Cell::number(depth.small(), told.units),
            None => Cell::text("not known"),
        };
        table.row(vec![
            Cell::text(name),
            Cell::text(format!("{} {}", check.utility, check.service)),
            Cell::text(check.stretch.to_string()),
            Cell::text(stake_at(told, check.at)),
            depth,
            tape(told, check.cut_depth),
            Cell::blank(),
            Cell::blank(),
            Cell::blank(),
        ]);
    }
    table
}

/// The point to mark at a place, else its station and offset.
fn stake_at(told: &Told, at: Place) -> String {
    let staking = &told.plan.staking;
    let near = |a: &&StakePoint, b: &&StakePoint| a.at.distance(at).total_cmp(&b.at.distance(at));
    let stake = staking.points.iter().min_by(near);
    if let Some(stake) = stake.filter(|stake| stake.at.distance(at) < SAME) {
        return stake.id.clone();
    }
    staking.baseline.as_ref().map_or_else(String::new, |line| {
        let (station, offset, side) = line.station(at);
        let offset = told.show(offset.amount());
        let side = side.map_or("", |side| side.label());
        format!("{}, {offset} {side}", layers::station(station, told.units))
    })
}

fn tape(told: &Told, length: quantity::Length) -> Cell {
    let shown = layers::on_tape(length, told.units);
    Cell::written(shown, length.small(), told.units)
}
