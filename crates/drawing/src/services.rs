//! Buried services of others, in their marking colours, with a letter in the line.

use crate::Scene;
use crate::labels::Placing;
use crate::outline;
use crate::style::{INK, service};
use crate::svg::{Anchor, Point, Svg, Text, number, open_path};
use job::{ServiceClass, Utility};

/// Paper from letter to letter.
const EVERY: f64 = 30.0;
/// Font size of the letter.
const LETTER: f64 = 3.0;

pub fn draw(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    let crossings = scene.plan.network.crossings.iter();
    let crossings: Vec<Point> = crossings.map(|c| scene.view.point(c.at)).collect();
    for utility in &scene.job.survey.utilities {
        let points = outline::points(&scene.view, &utility.line);
        draw_zone(svg, scene, utility, &points);
    }
    for utility in &scene.job.survey.utilities {
        let points = outline::points(&scene.view, &utility.line);
        let mut letters = letters(&points, &crossings);
        // What is clipped away would still be read by a search in the file.
        letters.retain(|at| scene.window.holds(*at));
        draw_strokes(svg, utility.class, is_sure(utility), &points);
        draw_letters(svg, utility.class, &letters);
        placing.avoid_line(&points, 0.7);
        for at in letters {
            placing.keep_off(at, 1.6);
        }
    }
}

/// Whether its place is known: located and marked on the ground.
pub fn is_sure(utility: &Utility) -> bool {
    utility.located && utility.marked
}

/// The strip in which one digs by hand.
fn draw_zone(svg: &mut Svg, scene: &Scene, utility: &Utility, points: &[Point]) {
    let tolerance = scene.job.practice.utility.tolerance.value;
    let width = scene.view.paper((utility.width + tolerance * 2.0).to_m());
    draw_zone_line(svg, points, width);
}

pub fn draw_zone_line(svg: &mut Svg, points: &[Point], width: f64) {
    let width = number(width);
    svg.path(
        &open_path(points),
        &format!("stroke=\"#000000\" stroke-opacity=\"0.09\" stroke-width=\"{width}\""),
    );
}

/// The line itself: dashed where its place is not sure.
pub fn draw_line(svg: &mut Svg, class: ServiceClass, sure: bool, points: &[Point]) {
    draw_strokes(svg, class, sure, points);
    draw_letters(svg, class, &letters(points, &[]));
}

fn draw_strokes(svg: &mut Svg, class: ServiceClass, sure: bool, points: &[Point]) {
    let (colour, _) = service(class);
    let data = open_path(points);
    let dashes = if sure {
        ""
    } else {
        " stroke-dasharray=\"3.2 1.6\""
    };
    // A dark edge, so that yellow shows on white and every colour in a grey print.
    svg.path(
        &data,
        &format!("stroke=\"#3a3a3a\" stroke-width=\"1\"{dashes}"),
    );
    svg.path(
        &data,
        &format!("stroke=\"{colour}\" stroke-width=\"0.65\"{dashes}"),
    );
}

fn draw_letters(svg: &mut Svg, class: ServiceClass, places: &[Point]) {
    let (colour, letter) = service(class);
    for &at in places {
        svg.circle(
            at,
            1.75,
            &format!("fill=\"#ffffff\" stroke=\"{colour}\" stroke-width=\"0.35\""),
        );
        svg.text(&Text {
            at: Point::new(at.x, at.y + LETTER * 0.36),
            turn: 0.0,
            size: LETTER,
            anchor: Anchor::Middle,
            attributes: &format!("fill=\"{INK}\" font-weight=\"bold\""),
            words: letter,
        });
    }
}

/// Paper between a letter and the mark of a crossing.
const CLEAR: f64 = 4.2;

/// Where the letters stand: evenly, at least one, and moved off the marks of crossings.
fn letters(points: &[Point], crossings: &[Point]) -> Vec<Point> {
    let length = outline::length(points);
    let count = (length / EVERY).floor().max(1.0);
    let step = length / count;
    let is_clear = |at: &Point| crossings.iter().all(|c| c.distance(*at) > CLEAR);
    let place = |distance: f64| outline::along(points, distance).map(|(at, _)| at);
    (0..count as usize)
        .filter_map(|i| {
            let even = (i as f64 + 0.5) * step;
            let shifts = [0.0, 5.0, -5.0, 9.0, -9.0].into_iter();
            let near = shifts.map(|shift| even + shift);
            near.filter(|d| (0.0..=length).contains(d))
                .filter_map(place)
                .find(is_clear)
                .or_else(|| place(even))
        })
        .collect()
}
