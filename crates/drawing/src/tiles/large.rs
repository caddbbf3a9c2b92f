//! The tiles of a plan that is larger than the paper, and its crowded places on pictures of their own.

use super::{Mosaic, PlanPicture, STRIP, key};
use crate::details::{self, Detail};
use crate::furniture;
use crate::legend;
use crate::picture::{Picture, words_at};
use crate::sheet::{Frame, Layout};
use crate::style::{self, INK, SMALL_TEXT};
use crate::svg::{Point, Svg, number};
use crate::{Scene, draw_site};

/// Frames of details across and down a picture where there are few, and where there are many.
const FEW: (usize, usize) = (2, 2);
const MANY: (usize, usize) = (4, 3);
/// Paper between them.
const GAP: f64 = 3.0;

pub fn pictures(
    mut scene: Scene,
    mosaic: &Mosaic,
    layout: &Layout,
    space: usize,
) -> Vec<PlanPicture> {
    scene.details = details::in_rooms(&scene, rooms(layout, MANY));
    if scene.details.len() <= FEW.0 * FEW.1 {
        scene.details = details::in_rooms(&scene, rooms(layout, FEW));
    }
    let needed: Vec<(usize, usize)> = (0..mosaic.rows)
        .flat_map(|row| (0..mosaic.columns).map(move |column| (column, row)))
        .filter(|(column, row)| mosaic.is_needed(&scene, *column, *row))
        .collect();
    let mut pictures: Vec<PlanPicture> = needed
        .iter()
        .map(|&at| PlanPicture {
            name: mosaic.name(at.0, at.1),
            space,
            picture: tile(&scene, mosaic, layout, at, &needed),
        })
        .collect();
    if !scene.details.is_empty() {
        pictures.push(PlanPicture {
            name: "details".to_owned(),
            space,
            picture: enlarged(&scene, layout),
        });
    }
    pictures
}

/// Frames for details on a picture that holds nothing else.
fn rooms(layout: &Layout, (across, down): (usize, usize)) -> Vec<Frame> {
    let all = layout.frame.within(GAP);
    let width = (all.width - GAP * (across - 1) as f64) / across as f64;
    let height = (all.height - GAP * (down - 1) as f64) / down as f64;
    let room = |i: usize| Frame {
        x: all.x + (width + GAP) * (i % across) as f64,
        y: all.y + (height + GAP) * (i / across) as f64,
        width,
        height,
    };
    (0..across * down).map(room).collect()
}

fn enlarged(scene: &Scene, layout: &Layout) -> Picture {
    let mut svg = Svg::new(layout.paper.width, layout.paper.height);
    style::define(&mut svg, layout);
    let left_out = details::draw(&mut svg, scene);
    furniture::draw_unscaled(&mut svg, scene, layout, &left_out);
    legend::draw(&mut svg, scene, layout);
    let scale = format!("enlarged from {}", scene.view.words);
    finished(svg, scene, layout, (scale, left_out))
}

fn tile(
    scene: &Scene,
    mosaic: &Mosaic,
    layout: &Layout,
    (column, row): (usize, usize),
    needed: &[(usize, usize)],
) -> Picture {
    let window = mosaic.window(column, row);
    let shown: Vec<Detail> = scene
        .details
        .iter()
        .filter(|detail| detail.on_plan.overlaps(window))
        .cloned()
        .collect();
    let part = Scene {
        window,
        details: shown,
        ..*scene
    };
    let inner = layout.frame.within(STRIP);
    let mut svg = Svg::new(layout.paper.width, layout.paper.height);
    style::define(&mut svg, layout);
    svg.raw("<clipPath id=\"tile\">");
    svg.rect(inner.corner(), inner.width, inner.height, "");
    svg.raw("</clipPath>");
    svg.open_group(r##"clip-path="url(#tile)""##);
    svg.open_group(&format!(
        "transform=\"translate({} {})\"",
        number(inner.x - window.x),
        number(inner.y - window.y)
    ));
    let left_out = draw_site(&mut svg, &part).left_out();
    svg.close_group();
    svg.close_group();
    match_lines(&mut svg, mosaic, inner, (column, row), needed);
    key::draw(&mut svg, &part, mosaic, layout, (column, row), needed);
    finish(svg, &part, layout, left_out)
}

fn finish(mut svg: Svg, scene: &Scene, layout: &Layout, left_out: Vec<String>) -> Picture {
    furniture::draw_plain(&mut svg, scene, layout, &left_out);
    legend::draw(&mut svg, scene, &key::below(layout));
    let scale = scene.view.words.to_string();
    finished(svg, scene, layout, (scale, left_out))
}

fn finished(
    svg: Svg,
    scene: &Scene,
    layout: &Layout,
    (scale, left_out): (String, Vec<String>),
) -> Picture {
    Picture {
        svg: svg.finish(),
        width: layout.paper.width,
        height: layout.paper.height,
        scale,
        ratio: scene.view.ratio,
        left_out,
    }
}

/// A heavy line with the name of the tile beyond it on every side that has one.
fn match_lines(
    svg: &mut Svg,
    mosaic: &Mosaic,
    inner: Frame,
    (column, row): (usize, usize),
    needed: &[(usize, usize)],
) {
    let (left, right, top, bottom) = (inner.x, inner.right(), inner.y, inner.bottom());
    let middle = inner.middle();
    let corner = Point::new;
    let out = STRIP / 2.0;
    // The step to the neighbour, the line, the middle of the words and their turn.
    let sides = [
        (
            (-1, 0),
            corner(left, top),
            corner(left, bottom),
            corner(left - out, middle.y),
            -90.0,
        ),
        (
            (1, 0),
            corner(right, top),
            corner(right, bottom),
            corner(right + out, middle.y),
            90.0,
        ),
        (
            (0, -1),
            corner(left, top),
            corner(right, top),
            corner(middle.x, top - out),
            0.0,
        ),
        (
            (0, 1),
            corner(left, bottom),
            corner(right, bottom),
            corner(middle.x, bottom + out),
            0.0,
        ),
    ];
    let heavy = format!("stroke=\"{INK}\" stroke-width=\"0.7\" stroke-dasharray=\"14 2 3 2\"");
    svg.open_group(&format!("fill=\"{INK}\""));
    for ((across, down), from, to, at, turn) in sides {
        let beyond = (
            column.checked_add_signed(across),
            row.checked_add_signed(down),
        );
        let (Some(next), Some(below)) = beyond else {
            continue;
        };
        if next >= mosaic.columns || below >= mosaic.rows {
            continue;
        }
        let words = match needed.contains(&(next, below)) {
            true => format!("match line: goes on on {}", mosaic.name(next, below)),
            false => "match line: no trench beyond".to_owned(),
        };
        svg.line(from, to, &heavy);
        words_at(svg, at, turn, SMALL_TEXT, &words);
    }
    svg.close_group();
}
