//! The plan drawn to scale.
//!
//! Takes a job and its plan and gives one sheet as SVG text: the ground, what stands and lies in
//! it, the trenches by method, pipe sizes, components, a legend of what occurs, a scale bar and a
//! title block. Text never lies on text; what finds no room is left out and counted on the sheet.
//!
//! Works out nothing of the trade and does no I/O; the same job and plan give the same bytes.
//!
//! # Units
//! On the sheet everything is in millimetres of paper, y down; on the property in metres, y up.

mod components;
mod furniture;
mod ground;
mod labels;
mod legend;
mod outline;
mod services;
mod sheet;
mod style;
mod svg;
mod tags;
mod trenches;

use job::Job;
use labels::Placing;
use plan::Plan;
use quantity::Units;
pub use sheet::Sheet;
use sheet::{Layout, View};
use svg::Svg;

/// How the drawing is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SvgOptions {
    /// The units that its reader uses.
    pub units: Units,
    /// The paper; `None` takes tabloid for US customary units and A3 for SI.
    pub sheet: Option<Sheet>,
}

/// The drawing as the text of an SVG file whose user unit is a millimetre of paper.
pub fn svg(job: &Job, plan: &Plan, options: &SvgOptions) -> String {
    let sheet = options.sheet.unwrap_or(Sheet::usual(options.units));
    let layout = Layout::of(sheet);
    let view = View::fitting(sheet::extent(job, plan), &layout, options.units);
    let scene = Scene {
        job,
        plan,
        units: options.units,
        view,
    };
    let mut svg = Svg::new(layout.paper.width, layout.paper.height);
    style::define(&mut svg, &layout);
    let left_out = draw_site(&mut svg, &scene, &layout);
    furniture::draw(&mut svg, &scene, &layout, left_out);
    legend::draw(&mut svg, &scene, &layout);
    svg.finish()
}

/// What every layer draws from.
struct Scene<'a> {
    job: &'a Job,
    plan: &'a Plan,
    units: Units,
    view: View,
}

/// Draws everything inside the frame; gives the number of labels that found no room.
fn draw_site(svg: &mut Svg, scene: &Scene, layout: &Layout) -> usize {
    let mut placing = Placing::new(layout.frame);
    svg.open_group(r##"clip-path="url(#frame)""##);
    ground::draw(svg, scene, &mut placing);
    services::draw(svg, scene, &mut placing);
    trenches::draw(svg, scene, &mut placing);
    components::draw(svg, scene, &mut placing);
    let wanted = tags::of(scene);
    let placed = labels::place(&wanted, &mut placing);
    labels::draw(svg, &wanted, &placed);
    svg.close_group();
    placed.iter().filter(|place| place.is_none()).count()
}

#[cfg(test)]
mod tests;
