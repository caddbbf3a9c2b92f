//! Stretches in the style of their method, sleeves, crossings.

use crate::Scene;
use crate::labels::Placing;
use crate::outline;
use crate::purpose::Purpose;
use crate::style::{self, TrenchStyle};
use crate::svg::{Point, Svg, closed_path, number, open_path};
use job::MethodId;
use plan::routes::{Stretch, StretchId};

/// Half the mark of a crossing.
pub const CROSSING: f64 = 1.9;

pub fn draw(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    existing_sleeves(svg, scene);
    let network = scene.plan.network.iter();
    let seen: Vec<(StretchId, &Stretch, Vec<Point>)> = network
        .map(|(id, stretch)| {
            (
                id,
                stretch,
                outline::path_points(&scene.view, &stretch.path),
            )
        })
        .filter(|(_, _, points)| outline::may_reach(scene.window, points))
        .collect();
    for (_, _, points) in &seen {
        svg.path(
            &open_path(points),
            "stroke=\"#ffffff\" stroke-opacity=\"0.75\" stroke-width=\"2.2\"",
        );
    }
    for (id, stretch, points) in seen {
        draw_line(svg, style_of(scene, id), &points);
        if stretch.sleeve.is_some() {
            draw_sleeve_ends(svg, &points);
        }
        placing.avoid_line(&points, line_cost(stretch));
    }
    crossings(svg, scene, placing);
}

/// The style of a stretch: that of its method, or one for all where methods are not shown.
fn style_of(scene: &Scene, id: StretchId) -> TrenchStyle {
    if !scene.purpose.shows_methods() {
        return style::PLANNED;
    }
    let unknown = MethodId(String::new());
    style::trench(scene.job, method_of(scene, id).unwrap_or(&unknown))
}

/// Words cost more on a trench that holds more.
fn line_cost(stretch: &Stretch) -> f64 {
    1.0 + 0.1 * stretch.carries.len() as f64
}

/// The method of a stretch, if the plan has one.
pub fn method_of<'a>(scene: &Scene<'a>, id: StretchId) -> Option<&'a MethodId> {
    let digs = &scene.plan.digging.digs;
    digs.iter()
        .find(|dig| dig.stretch == id)
        .map(|dig| &dig.method)
}

pub fn draw_line(svg: &mut Svg, style: TrenchStyle, points: &[Point]) {
    let data = open_path(points);
    svg.path(&data, &style.attributes());
    if style.hollow {
        let width = number(style.weight - 0.7);
        svg.path(
            &data,
            &format!("stroke=\"#ffffff\" stroke-width=\"{width}\""),
        );
    }
}

/// A bar across each end.
pub fn draw_sleeve_ends(svg: &mut Svg, points: &[Point]) {
    let mut bars = String::new();
    for at in [0.0, outline::length(points)] {
        if let Some((p, direction)) = outline::along(points, at) {
            let across = direction + std::f64::consts::FRAC_PI_2;
            bars += &open_path(&[p.off(across, -1.7), p.off(across, 1.7)]);
        }
    }
    svg.path(&bars, "stroke=\"#111111\" stroke-width=\"0.5\"");
}

fn existing_sleeves(svg: &mut Svg, scene: &Scene) {
    for sleeve in &scene.job.system.sleeves {
        let points = [scene.view.point(sleeve.from), scene.view.point(sleeve.to)];
        draw_existing_sleeve(svg, &points);
    }
}

pub fn draw_existing_sleeve(svg: &mut Svg, points: &[Point]) {
    let data = open_path(points);
    svg.path(&data, "stroke=\"#555555\" stroke-width=\"3\"");
    svg.path(&data, "stroke=\"#ffffff\" stroke-width=\"2.5\"");
    svg.path(
        &data,
        "stroke=\"#555555\" stroke-width=\"0.2\" stroke-dasharray=\"1 1\"",
    );
}

fn crossings(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    if scene.purpose == Purpose::Locate {
        // The test holes stand in their places.
        return;
    }
    for crossing in &scene.plan.network.crossings {
        let at = scene.view.point(crossing.at);
        if !scene.window.holds(at) {
            continue;
        }
        draw_crossing(svg, at);
        placing.keep_off(at, CROSSING);
    }
}

/// A triangle that stands on its point, over what has to be exposed by hand.
pub fn draw_crossing(svg: &mut Svg, at: Point) {
    let r = CROSSING;
    let corners =
        [(-r, -r * 0.75), (r, -r * 0.75), (0.0, r)].map(|(x, y)| Point::new(at.x + x, at.y + y));
    svg.path(
        &closed_path(&corners),
        "fill=\"#ffffff\" fill-opacity=\"0.85\" stroke=\"#111111\" stroke-width=\"0.45\"",
    );
    svg.circle(at, 0.35, "fill=\"#111111\"");
}
