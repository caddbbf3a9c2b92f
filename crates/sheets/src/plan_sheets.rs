//! The plan to a true scale, and the blank for what was really built.

use crate::told::Told;
use crate::{Block, Cell, Column, Drawing, Page, Paper, Sheet, Table};
use drawing::{PlanPicture, Space};
use job::Job;
use plan::Plan;
use plan::staking::{Distance, Role, StakePoint};
use quantity::{Style, Units};

/// The plan, in tiles where it is larger than the paper.
pub fn pages(told: &Told) -> Vec<Page> {
    drawn(told, Sheet::Plan.title(), drawing::plan_pictures)
}

/// The points to mark, drawn.
pub fn stakes(told: &Told) -> Vec<Page> {
    drawn(told, "Points to mark", drawing::staking)
}

/// The plan to write on, and tables for ties and depths.
pub fn as_built(told: &Told) -> Vec<Page> {
    let mut pages = drawn(told, Sheet::AsBuilt.title(), drawing::as_built);
    pages.push(Page {
        title: "As built: ties and depths".to_owned(),
        paper: told.paper().across(),
        blocks: record(told),
    });
    pages
}

/// The larger paper both ways, with the room on each.
fn papers(told: &Told) -> ([Paper; 2], [Space; 2]) {
    let large = Paper::large(told.units);
    let papers = [large.across(), large];
    let spaces = papers.map(Paper::space);
    (papers, spaces)
}

/// A way of drawing the whole plan.
type Draw = fn(&Job, &Plan, Units, &[Space]) -> Vec<PlanPicture>;

fn drawn(told: &Told, title: &str, draw: Draw) -> Vec<Page> {
    if !told.drawn {
        return Vec::new();
    }
    let (papers, spaces) = papers(told);
    let pictures = draw(told.job, told.plan, told.units, &spaces);
    let page = |plan: PlanPicture| {
        let picture = plan.picture;
        let part = match plan.name.as_str() {
            "" => String::new(),
            "details" => ", details".to_owned(),
            name => format!(", tile {name}"),
        };
        Page {
            title: format!("{title}{part}, {}", picture.scale),
            paper: papers[plan.space],
            blocks: vec![Block::Drawing(Drawing::new(
                picture.svg,
                picture.width,
                picture.height,
                "",
            ))],
        }
    };
    pictures.into_iter().map(page).collect()
}

fn record(told: &Told) -> Vec<Block> {
    vec![
        Block::Words(
            "Before the trench is closed: measure from two fixed points to what cannot be found any more later, \
             write down the depth of its top, and take a photograph with a tape in it. Draw on the plan what runs \
             otherwise than planned. The next person digs by this sheet."
                .to_owned(),
        ),
        Block::Table(points(told)),
        Block::Table(stretches(told)),
        Block::Lines(vec![vec![
            "Recorded by".to_owned(),
            "date".to_owned(),
            "checked by".to_owned(),
            "date".to_owned(),
        ]]),
    ]
}

/// Ties of all that lies hidden afterwards; heads are found without.
fn points(told: &Told) -> Table {
    let columns = vec![
        Column::left("point"),
        Column::words("what", 4),
        Column::words("planned from", 3),
        Column::measure("first", Style::Head, told.units),
        Column::words("and from", 3),
        Column::measure("second", Style::Head, told.units),
        Column::blank("built: from", 30.0),
        Column::blank("first", 17.0),
        Column::blank("and from", 30.0),
        Column::blank("second", 17.0),
        Column::blank("depth", 15.0),
    ];
    let mut table = Table::new("as-built-points", columns).titled("Ties");
    let hidden = |point: &&StakePoint| {
        let seen = |role: &Role| matches!(role, Role::Head | Role::Drip | Role::Controller);
        !point.roles.iter().all(seen)
    };
    for point in told.plan.staking.points.iter().filter(hidden) {
        let mut cells = vec![
            Cell::text(point.id.clone()),
            Cell::text(crate::staking::what(point)),
        ];
        let distance = |distance: &Distance| {
            let fixed = told.plan.staking.fixed.get(distance.fixed);
            [
                Cell::text(fixed.map_or("", |fixed| fixed.name.as_str())),
                crate::staking::taped(told, distance.length),
            ]
        };
        match &point.tie {
            Some(tie) => {
                cells.extend(distance(&tie.first));
                cells.extend(distance(&tie.second));
            }
            None => cells.extend(std::iter::repeat_n(Cell::blank(), 4)),
        }
        cells.extend(std::iter::repeat_n(Cell::blank(), 5));
        table.row(cells);
    }
    table
}

fn stretches(told: &Told) -> Table {
    let columns = vec![
        Column::left("stretch"),
        Column::left("from"),
        Column::left("to"),
        Column::words("contents planned", 1),
        Column::measure("depth planned", Style::SmallLength, told.units),
        Column::blank("depth built", 20.0),
        Column::blank("contents built", 40.0),
        Column::blank("photo", 18.0),
        Column::blank("by", 15.0),
    ];
    let mut table = Table::new("as-built-stretches", columns).titled("Depths");
    for dig in &told.plan.digging.digs {
        let stretch = told.plan.network.stretch(dig.stretch);
        let depth = dig.section.depth;
        table.row(vec![
            Cell::text(dig.stretch.to_string()),
            Cell::text(layers::words::node(told.job, told.plan, stretch.from)),
            Cell::text(layers::words::node(told.job, told.plan, stretch.to)),
            Cell::text(layers::words::contents(dig)),
            Cell::written(
                layers::on_tape(depth, told.units),
                depth.small(),
                told.units,
            ),
            Cell::blank(),
            Cell::blank(),
            Cell::blank(),
            Cell::blank(),
        ]);
    }
    table
}
