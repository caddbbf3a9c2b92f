//! Pictures of a size, for sheets that bring their own head and foot.

use crate::details;
use crate::furniture;
use crate::labels::text_width;
use crate::legend;
use crate::purpose::Purpose;
use crate::sheet::{self, Layout, Space, View};
use crate::style;
use crate::svg::{Anchor, Point, Svg, Text};
use crate::tiles::{self, PlanPicture};
use crate::{Scene, draw_site};
use job::Job;
use plan::Plan;
use quantity::Units;

/// A drawing to a true scale if it is placed at its size.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// SVG whose user unit is a millimetre of paper.
    pub svg: String,
    /// Millimetres.
    pub width: f64,
    /// Millimetres.
    pub height: f64,
    /// The scale in words, such as `1 in = 20 ft`.
    pub scale: String,
    /// Metres on the ground in a metre of paper.
    pub ratio: f64,
    /// Names that found no room, in words.
    pub left_out: Vec<String>,
}

/// Paper below the legend, or beside it, for scale, north and cautions.
pub const TITLE: f64 = 52.0;

/// Where it will be dug, for those who mark their services: the dig area with its corners, what one
/// finds on the property, known services and the test holes.
pub fn locate(job: &Job, plan: &Plan, units: Units, space: Space) -> Picture {
    let layout = Layout::filling(space, TITLE);
    let view = View::fitting(sheet::extent(job, plan), &layout, units);
    let scene = Scene {
        job,
        plan,
        purpose: Purpose::Locate,
        units,
        view: view.centred(layout.frame),
        window: layout.frame,
        details: Vec::new(),
    };
    alone(scene, &layout)
}

/// The points to mark with their numbers and what tapes are held at; in tiles like the plan.
pub fn staking(job: &Job, plan: &Plan, units: Units, spaces: &[Space]) -> Vec<PlanPicture> {
    tiles::pictures(job, plan, units, spaces, Purpose::Staking)
}

/// The plan without methods and sizes, with room to write what was built; in tiles like the plan.
pub fn as_built(job: &Job, plan: &Plan, units: Units, spaces: &[Space]) -> Vec<PlanPicture> {
    tiles::pictures(job, plan, units, spaces, Purpose::AsBuilt)
}

/// A picture that shows the whole property.
pub fn alone(scene: Scene, layout: &Layout) -> Picture {
    let mut svg = Svg::new(layout.paper.width, layout.paper.height);
    style::define(&mut svg, layout);
    svg.open_group(r##"clip-path="url(#frame)""##);
    let mut left_out = draw_site(&mut svg, &scene).left_out();
    svg.close_group();
    left_out.extend(details::draw(&mut svg, &scene));
    furniture::draw_plain(&mut svg, &scene, layout, &left_out);
    legend::draw(&mut svg, &scene, layout);
    Picture {
        svg: svg.finish(),
        width: layout.paper.width,
        height: layout.paper.height,
        scale: scene.view.words.to_string(),
        ratio: scene.view.ratio,
        left_out,
    }
}

/// Words in the middle of a point, turned by degrees; in the ink of the group around them.
pub fn words_at(svg: &mut Svg, at: Point, turn: f64, size: f64, words: &str) {
    let down = (turn + 90.0).to_radians();
    svg.text(&Text {
        at: at.off(down, size * 0.36),
        turn,
        size,
        anchor: Anchor::Middle,
        attributes: "",
        words,
    });
}

/// The size at which words fit into a width, at most the size wanted.
pub fn size_that_fits(words: &str, wanted: f64, room: f64) -> f64 {
    let width = text_width(words, wanted);
    if width > room {
        wanted * room / width
    } else {
        wanted
    }
}
