//! What trenches ask for that the practice has no room or fittings for.

use crate::candidates::{cross, length};
use crate::turning::between;
use crate::{Line, LineKind, Node, NodeKind, Stretch, StretchId};
use geo::{Coord, Rect};
use job::{Finding, Job};
use std::f64::consts::{FRAC_PI_2, PI};

/// Trenches side by side for less than this, in metres, only pass.
const PASSING: f64 = 1.0;
/// Boxes are looked at with so much to spare, in metres.
const ROUNDING: f64 = 1e-3;

/// Trenches with more pipes than lie well in one, and trenches too near to each other to be dug apart.
pub fn trench_findings(
    job: &Job,
    lines: &[Line],
    nodes: &[Node],
    stretches: &[Stretch],
) -> Vec<Finding> {
    let mut findings = crowded(job, lines, stretches);
    findings.extend(sharp(job, nodes, stretches));
    findings.extend(too_near(job, stretches));
    findings
}

fn crowded(job: &Job, lines: &[Line], stretches: &[Stretch]) -> Vec<Finding> {
    let most = job.practice.trench.most_pipes.value as usize;
    let is_pipe = |line: &usize| !matches!(lines[*line].kind, LineKind::Wire | LineKind::Cable(_));
    let pipes = |s: &Stretch| s.carries.iter().filter(|l| is_pipe(l)).count();
    numbered(stretches)
        .filter(|(_, s)| pipes(s) > most)
        .map(|(id, s)| {
            Finding::caution(
                "many-pipes",
                id.to_string(),
                format!("carries {} pipes, more than {most}", pipes(s)),
                "dig it wide enough to reach each of them, or lay a second trench beside it",
            )
        })
        .collect()
}

/// Junctions at which trenches part at an angle for which there are no fittings. At components the
/// riser or the manifold turns the pipes.
fn sharp(job: &Job, nodes: &[Node], stretches: &[Stretch]) -> Vec<Finding> {
    let least = job.practice.trench.least_angle.value;
    let mut arms: Vec<Vec<(StretchId, Coord)>> = vec![Vec::new(); nodes.len()];
    for (id, stretch) in numbered(stretches) {
        for node in [stretch.from, stretch.to] {
            let path = stretch.path_from(node);
            let away = Coord::from(path[1]) - Coord::from(path[0]);
            arms[node.index()].push((id, away));
        }
    }
    let mut findings = Vec::new();
    for (node, arms) in nodes.iter().zip(&arms) {
        if node.what != NodeKind::Junction {
            continue;
        }
        for (i, (first, u)) in arms.iter().enumerate() {
            for (second, v) in &arms[i + 1..] {
                let angle = between(*u, *v);
                if angle < least.to_rad() - 1e-6 {
                    findings.push(Finding::caution(
                        "sharp-junction",
                        second.to_string(),
                        format!(
                            "parts from {first} at {:.0}°, less than {:.0}°",
                            angle.to_degrees(),
                            least.to_deg()
                        ),
                        "turn the branch with one more bend beside the tee",
                    ));
                }
            }
        }
    }
    findings
}

/// Trenches side by side nearer than can be dug apart.
fn too_near(job: &Job, stretches: &[Stretch]) -> Vec<Finding> {
    let apart = job.practice.trench.spacing.value;
    let open: Vec<(StretchId, &Stretch, Rect)> = numbered(stretches)
        .filter(|(_, s)| s.sleeve.is_none())
        .filter_map(|(id, s)| Some((id, s, around(s)?)))
        .collect();
    let mut findings = Vec::new();
    for (i, (first, a, at)) in open.iter().enumerate() {
        for (second, b, other) in &open[i + 1..] {
            if !are_within(at, other, apart.to_m() + ROUNDING) {
                continue;
            }
            if beside(a, b, apart.to_m()) > PASSING {
                findings.push(Finding::caution(
                    "trenches-too-near",
                    second.to_string(),
                    format!(
                        "runs beside {first} nearer than {} ({})",
                        apart.small().show(quantity::Units::Us),
                        apart.small().show(quantity::Units::Si)
                    ),
                    "dig one trench wide enough for both",
                ));
            }
        }
    }
    findings
}

/// The box around a stretch.
fn around(stretch: &Stretch) -> Option<Rect> {
    let path = stretch.path.iter().map(|p| Coord::from(*p));
    path.map(|at| Rect::new(at, at)).reduce(|all, at| {
        let (low, high) = (all.min(), all.max());
        let at = at.min();
        Rect::new(
            (low.x.min(at.x), low.y.min(at.y)),
            (high.x.max(at.x), high.y.max(at.y)),
        )
    })
}

/// Whether two boxes may hold places nearer than `apart`.
fn are_within(a: &Rect, b: &Rect, apart: f64) -> bool {
    let beside =
        |low: f64, high: f64, from: f64, to: f64| low <= to + apart && from <= high + apart;
    beside(a.min().x, a.max().x, b.min().x, b.max().x)
        && beside(a.min().y, a.max().y, b.min().y, b.max().y)
}

/// Metres for which straight parts of two stretches run side by side nearer than `apart`.
fn beside(a: &Stretch, b: &Stretch, apart: f64) -> f64 {
    let mut sum = 0.0;
    for p in a.path.windows(2) {
        for q in b.path.windows(2) {
            let p = [Coord::from(p[0]), Coord::from(p[1])];
            sum += along(p, [Coord::from(q[0]), Coord::from(q[1])], apart);
        }
    }
    sum
}

fn along(p: [Coord; 2], q: [Coord; 2], apart: f64) -> f64 {
    let way = p[1] - p[0];
    let long = length(way);
    let angle = between(way, q[1] - q[0]);
    if long <= 0.0 || angle.min(PI - angle) > FRAC_PI_2 / 9.0 {
        return 0.0;
    }
    let share = |c: Coord| ((c - p[0]).x * way.x + (c - p[0]).y * way.y) / long;
    let off = |c: Coord| cross(way, c - p[0]) / long;
    let (from, to) = (share(q[0]), share(q[1]));
    let (low, high) = (from.min(to).max(0.0), from.max(to).min(long));
    if high <= low {
        return 0.0;
    }
    let at = |s: f64| off(q[0]) + (off(q[1]) - off(q[0])) * (s - from) / (to - from);
    // Where they part at a small angle, the part that is near is what counts.
    let (near, far) = (at(low).abs(), at(high).abs());
    let worst = near.max(far);
    if at(low) * at(high) < 0.0 || near.min(far) >= apart {
        return 0.0;
    }
    if worst < apart {
        return high - low;
    }
    (high - low) * (apart - near.min(far)) / (worst - near.min(far))
}

fn numbered(stretches: &[Stretch]) -> impl Iterator<Item = (StretchId, &Stretch)> {
    (0..).map(StretchId).zip(stretches)
}
