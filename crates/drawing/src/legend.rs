//! The legend: what occurs on this sheet, and nothing else.

use crate::Scene;
use crate::components::{self, Component, Symbol};
use crate::decisions;
use crate::details;
use crate::ground;
use crate::narrows;
use crate::pressure::{self, Stand};
use crate::services;
use crate::sheet::Layout;
use crate::style::{self, INK, SMALL_TEXT};
use crate::svg::{Anchor, Point, Svg, Text};
use crate::trenches;
use job::{MethodId, ObstacleKind, ServiceClass, Shape, SurfaceKind};
use quantity::{Amount, Style};
use std::collections::BTreeSet;

/// What a row of the legend shows.
enum Sample<'a> {
    Heading,
    Method(&'a MethodId),
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

/// Height of a row if there is room enough.
const ROW: f64 = 5.2;
/// Width of a column.
const COLUMN: f64 = 86.0;

pub fn draw(svg: &mut Svg, scene: &Scene, layout: &Layout) {
    let rows = rows(scene);
    let frame = layout.legend;
    let columns = (frame.width / COLUMN).floor().max(1.0) as usize;
    let in_column = rows.len().div_ceil(columns).max(1);
    let step = ROW.min((frame.height - 5.0) / in_column as f64);
    for (i, row) in rows.iter().enumerate() {
        let x = frame.x + COLUMN * (i / in_column) as f64;
        let y = frame.y + 2.5 + step * ((i % in_column) as f64 + 0.5);
        draw_row(svg, scene, row, Point::new(x, y));
    }
}

fn draw_row(svg: &mut Svg, scene: &Scene, row: &Row, at: Point) {
    draw_sample(svg, scene, &row.sample, Point::new(at.x + 10.0, at.y));
    let heading = matches!(row.sample, Sample::Heading);
    let (indent, bold) = if heading {
        (4.0, "font-weight=\"bold\"")
    } else {
        (19.0, "")
    };
    svg.text(&Text {
        at: Point::new(at.x + indent, at.y + SMALL_TEXT * 0.36),
        turn: 0.0,
        size: SMALL_TEXT,
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
    let methods: BTreeSet<&MethodId> = scene.plan.digging.digs.iter().map(|d| &d.method).collect();
    let mut rows: Vec<Row> = methods
        .into_iter()
        .map(|id| row(Sample::Method(id), style::method_label(scene.job, id)))
        .collect();
    if !scene.job.system.sleeves.is_empty() {
        rows.push(row(Sample::Sleeve, "sleeve that lies there already"));
    }
    if !scene.job.decisions.fixed.is_empty() {
        rows.push(row(Sample::Fixed, "fixed where it is drawn"));
    }
    if !scene.job.decisions.corridors.is_empty() {
        rows.push(row(Sample::Corridor, "corridor: trenches preferred"));
    }
    if !scene.job.decisions.keep_outs.is_empty() {
        rows.push(row(Sample::KeptOut, "nothing is dug here"));
    }
    if !scene.plan.network.crossings.is_empty() {
        rows.push(row(Sample::Crossing, "crossing: expose by hand first"));
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
    if !survey.accesses.is_empty() {
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
    let kinds: BTreeSet<SurfaceKind> = survey.surfaces.iter().map(|s| s.kind).collect();
    let mut rows: Vec<Row> = kinds
        .into_iter()
        .map(|kind| {
            row(
                Sample::Patch(style::surface_fill(kind), false),
                kind.label(),
            )
        })
        .collect();
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
