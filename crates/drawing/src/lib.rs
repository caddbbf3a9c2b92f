//! The plan drawn to scale.
//!
//! Takes a job and its plan and gives one sheet as SVG text: the ground, what stands and lies in
//! it, the trenches by method, pipe sizes, components, a legend of what occurs, a scale bar and a
//! title block. Places where much stands close together are drawn again, enlarged, on free paper.
//! Text never lies on text; what finds no room is left out and counted on the sheet.
//!
//! For sheets that bring their own head and foot there are pictures of a size: the plan in tiles
//! with match lines, the dig area of the locate request, the blank for the as-built record, and the
//! cross-section of every kind of cut.
//!
//! Works out nothing of the trade and does no I/O; the same job and plan give the same bytes.
//!
//! # Units
//! On the sheet everything is in millimetres of paper, y down; on the property in metres, y up.

mod area;
mod components;
mod days;
mod decisions;
mod details;
mod furniture;
mod ground;
mod labels;
mod legend;
mod narrows;
mod outline;
mod picture;
mod pressure;
mod purpose;
mod risk;
mod sections;
mod services;
mod sheet;
mod stakes;
mod style;
mod svg;
mod tags;
mod tiles;
mod trenches;

pub use area::test_holes;
pub use days::{DaysPicture, pictures as days_pictures};
use details::Detail;
use job::Job;
use labels::{Label, Placed, Placing};
pub use picture::{Picture, as_built, locate, staking};
use plan::Plan;
use purpose::Purpose;
use quantity::Units;
pub use risk::svg as risk_svg;
pub use sections::{SectionKind, sections};
use sheet::{Frame, Layout, View};
pub use sheet::{Sheet, Space};
pub use style::{TrenchStyle, trench as trench_style};
use svg::{Point, Svg};
pub use tiles::{PlanPicture, plan_pictures};

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
    let extent = sheet::extent(job, plan);
    let (layout, view) = Layout::fitting(sheet, extent, options.units);
    let mut scene = Scene {
        job,
        plan,
        purpose: Purpose::Plan,
        units: options.units,
        view,
        window: layout.frame,
        details: Vec::new(),
    };
    scene.details = details::of(&scene, extent, &layout);
    if scene.details.is_empty() {
        scene.view = scene.view.centred(layout.frame);
    }
    let mut svg = Svg::new(layout.paper.width, layout.paper.height);
    style::define(&mut svg, &layout);
    svg.open_group(r##"clip-path="url(#frame)""##);
    let mut left_out = draw_site(&mut svg, &scene).left_out();
    svg.close_group();
    left_out.extend(details::draw(&mut svg, &scene));
    furniture::draw(&mut svg, &scene, &layout, &left_out);
    legend::draw(&mut svg, &scene, &layout);
    svg.finish()
}

/// The days as a bar chart: parts of the work, machines, people, and the trench open at each evening.
pub fn days_svg(job: &Job, plan: &Plan, units: Units) -> String {
    days::svg(job, plan, units)
}

/// What every layer draws from.
struct Scene<'a> {
    job: &'a Job,
    plan: &'a Plan,
    purpose: Purpose,
    units: Units,
    view: View,
    /// The part of the sheet that shows it.
    window: Frame,
    /// Parts of it that are shown enlarged elsewhere on the sheet.
    details: Vec<Detail>,
}

impl Scene<'_> {
    /// Whether a point is shown enlarged elsewhere on the sheet.
    fn is_enlarged(&self, at: Point) -> bool {
        self.details.iter().any(|detail| detail.on_plan.holds(at))
    }
}

/// Labels and where they came to stand.
struct Named {
    labels: Vec<Label>,
    placed: Vec<Option<Placed>>,
}

impl Named {
    /// What found no room, in words.
    fn left_out(&self) -> Vec<String> {
        let all = self.labels.iter().zip(&self.placed);
        let out = all.filter(|(_, place)| place.is_none());
        out.map(|(label, _)| label.lines.join(" ")).collect()
    }
}

/// Draws everything that the window shows.
fn draw_site(svg: &mut Svg, scene: &Scene) -> Named {
    let mut placing = Placing::new(scene.window);
    for detail in &scene.details {
        placing.keep_out(detail.frame);
    }
    ground::draw(svg, scene, &mut placing);
    if scene.purpose.shows_ground() {
        decisions::draw(svg, scene);
    }
    services::draw(svg, scene, &mut placing);
    trenches::draw(svg, scene, &mut placing);
    if scene.purpose.shows_ground() {
        narrows::draw(svg, scene, &mut placing);
    }
    if scene.purpose == Purpose::Locate {
        area::draw(svg, scene, &mut placing);
    }
    components::draw(svg, scene, &mut placing);
    if scene.purpose == Purpose::Staking {
        stakes::draw(svg, scene, &mut placing);
    }
    details::mark(svg, scene, &mut placing);
    let labels = tags::of(scene);
    let placed = labels::place(&labels, &mut placing);
    labels::draw(svg, &labels, &placed);
    Named { labels, placed }
}

#[cfg(test)]
mod tests;
