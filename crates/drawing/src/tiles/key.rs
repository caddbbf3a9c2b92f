//! Which part of the property a tile shows: all tiles in small, this one dark.

use super::Mosaic;
use crate::Scene;
use crate::outline;
use crate::picture::{size_that_fits, words_at};
use crate::sheet::{Frame, Layout};
use crate::style::{INK, SMALL_TEXT};
use crate::svg::{Point, Svg, closed_path};

/// Paper for it: at the foot of a legend that stands, at the end of one that lies.
const HEIGHT: f64 = 40.0;
const WIDTH: f64 = 58.0;

/// The layout whose legend leaves room for the key.
pub fn below(layout: &Layout) -> Layout {
    let mut layout = *layout;
    if lies(&layout) {
        layout.legend.width -= WIDTH;
    } else {
        layout.legend.height -= HEIGHT;
    }
    layout
}

fn lies(layout: &Layout) -> bool {
    layout.legend.width > layout.legend.height
}

fn room(layout: &Layout) -> Frame {
    let legend = layout.legend;
    let room = if lies(layout) {
        Frame {
            x: legend.right() - WIDTH,
            width: WIDTH,
            ..legend
        }
    } else {
        Frame {
            y: legend.bottom() - HEIGHT,
            height: HEIGHT,
            ..legend
        }
    };
    room.within(4.0)
}

pub fn draw(
    svg: &mut Svg,
    scene: &Scene,
    mosaic: &Mosaic,
    layout: &Layout,
    here: (usize, usize),
    needed: &[(usize, usize)],
) {
    let room = room(layout);
    let paper = mosaic.paper();
    let times = (room.width / paper.width).min(room.height / paper.height);
    let start = Point::new(
        room.middle().x - paper.width * times / 2.0,
        room.middle().y - paper.height * times / 2.0,
    );
    let small = |at: Point| Point::new(start.x + at.x * times, start.y + at.y * times);
    let edge = format!("stroke=\"{INK}\" stroke-width=\"0.25\"");
    for &(column, row) in needed {
        let window = mosaic.window(column, row);
        let (corner, width, height) = (
            small(window.corner()),
            window.width * times,
            window.height * times,
        );
        let fill = if (column, row) == here {
            INK
        } else {
            "#ffffff"
        };
        svg.rect(corner, width, height, &format!("fill=\"{fill}\" {edge}"));
    }
    let boundary = scene.job.survey.boundary.polygon.exterior();
    let ring: Vec<Point> = outline::points(&scene.view, boundary)
        .into_iter()
        .map(small)
        .collect();
    svg.path(
        &closed_path(&ring),
        "stroke=\"#777777\" stroke-width=\"0.5\"",
    );
    for &(column, row) in needed {
        let window = mosaic.window(column, row);
        let name = mosaic.name(column, row);
        let size = size_that_fits(&name, SMALL_TEXT, window.width * times - 1.0);
        let ink = if (column, row) == here {
            "#ffffff"
        } else {
            INK
        };
        svg.open_group(&format!("fill=\"{ink}\" font-weight=\"bold\""));
        words_at(svg, small(window.middle()), 0.0, size, &name);
        svg.close_group();
    }
}
