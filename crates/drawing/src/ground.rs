//! The ground and what stands on it.

use crate::Scene;
use crate::labels::Placing;
use crate::outline;
use crate::style::{self, INK, obstacle_fill, surface_fill};
use crate::svg::{Point, Svg, closed_path, open_path};
use job::{Gate, Obstacle, ObstacleKind, Shape, Tree};

/// Half a spot elevation's cross.
pub const SPOT: f64 = 0.7;
/// Radius of the mark where machines get in.
pub const ACCESS: f64 = 2.6;

pub fn draw(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    surfaces(svg, scene);
    if scene.purpose.shows_ground() {
        steeps(svg, scene);
    }
    for tree in &scene.job.survey.trees {
        draw_tree(svg, scene, placing, tree);
    }
    for obstacle in &scene.job.survey.obstacles {
        draw_obstacle(svg, scene, placing, obstacle);
    }
    for gate in &scene.job.survey.gates {
        draw_gate(svg, scene, placing, gate);
    }
    boundary(svg, scene, placing);
    if scene.purpose.shows_ground() {
        spots(svg, scene, placing);
        accesses(svg, scene, placing);
    }
}

/// What lies wherever nothing else does comes first and fills the property.
fn surfaces(svg: &mut Svg, scene: &Scene) {
    let survey = &scene.job.survey;
    let filled = || survey.surfaces.iter().filter(|s| scene.purpose.fills(s));
    for surface in filled().filter(|s| s.polygon.is_none()) {
        let data = outline::polygon(&scene.view, &survey.boundary.polygon);
        fill(svg, &data, surface_fill(surface.kind), "");
    }
    for surface in filled() {
        let Some(polygon) = &surface.polygon else {
            continue;
        };
        let edge = if surface.kind.is_paved() {
            " stroke=\"#6a6a6a\" stroke-width=\"0.25\""
        } else {
            " stroke=\"#9a9a8a\" stroke-width=\"0.15\""
        };
        let data = outline::polygon(&scene.view, polygon);
        fill(svg, &data, surface_fill(surface.kind), edge);
    }
}

/// Fills an area with a pattern's ground and its marks, and draws its edge.
fn fill(svg: &mut Svg, data: &str, pattern: &str, edge: &str) {
    if let Some(ground) = style::ground(pattern) {
        svg.path(data, &format!("fill=\"{ground}\" fill-rule=\"evenodd\""));
    }
    svg.path(
        data,
        &format!("fill=\"url(#{pattern})\" fill-rule=\"evenodd\"{edge}"),
    );
}

fn steeps(svg: &mut Svg, scene: &Scene) {
    for steep in &scene.job.survey.steeps {
        let data = outline::polygon(&scene.view, &steep.polygon);
        fill(svg, &data, "steep", "");
        svg.path(
            &data,
            "stroke=\"#6b5a3c\" stroke-width=\"0.2\" stroke-dasharray=\"0.6 0.8\"",
        );
    }
}

/// Radius of a trunk as drawn: to scale, but never too small to see.
pub fn trunk_radius(scene: &Scene, tree: &Tree) -> f64 {
    scene.view.paper(tree.trunk.to_m() / 2.0).max(0.9)
}

fn draw_tree(svg: &mut Svg, scene: &Scene, placing: &mut Placing, tree: &Tree) {
    let at = scene.view.point(tree.at);
    let roots = scene.view.paper(scene.job.root_radius(tree).to_m());
    svg.circle(at, roots, ROOT_ZONE);
    let trunk = trunk_radius(scene, tree);
    svg.circle(at, trunk, TRUNK);
    placing.keep_off(at, trunk + 0.3);
}

pub const ROOT_ZONE: &str = "fill=\"#4d7a3a\" fill-opacity=\"0.13\" stroke=\"#3f6a2e\" \
                             stroke-width=\"0.3\" stroke-dasharray=\"1.6 0.8\"";
pub const TRUNK: &str = "fill=\"#6b4a2b\" stroke=\"#2e1d0c\" stroke-width=\"0.25\"";

fn draw_obstacle(svg: &mut Svg, scene: &Scene, placing: &mut Placing, obstacle: &Obstacle) {
    match &obstacle.shape {
        Shape::Area(polygon) => {
            let data = outline::polygon(&scene.view, polygon);
            let weight = if obstacle.kind == ObstacleKind::Building {
                "0.55"
            } else {
                "0.35"
            };
            let edge = format!(" stroke=\"{INK}\" stroke-width=\"{weight}\"");
            fill(svg, &data, obstacle_fill(obstacle.kind), &edge);
            placing.avoid_line(&outline::points(&scene.view, polygon.exterior()), 0.4);
        }
        Shape::Line(line) => {
            let points = outline::points(&scene.view, line);
            draw_barrier(svg, obstacle.kind, &points);
            placing.avoid_line(&points, 0.4);
        }
    }
}

/// A wall or a fence as a line.
pub fn draw_barrier(svg: &mut Svg, kind: ObstacleKind, points: &[Point]) {
    let data = open_path(points);
    if kind == ObstacleKind::Fence {
        svg.path(&data, &format!("stroke=\"{INK}\" stroke-width=\"0.25\""));
        let mut marks = String::new();
        let mut at = 2.0;
        while at < outline::length(points) {
            if let Some((p, direction)) = outline::along(points, at) {
                for turn in [0.8, -0.8] {
                    let arm = direction + turn;
                    marks += &open_path(&[p.off(arm, -0.75), p.off(arm, 0.75)]);
                }
            }
            at += 5.0;
        }
        svg.path(&marks, &format!("stroke=\"{INK}\" stroke-width=\"0.25\""));
    } else {
        svg.path(&data, &format!("stroke=\"{INK}\" stroke-width=\"1.1\""));
        svg.path(&data, "stroke=\"#c9c4bd\" stroke-width=\"0.55\"");
    }
}

/// Posts, the opening between them, and the leaf.
fn draw_gate(svg: &mut Svg, scene: &Scene, placing: &mut Placing, gate: &Gate) {
    let (from, to) = (scene.view.point(gate.from), scene.view.point(gate.to));
    draw_gate_between(svg, from, to);
    for post in [from, to] {
        placing.keep_off(post, 0.8);
    }
    placing.avoid_line(&[from, to], 1.0);
}

pub fn draw_gate_between(svg: &mut Svg, from: Point, to: Point) {
    svg.line(from, to, "stroke=\"#ffffff\" stroke-width=\"1.7\"");
    let width = from.distance(to);
    let direction = (to.y - from.y).atan2(to.x - from.x);
    let tip = from.off(direction - 1.0, width);
    let thin = format!("stroke=\"{INK}\" stroke-width=\"0.2\"");
    svg.line(
        from,
        tip,
        &format!("stroke=\"{INK}\" stroke-width=\"0.35\""),
    );
    let arc: Vec<Point> = (0..=8)
        .map(|i| from.off(direction - f64::from(i) / 8.0, width))
        .collect();
    svg.path(&open_path(&arc), &thin);
    for post in [from, to] {
        let corner = Point::new(post.x - 0.6, post.y - 0.6);
        svg.rect(corner, 1.2, 1.2, &format!("fill=\"{INK}\""));
    }
}

fn boundary(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    let polygon = &scene.job.survey.boundary.polygon;
    svg.path(&outline::polygon(&scene.view, polygon), BOUNDARY);
    placing.avoid_line(&outline::points(&scene.view, polygon.exterior()), 0.6);
}

pub const BOUNDARY: &str =
    "stroke=\"#1a1a1a\" stroke-width=\"0.5\" stroke-dasharray=\"9 1.4 1.6 1.4 1.6 1.4\"";

fn spots(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    for spot in &scene.job.survey.spots {
        let at = scene.view.point(spot.at);
        draw_spot(svg, at);
        placing.keep_off(at, SPOT);
    }
}

pub fn draw_spot(svg: &mut Svg, at: Point) {
    let arms = [(SPOT, 0.0), (0.0, SPOT)].map(|(x, y)| {
        open_path(&[
            Point::new(at.x - x, at.y - y),
            Point::new(at.x + x, at.y + y),
        ])
    });
    svg.path(&arms.concat(), "stroke=\"#7a7a7a\" stroke-width=\"0.2\"");
}

fn accesses(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    for access in &scene.job.survey.accesses {
        let at = scene.view.point(access.at);
        draw_access(svg, at);
        placing.keep_off(at, ACCESS);
    }
}

/// Two chevrons in a ring.
pub fn draw_access(svg: &mut Svg, at: Point) {
    let ink = format!("stroke=\"{INK}\" stroke-width=\"0.4\"");
    svg.circle(at, ACCESS, &format!("fill=\"#ffffff\" {ink}"));
    for shift in [-0.9, 0.5] {
        let chevron = [(-1.2, 0.9), (0.0, -0.3), (1.2, 0.9)]
            .map(|(x, y)| Point::new(at.x + x, at.y + y + shift));
        svg.path(&open_path(&chevron), &ink);
    }
}

/// A patch of a pattern, for the legend.
pub fn draw_patch(svg: &mut Svg, middle: Point, pattern: &str, edge: bool) {
    let (w, h) = (5.5, 1.9);
    let corners =
        [(-w, -h), (w, -h), (w, h), (-w, h)].map(|(x, y)| Point::new(middle.x + x, middle.y + y));
    let stroke = if edge {
        " stroke=\"#1a1a1a\" stroke-width=\"0.4\""
    } else {
        " stroke=\"#9a9a8a\" stroke-width=\"0.15\""
    };
    fill(svg, &closed_path(&corners), pattern, stroke);
}
