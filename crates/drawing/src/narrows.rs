//! Gaps that keep machines away, and pits of pulled pipe.

use crate::Scene;
use crate::labels::Placing;
use crate::style::INK;
use crate::svg::{Point, Svg, closed_path, open_path};
use plan::digging::Narrow;

/// Half the mark of a pit.
pub const PIT: f64 = 0.75;

/// Length of the heads of the arrows in a gap.
const HEAD: f64 = 1.6;

pub fn draw(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    for pit in scene.plan.digging.pits() {
        let at = scene.view.point(pit.at);
        if scene.window.holds(at) {
            draw_pit(svg, at);
            placing.keep_off(at, PIT);
        }
    }
    for narrow in &scene.plan.digging.narrows {
        let (from, to) = ends(scene, narrow);
        if scene.window.holds(middle(from, to)) {
            draw_gap(svg, from, to);
            placing.avoid_line(&[from, to], 1.5);
        }
    }
}

/// The ends of a gap on the sheet.
pub fn ends(scene: &Scene, narrow: &Narrow) -> (Point, Point) {
    (scene.view.point(narrow.from), scene.view.point(narrow.to))
}

pub fn middle(a: Point, b: Point) -> Point {
    Point::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0)
}

/// A pit as a small square on the line.
pub fn draw_pit(svg: &mut Svg, at: Point) {
    let r = PIT;
    let corners = [(-r, -r), (r, -r), (r, r), (-r, r)].map(|(x, y)| Point::new(at.x + x, at.y + y));
    let style = format!("fill=\"#ffffff\" stroke=\"{INK}\" stroke-width=\"0.25\"");
    svg.path(&closed_path(&corners), &style);
}

/// Two arrows from outside against the ends of a gap, and a fine line across it.
pub fn draw_gap(svg: &mut Svg, from: Point, to: Point) {
    let direction = (to.y - from.y).atan2(to.x - from.x);
    let back = direction + std::f64::consts::PI;
    let fine = "stroke=\"#9a0030\" stroke-width=\"0.25\"";
    svg.line(from, to, fine);
    for (tip, outward) in [(from, back), (to, direction)] {
        let head = [
            tip,
            tip.off(outward + 0.4, HEAD),
            tip.off(outward - 0.4, HEAD),
        ];
        svg.path(&closed_path(&head), "fill=\"#9a0030\"");
        let shaft = [tip.off(outward, HEAD * 0.9), tip.off(outward, HEAD * 2.0)];
        svg.path(
            &open_path(&shaft),
            "stroke=\"#9a0030\" stroke-width=\"0.4\"",
        );
    }
}
