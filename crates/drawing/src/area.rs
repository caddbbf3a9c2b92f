//! The dig area of the locate request, what its corners are told from, and the test holes.

use crate::Scene;
use crate::labels::{Label, Placing, Spot, Weight};
use crate::outline;
use crate::picture::words_at;
use crate::style::{INK, SMALL_TEXT, TEXT};
use crate::svg::{Point, Svg, closed_path, open_path};
use crate::tags::at_point;
use crate::trenches::{CROSSING, draw_crossing};
use plan::Plan;
use plan::digging::CrossingCheck;
use plan::staking::{DigArea, DigCorner};
use std::collections::BTreeSet;

/// Radius of a corner's letter.
const BADGE: f64 = 2.9;
/// Paper from a corner to the middle of its letter.
const OUT: f64 = 4.2;
/// Half the mark of a fixed point.
pub const FIXED: f64 = 1.3;

/// The services to be exposed by hand before the machine comes, with the names of the test holes:
/// `TH1`, `TH2`, … in the order of the plan.
pub fn test_holes(plan: &Plan) -> impl Iterator<Item = (String, &CrossingCheck)> {
    let exposed = plan.digging.crossings.iter().filter(|check| check.expose);
    (1..)
        .zip(exposed)
        .map(|(number, check): (u32, _)| (format!("TH{number}"), check))
}

pub fn draw(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    for area in &scene.plan.staking.request.areas {
        let ring = outline::path_points(&scene.view, &area.outline);
        let mut closed = ring.clone();
        closed.extend(ring.first());
        svg.path(&closed_path(&ring), EDGE);
        placing.avoid_line(&closed, 1.5);
        for corner in &area.corners {
            let at = badge_at(scene, area, corner);
            draw_badge(svg, at, &corner.id);
            placing.keep_off(at, BADGE);
        }
    }
    for at in fixed_points(scene).iter().map(|(at, _)| *at) {
        draw_fixed(svg, at);
        placing.keep_off(at, FIXED);
    }
    for (_, hole) in test_holes(scene.plan) {
        let at = scene.view.point(hole.at);
        draw_crossing(svg, at);
        placing.keep_off(at, CROSSING);
    }
}

const EDGE: &str = "stroke=\"#111111\" stroke-width=\"1.1\" stroke-dasharray=\"5 1.6\"";

/// A piece of the area's edge, for the legend.
pub fn draw_edge(svg: &mut Svg, points: &[Point]) {
    svg.path(&open_path(points), EDGE);
}

/// Outside the area, on the line that halves its corner.
fn badge_at(scene: &Scene, area: &DigArea, corner: &DigCorner) -> Point {
    let ring = &area.outline;
    let count = ring.len();
    let here = scene.view.point(corner.at);
    let Some(i) = ring.iter().position(|place| *place == corner.at) else {
        return here;
    };
    let [before, after] =
        [ring[(i + count - 1) % count], ring[(i + 1) % count]].map(|at| scene.view.point(at));
    let unit = |to: Point| {
        let far = here.distance(to).max(1e-9);
        ((to.x - here.x) / far, (to.y - here.y) / far)
    };
    let (p, q) = (unit(before), unit(after));
    let (x, y) = (p.0 + q.0, p.1 + q.1);
    let turn = p.0 * q.1 - p.1 * q.0;
    // Where it runs straight on, square to it; clockwise on paper, the outside lies on the left.
    let (x, y) = if x.hypot(y) < 1e-6 {
        (q.1, -q.0)
    } else {
        (-x, -y)
    };
    let far = x.hypot(y);
    // A corner that comes in has its outside between the two sides.
    let way = if turn > 1e-6 { -OUT / far } else { OUT / far };
    Point::new(here.x + x * way, here.y + y * way)
}

fn draw_badge(svg: &mut Svg, at: Point, letter: &str) {
    svg.circle(
        at,
        BADGE,
        &format!("fill=\"{INK}\" stroke=\"#ffffff\" stroke-width=\"0.4\""),
    );
    svg.open_group("fill=\"#ffffff\" font-weight=\"bold\"");
    words_at(svg, at, 0.0, TEXT, letter);
    svg.close_group();
}

/// A ring with a cross, as one holds a tape at it.
pub fn draw_fixed(svg: &mut Svg, at: Point) {
    let r = FIXED;
    svg.circle(
        at,
        r,
        &format!("fill=\"#ffffff\" stroke=\"{INK}\" stroke-width=\"0.35\""),
    );
    let arms = [(r, 0.0), (0.0, r)].map(|(x, y)| {
        open_path(&[
            Point::new(at.x - x, at.y - y),
            Point::new(at.x + x, at.y + y),
        ])
    });
    svg.path(
        &arms.concat(),
        &format!("stroke=\"{INK}\" stroke-width=\"0.35\""),
    );
}

/// What the corners are told from, each once, with its name.
fn fixed_points<'a>(scene: &Scene<'a>) -> Vec<(Point, &'a str)> {
    let staking = &scene.plan.staking;
    let used: BTreeSet<usize> = staking
        .request
        .corners()
        .map(|corner| corner.from)
        .collect();
    crate::stakes::named(scene, used)
}

pub fn labels(scene: &Scene) -> Vec<Label> {
    let fixed = fixed_points(scene).into_iter().map(|(at, name)| {
        at_point(
            vec![name.to_owned()],
            SMALL_TEXT,
            Weight::Component,
            at,
            FIXED,
        )
    });
    let holes = test_holes(scene.plan).map(|(name, hole)| {
        let at = scene.view.point(hole.at);
        let words = vec![name, format!("{} {}", hole.utility, hole.service)];
        at_point(words, SMALL_TEXT, Weight::Component, at, CROSSING)
    });
    let mut labels: Vec<Label> = fixed.chain(holes).collect();
    for area in &scene.plan.staking.request.areas {
        let next = area.corners.iter().cycle().skip(1);
        let sides = area
            .corners
            .iter()
            .zip(next)
            .filter(|(corner, _)| !corner.along_boundary);
        labels.extend(sides.map(|(from, to)| side(scene, from, to)));
    }
    labels
}

/// The length of a side, outside of it.
fn side(scene: &Scene, from: &DigCorner, to: &DigCorner) -> Label {
    let [a, b] = [from, to].map(|corner| scene.view.point(corner.at));
    let words = from.to_next.amount().show(scene.units);
    let target = a.toward(b, 0.5);
    let mut label = at_point(vec![words], SMALL_TEXT, Weight::Size, target, 1.0);
    let direction = (b.y - a.y).atan2(b.x - a.x);
    let turn = outline::upright(direction);
    let left = direction - std::f64::consts::FRAC_PI_2;
    let off = 1.4 + label.height() / 2.0;
    let along = [0.5, 0.3, 0.7]
        .into_iter()
        .flat_map(|t| [(t, off), (t, -off)]);
    label.spots = along
        .map(|(t, off)| Spot {
            middle: a.toward(b, t).off(left, off),
            turn,
        })
        .collect();
    label
}
