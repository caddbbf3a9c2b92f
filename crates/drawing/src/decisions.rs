//! Where people want trenches and where not: places kept out, corridors, fixed trenches.

use crate::Scene;
use crate::outline;
use crate::svg::{Point, Svg, closed_path, open_path};

/// The slanting lines across a place kept out meet the edge of the paper this far apart, in mm.
const STEP: f64 = 4.0;

const KEPT_OUT: &str = "stroke=\"#8a1c1c\" stroke-width=\"0.45\" stroke-dasharray=\"2.4 0.9\" \
                        fill=\"#8a1c1c\" fill-opacity=\"0.07\"";
const ACROSS: &str = "stroke=\"#8a1c1c\" stroke-width=\"0.18\"";
const CORRIDOR: &str = "stroke=\"#2f6f8f\" stroke-width=\"0.3\" stroke-dasharray=\"0.5 1.1\" \
                        fill=\"#2f6f8f\" fill-opacity=\"0.08\"";
/// Under the trench that runs there, so that it shows on both sides of it.
const FIXED: &str = "stroke=\"#2f6f8f\" stroke-opacity=\"0.45\" stroke-width=\"3.6\"";

pub fn draw(svg: &mut Svg, scene: &Scene) {
    let decisions = &scene.job.decisions;
    for corridor in &decisions.corridors {
        svg.path(&outline::polygon(&scene.view, &corridor.polygon), CORRIDOR);
    }
    for place in &decisions.keep_outs {
        draw_kept_out(svg, &outline::points(&scene.view, place.polygon.exterior()));
    }
    for trench in &decisions.fixed {
        draw_fixed(svg, &outline::points(&scene.view, &trench.line));
    }
}

/// A place where nothing is dug: its outline, and slanting lines across it.
fn draw_kept_out(svg: &mut Svg, ring: &[Point]) {
    svg.path(&closed_path(ring), KEPT_OUT);
    let low = ring.iter().fold(f64::INFINITY, |low, p| low.min(p.x + p.y));
    let high = ring
        .iter()
        .fold(f64::NEG_INFINITY, |high, p| high.max(p.x + p.y));
    let mut at = low + STEP;
    while at < high {
        for pair in cuts(ring, at).chunks_exact(2) {
            svg.line(pair[0], pair[1], ACROSS);
        }
        at += STEP;
    }
}

/// Where the slanting line `x + y = at` enters and leaves a ring, in order along it.
fn cuts(ring: &[Point], at: f64) -> Vec<Point> {
    let mut found: Vec<Point> = Vec::new();
    for (i, a) in ring.iter().enumerate() {
        let b = &ring[(i + 1) % ring.len()];
        let (from, to) = (a.x + a.y - at, b.x + b.y - at);
        // Half open, so that a corner on the line counts once.
        if (from < 0.0) != (to < 0.0) {
            let t = from / (from - to);
            found.push(Point::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t));
        }
    }
    found.sort_by(|p, q| p.x.total_cmp(&q.x));
    found
}

pub fn draw_fixed(svg: &mut Svg, points: &[Point]) {
    svg.path(&open_path(points), FIXED);
}

/// A corridor or a place kept out, for the legend.
pub fn draw_patch(svg: &mut Svg, middle: Point, kept_out: bool) {
    let (w, h) = (5.5, 1.9);
    let corners =
        [(-w, -h), (w, -h), (w, h), (-w, h)].map(|(x, y)| Point::new(middle.x + x, middle.y + y));
    if kept_out {
        draw_kept_out(svg, &corners);
    } else {
        svg.path(&closed_path(&corners), CORRIDOR);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slanting_line_is_cut_to_the_ring() {
        let ring = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)].map(|(x, y)| Point::new(x, y));
        let found = cuts(&ring, 4.0);
        assert_eq!(found.len(), 2);
        assert!(found[0].x.abs() < 1e-9 && (found[1].x - 4.0).abs() < 1e-9);
        assert!(cuts(&ring, 9.0).is_empty());
    }
}
