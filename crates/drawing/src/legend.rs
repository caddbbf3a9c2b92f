//! The legend: what occurs on this sheet, and nothing else.

use crate::Scene;
use crate::area::{self, test_holes};
use crate::components::{self, Component, Symbol};
use crate::decisions;
use crate::details;
use crate::ground;
use crate::narrows;
use crate::picture::size_that_fits;
use crate::pressure::{self, Stand};
use crate::purpose::Purpose;
use crate::services;
use crate::sheet::Layout;
use crate::stakes;
use crate::style::{self, INK, SMALL_TEXT};
use crate::svg::{Anchor, Point, Svg, Text, number};
use crate::trenches;
use job::{MethodId, ObstacleKind, ServiceClass, Shape, SurfaceKind};
use quantity::{Amount, Style};
use std::collections::BTreeSet;

/// How much wider bold words run.
const BOLD: f64 = 1.12;

/// What a row of the legend shows.
enum Sample<'a> {
    Heading,
    Method(&'a MethodId),
    Planned,
    DigArea,
    FixedPoint,
    Stake,
    Baseline,
    TestHole,
    Sleeve,
    Fixed,
    KeptOut,
    Corridor,
    Crossing,
    Pit,
    Narrow,
    Symbol(Symbol),
    Stand(Stand),
    Worst,
    Service(ServiceClass, bool),
    Zone,
    Boundary,
    Patch(&'static str, bool),
    Barrier(ObstacleKind),
    Gate,
    Access,
    Tree,
    Spot,
}

struct Row<'a> {
    sample: Sample<'a>,
    words: String,
}

fn row(sample: Sample<'_>, words: impl Into<String>) -> Row<'_> {
    Row {
        sample,
        words: words.into(),
    }
}

/// Height of a row if there is room enough, and the least that keeps words apart.
const ROW: f64 = 5.2;
const LEAST: f64 = 3.9;
/// Width of a column if there is room enough, and the least that rows are told in.
const COLUMN: f64 = 86.0;
const NARROW: f64 = 50.0;
/// From the edge of a column to the words of its rows and headings.
const INDENT: f64 = 19.0;
const HEADING: f64 = 4.0;

/// How many rows a heading takes that is not at the top of its column: it stands apart from what is above.
const HEADING_ROWS: f64 = 1.4;

pub fn draw(svg: &mut Svg, scene: &Scene, layout: &Layout) {
    let rows = rows(scene);
    let frame = layout.legend;
    let count = |width: f64| (frame.width / width).floor().max(1.0) as usize;
    let high = |columns: usize| {
        let heights = columns_of(&rows, columns).into_iter().map(height);
        (frame.height - 5.0) / heights.fold(1.0, f64::max)
    };
    let mut columns = count(COLUMN);
    while high(columns) < LEAST && columns < count(NARROW) {
        columns += 1;
    }
    let step = ROW.min(high(columns));
    let width = (frame.width / columns as f64).min(COLUMN);
    for (i, rows) in columns_of(&rows, columns).into_iter().enumerate() {
        let x = frame.x + width * i as f64;
        let mut y = frame.y + 2.5;
        for (j, row) in rows.iter().enumerate() {
            y += step * share(row, j == 0);
            draw_row(
                svg,
                scene,
                row,
                Point::new(x, y - step * 0.5),
                (width, step),
            );
        }
    }
}

/// The rows in columns of about the same number of them; none ends with a heading.
fn columns_of<'r, 'a>(rows: &'r [Row<'a>], columns: usize) -> Vec<&'r [Row<'a>]> {
    let in_column = rows.len().div_ceil(columns).max(1);
    let mut all = Vec::new();
    let mut left = rows;
    while !left.is_empty() {
        let most = match in_column.min(left.len()) {
            // The last takes what others have passed on.
            _ if all.len() + 1 == columns => left.len(),
            most if most > 1 && is_heading(&left[most - 1]) => most - 1,
            most => most,
        };
        let (column, rest) = left.split_at(most);
        all.push(column);
        left = rest;
    }
    all
}

fn is_heading(row: &Row) -> bool {
    matches!(row.sample, Sample::Heading)
}

/// The height of a column, in rows.
fn height(rows: &[Row]) -> f64 {
    let each = rows.iter().enumerate();
    each.map(|(i, row)| share(row, i == 0)).sum()
}

/// The height of a row, in common rows.
fn share(row: &Row, first: bool) -> f64 {
    if is_heading(row) && !first {
        HEADING_ROWS
    } else {
        1.0
    }
}

fn draw_row(svg: &mut Svg, scene: &Scene, row: &Row, at: Point, (width, step): (f64, f64)) {
    // Where rows are close, samples are smaller, so that none lies on the next.
    let scale = (step / ROW).min(1.0);
    svg.open_group(&format!(
        "transform=\"translate({} {}) scale({})\"",
        number(at.x + 10.0),
        number(at.y),
        number(scale)
    ));
    draw_sample(svg, scene, &row.sample, Point::new(0.0, 0.0));
    svg.close_group();
    let (indent, bold, wider) = if is_heading(row) {
        (HEADING, "font-weight=\"bold\"", BOLD)
    } else {
        (INDENT, "", 1.0)
    };
    let size = size_that_fits(&row.words, SMALL_TEXT, (width - indent - 1.0) / wider);
    svg.text(&Text {
        at: Point::new(at.x + indent, at.y + size * 0.36),
        turn: 0.0,
        size,
        anchor: Anchor::Start,
        attributes: &format!("fill=\"{INK}\" {bold}"),
        words: &row.words,
    });
}

fn rows<'a>(scene: &Scene<'a>) -> Vec<Row<'a>> {
    let parts = [
        ("trenches", trench_rows(scene)),
        ("components", component_rows(scene)),
        ("services of others (APWA colours)", service_rows(scene)),
        ("property", property_rows(scene)),
        ("ground", ground_rows(scene)),
    ];
    parts
        .into_iter()
        .filter(|(_, rows)| !rows.is_empty())
        .flat_map(|(name, rows)| std::iter::once(row(Sample::Heading, name)).chain(rows))
        .collect()
}

fn trench_rows<'a>(scene: &Scene<'a>) -> Vec<Row<'a>> {
    let mut rows = method_rows(scene);
    if !scene.job.system.sleeves.is_empty() {
        rows.push(row(Sample::Sleeve, "sleeve that lies there already"));
    }
    match scene.purpose {
        Purpose::Plan => rows.extend(decision_rows(scene)),
        Purpose::Locate => {
            rows.insert(0, row(Sample::DigArea, "dig area, to be white-lined"));
            rows.push(row(Sample::FixedPoint, "fixed point to measure from"));
            if test_holes(scene.plan).next().is_some() {
                rows.push(row(Sample::TestHole, "test hole: expose by hand first"));
            }
        }
        Purpose::Staking => {
            rows.push(row(Sample::Stake, "point to mark, by its number"));
            rows.push(row(Sample::FixedPoint, "fixed point to hold a tape at"));
            if scene.plan.staking.baseline.is_some() {
                rows.push(row(Sample::Baseline, "line of stations, from 0 on"));
            }
        }
        Purpose::AsBuilt => {}
    }
    let crossings = !scene.plan.network.crossings.is_empty();
    if crossings && scene.purpose != Purpose::Locate {
        rows.push(row(Sample::Crossing, "crossing: expose by hand first"));
    }
    rows
}

fn method_rows<'a>(scene: &Scene<'a>) -> Vec<Row<'a>> {
    if !scene.purpose.shows_methods() {
        return vec![row(Sample::Planned, "trench as planned")];
    }
    let methods: BTreeSet<&MethodId> = scene.plan.digging.digs.iter().map(|d| &d.method).collect();
    let rows = methods.into_iter();
    rows.map(|id| row(Sample::Method(id), style::method_label(scene.job, id)))
        .collect()
}

fn decision_rows<'a>(scene: &Scene<'a>) -> Vec<Row<'a>> {
    let mut rows = Vec::new();
    if !scene.job.decisions.fixed.is_empty() {
        rows.push(row(Sample::Fixed, "fixed where it is drawn"));
    }
    if !scene.job.decisions.corridors.is_empty() {
        rows.push(row(Sample::Corridor, "corridor: trenches preferred"));
    }
    if !scene.job.decisions.keep_outs.is_empty() {
        rows.push(row(Sample::KeptOut, "nothing is dug here"));
    }
    if !scene.plan.digging.pits().is_empty() {
        rows.push(row(Sample::Pit, "pit of pulled pipe"));
    }
    if !scene.plan.digging.narrows.is_empty() {
        rows.push(row(Sample::Narrow, "too narrow for a machine"));
    }
    rows
}

fn component_rows<'a>(scene: &Scene<'a>) -> Vec<Row<'a>> {
    let details = scene.details.iter();
    let shown: Vec<Component> = details
        .flat_map(|detail| components::of(&details::enlarged(scene, detail)))
        .chain(components::of(scene))
        .collect();
    let symbols: BTreeSet<Symbol> = shown.iter().map(|component| component.symbol).collect();
    let marks = || shown.iter().filter_map(|component| component.mark.as_ref());
    let stands: BTreeSet<Stand> = marks().map(|mark| mark.stand).collect();
    let mut rows: Vec<Row> = symbols
        .into_iter()
        .map(|symbol| row(Sample::Symbol(symbol), symbol.label()))
        .collect();
    let stands = stands.into_iter();
    rows.extend(stands.map(|stand| row(Sample::Stand(stand), pressure::words(scene, stand))));
    if marks().any(|mark| mark.is_worst) {
        rows.push(row(Sample::Worst, "least to spare of its circuit"));
    }
    rows
}

fn service_rows<'a>(scene: &Scene<'a>) -> Vec<Row<'a>> {
    let utilities = &scene.job.survey.utilities;
    let kinds: BTreeSet<(ServiceClass, bool)> = utilities
        .iter()
        .map(|u| (u.class, !services::is_sure(u)))
        .collect();
    let mut rows: Vec<Row> = kinds
        .into_iter()
        .map(|(class, unsure)| {
            let doubt = if unsure { ", in doubt" } else { "" };
            let words = format!("{} ({}){doubt}", class.label(), class.colour());
            row(Sample::Service(class, !unsure), words)
        })
        .collect();
    if !utilities.is_empty() {
        rows.push(row(Sample::Zone, "hand-dig zone of a service"));
    }
    rows
}

fn property_rows<'a>(scene: &Scene<'a>) -> Vec<Row<'a>> {
    let survey = &scene.job.survey;
    let mut rows = vec![row(Sample::Boundary, "property line")];
    let areas: BTreeSet<ObstacleKind> = obstacles(scene, true);
    rows.extend(areas.into_iter().map(|kind| {
        row(
            Sample::Patch(style::obstacle_fill(kind), true),
            kind.label(),
        )
    }));
    let lines: BTreeSet<ObstacleKind> = obstacles(scene, false);
    rows.extend(
        lines
            .into_iter()
            .map(|kind| row(Sample::Barrier(kind), kind.label())),
    );
    if !survey.gates.is_empty() {
        rows.push(row(Sample::Gate, "gate with its clear width"));
    }
    if !survey.accesses.is_empty() && scene.purpose.shows_ground() {
        rows.push(row(Sample::Access, "where machines come in"));
    }
    if !survey.trees.is_empty() {
        rows.push(row(Sample::Tree, "tree: trunk and root zone"));
    }
    rows
}

fn obstacles(scene: &Scene, areas: bool) -> BTreeSet<ObstacleKind> {
    let obstacles = &scene.job.survey.obstacles;
    obstacles
        .iter()
        .filter(|o| matches!(o.shape, Shape::Area(_)) == areas)
        .map(|o| o.kind)
        .collect()
}

fn ground_rows<'a>(scene: &Scene<'a>) -> Vec<Row<'a>> {
    let survey = &scene.job.survey;
    let filled = survey.surfaces.iter().filter(|s| scene.purpose.fills(s));
    let kinds: BTreeSet<SurfaceKind> = filled.map(|s| s.kind).collect();
    let mut rows: Vec<Row> = kinds
        .into_iter()
        .map(|kind| {
            row(
                Sample::Patch(style::surface_fill(kind), false),
                kind.label(),
            )
        })
        .collect();
    if !scene.purpose.shows_ground() {
        return rows;
    }
    if !survey.steeps.is_empty() {
        rows.push(row(Sample::Patch("steep", false), "steep ground"));
    }
    if !survey.spots.is_empty() {
        let unit = Amount::new(0.0, Style::Length).parts(scene.units).1;
        rows.push(row(Sample::Spot, format!("spot elevation, {unit}")));
    }
    rows
}

fn draw_sample(svg: &mut Svg, scene: &Scene, sample: &Sample, at: Point) {
    let line = [Point::new(at.x - 5.5, at.y), Point::new(at.x + 5.5, at.y)];
    match sample {
        Sample::Heading => {}
        Sample::Method(id) => trenches::draw_line(svg, style::trench(scene.job, id), &line),
        Sample::Planned => trenches::draw_line(svg, style::PLANNED, &line),
        Sample::DigArea => area::draw_edge(svg, &line),
        Sample::FixedPoint => area::draw_fixed(svg, at),
        Sample::Stake => stakes::draw_stake(svg, at),
        Sample::Baseline => stakes::draw_line(svg, line[0], line[1]),
        Sample::TestHole => trenches::draw_crossing(svg, at),
        Sample::Sleeve => trenches::draw_existing_sleeve(svg, &line),
        Sample::Fixed => decisions::draw_fixed(svg, &line),
        Sample::KeptOut => decisions::draw_patch(svg, at, true),
        Sample::Corridor => decisions::draw_patch(svg, at, false),
        Sample::Crossing => trenches::draw_crossing(svg, at),
        Sample::Pit => narrows::draw_pit(svg, at),
        Sample::Narrow => {
            narrows::draw_gap(
                svg,
                Point::new(at.x - 1.5, at.y),
                Point::new(at.x + 1.5, at.y),
            );
        }
        Sample::Symbol(symbol) => symbol.draw(svg, at),
        Sample::Stand(stand) => {
            Symbol::Head.draw(svg, at);
            pressure::draw_stand(svg, *stand, at);
        }
        Sample::Worst => {
            Symbol::Head.draw(svg, at);
            pressure::draw_worst(svg, at);
        }
        Sample::Service(class, sure) => services::draw_line(svg, *class, *sure, &line),
        Sample::Zone => services::draw_zone_line(svg, &line, 3.8),
        Sample::Boundary => svg.line(line[0], line[1], ground::BOUNDARY),
        Sample::Patch(pattern, edge) => ground::draw_patch(svg, at, pattern, *edge),
        Sample::Barrier(kind) => ground::draw_barrier(svg, *kind, &line),
        Sample::Gate => {
            let low = Point::new(at.x - 2.0, at.y + 1.4);
            ground::draw_gate_between(svg, low, Point::new(at.x + 2.0, at.y + 1.4));
        }
        Sample::Access => ground::draw_access(svg, at),
        Sample::Tree => {
            svg.circle(at, 2.2, ground::ROOT_ZONE);
            svg.circle(at, 0.7, ground::TRUNK);
        }
        Sample::Spot => ground::draw_spot(svg, at),
    }
}
