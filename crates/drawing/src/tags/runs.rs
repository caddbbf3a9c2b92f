//! Labels along lines: pipe sizes, one for a run of one size, and the ids of stretches.

use crate::Scene;
use crate::labels::{Label, Spot, Weight};
use crate::outline;
use crate::sheet::Frame;
use crate::style::SMALL_TEXT;
use crate::svg::Point;
use plan::hydraulics::Pipe;
use plan::routes::{Line, LineKind, NodeId, StretchId};
use std::collections::BTreeMap;

/// Stretches of one line that hang together and have one size.
struct Run {
    size: String,
    stretches: Vec<StretchId>,
}

/// One label for every run of pipe.
pub fn sizes(scene: &Scene) -> Vec<Label> {
    let lines = scene.plan.network.lines.iter().enumerate();
    lines
        .filter(|(_, line)| line.kind.is_pipe())
        .flat_map(|(index, line)| {
            let name = short_name(line);
            runs(scene, index, line)
                .into_iter()
                .filter_map(move |run| size_label(scene, &name, &run))
        })
        .collect()
}

fn short_name(line: &Line) -> String {
    match &line.kind {
        LineKind::Lateral(circuit) => circuit.clone(),
        _ => line.name.clone(),
    }
}

/// Follows the line from its root: a branch belongs to the run that feeds it while the size stays.
fn runs(scene: &Scene, index: usize, line: &Line) -> Vec<Run> {
    let pipes: BTreeMap<StretchId, &Pipe> = scene
        .plan
        .hydraulics
        .pipes
        .iter()
        .filter(|pipe| pipe.line == index)
        .map(|pipe| (pipe.stretch, pipe))
        .collect();
    let mut runs: Vec<Run> = Vec::new();
    let mut run_to: BTreeMap<NodeId, usize> = BTreeMap::new();
    for branch in &line.branches {
        let Some(pipe) = pipes.get(&branch.stretch) else {
            continue;
        };
        let feeding = run_to
            .get(&branch.from)
            .copied()
            .filter(|&run| runs[run].size == pipe.size);
        let run = feeding.unwrap_or_else(|| {
            runs.push(Run {
                size: pipe.size.clone(),
                stretches: Vec::new(),
            });
            runs.len() - 1
        });
        runs[run].stretches.push(branch.stretch);
        run_to.insert(branch.to, run);
    }
    runs
}

/// A piece shorter than this is no good place for the size of a run that goes on elsewhere.
const SHORT: f64 = 4.0;

fn size_label(scene: &Scene, name: &str, run: &Run) -> Option<Label> {
    let holes: Vec<Frame> = scene.details.iter().map(|d| d.on_plan).collect();
    let mut pieces: Vec<(usize, f64, Vec<Point>)> = Vec::new();
    let (mut whole, mut shown) = (0.0, 0.0);
    for &id in &run.stretches {
        let stretch = scene.plan.network.stretch(id);
        let points = outline::path_points(&scene.view, &stretch.path);
        whole += outline::length(&points);
        for piece in outline::pieces(&points, scene.window, &holes) {
            let length = outline::length(&piece);
            shown += length;
            pieces.push((stretch.carries.len(), length, piece));
        }
    }
    let longest = pieces.iter().map(|p| p.1).fold(0.0, f64::max);
    if longest < SHORT && shown < whole - 1e-6 {
        return None;
    }
    // Long pieces with little else in them first: there the size is clearest.
    let rank = |(others, length, _): &(usize, f64, Vec<Point>)| {
        *others as f64 - 4.0 * length / longest.max(1e-9)
    };
    pieces.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    let words = vec![format!("{name} {}", run.size)];
    let mut label = line_label(words, Weight::Size, &pieces.first()?.2);
    for (_, _, points) in pieces.iter().skip(1).take(5) {
        label.spots.extend(spots_along(&label, points));
    }
    Some(label)
}

/// The id of every stretch, where there is room.
pub fn stretch_ids(scene: &Scene) -> Vec<Label> {
    let network = &scene.plan.network;
    network
        .iter()
        .map(|(id, stretch)| {
            let points = outline::path_points(&scene.view, &stretch.path);
            line_label(vec![id.to_string()], Weight::Stretch, &points)
        })
        .collect()
}

/// The name of something long that stands on the property.
pub fn along_line(words: Vec<String>, points: &[Point]) -> Label {
    line_label(words, Weight::Ground, points)
}

fn line_label(lines: Vec<String>, weight: Weight, points: &[Point]) -> Label {
    let middle = outline::along(points, outline::length(points) / 2.0);
    let target = middle.map_or(Point::new(0.0, 0.0), |(at, _)| at);
    let mut label = Label {
        lines,
        size: SMALL_TEXT,
        weight,
        bold: false,
        target,
        spots: Vec::new(),
        choice: outline::length(points) as u32,
    };
    label.spots = spots_along(&label, points);
    label
}

/// Paper between the middle of a heavy line and a text beside it.
const BESIDE: f64 = 1.5;

/// Places along a line, above and below it, from its middle outwards.
fn spots_along(label: &Label, points: &[Point]) -> Vec<Spot> {
    let length = outline::length(points);
    let off = BESIDE + label.height() / 2.0;
    let shares = [0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92];
    let places: Vec<(Point, f64)> = shares
        .iter()
        .filter_map(|share| outline::along(points, length * share))
        .collect();
    let mut spots = Vec::new();
    for far in [off, off + 1.6] {
        for &(at, direction) in &places {
            let turn = outline::upright(direction);
            let up = (turn - 90.0).to_radians();
            spots.extend([far, -far].map(|far| Spot {
                middle: at.off(up, far),
                turn,
            }));
        }
    }
    spots
}
