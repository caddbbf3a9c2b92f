//! The plan on as many pictures as it needs to be read, with match lines where one goes on on the next.
//!
//! How large is large enough follows from the heads: their usual distance from one another has to leave
//! room on paper for a name. Where the whole property fits at that scale there is one picture; else it
//! is cut into tiles of one scale, and its crowded places are drawn enlarged on pictures of their own.
//!
//! ```text
//!   ┌────┬────┐
//!   │ A1 │ A2 │   rows by letters from the top, columns by numbers from the left;
//!   ├────┼────┤   tiles in which nothing is dug are left out
//!   │ B1 │    │
//!   └────┴────┘
//! ```

mod key;
mod large;

use crate::details;
use crate::picture::{self, Picture, TITLE};
use crate::purpose::Purpose;
use crate::sheet::{self, Extent, Frame, Layout, PAD, ScaleWords, Space, View};
use crate::svg::Point;
use crate::{Scene, outline};
use job::{Job, Place};
use plan::Plan;
use quantity::Units;

/// A picture of a part of the plan, or of all of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanPicture {
    /// `A1`, `A2` … of tiles; `details` of what is drawn enlarged; empty if it shows the whole plan.
    pub name: String,
    /// Which of the spaces it fills.
    pub space: usize,
    /// The drawing.
    pub picture: Picture,
}

/// The plan to a true scale, in pictures that fill one of the spaces offered: that in which it comes out
/// largest, or with the fewest tiles.
pub fn plan_pictures(job: &Job, plan: &Plan, units: Units, spaces: &[Space]) -> Vec<PlanPicture> {
    pictures(job, plan, units, spaces, Purpose::Plan)
}

pub fn pictures(
    job: &Job,
    plan: &Plan,
    units: Units,
    spaces: &[Space],
    purpose: Purpose,
) -> Vec<PlanPicture> {
    let extent = sheet::extent(job, plan);
    let layouts: Vec<Layout> = spaces
        .iter()
        .map(|&space| Layout::filling(space, TITLE))
        .collect();
    let views = layouts
        .iter()
        .map(|layout| View::fitting(extent, layout, units));
    let whole = views
        .enumerate()
        .min_by(|a, b| a.1.ratio.total_cmp(&b.1.ratio));
    let Some((space, view)) = whole else {
        return Vec::new();
    };
    let most = readable(job);
    let layout = layouts[space];
    if view.ratio <= most {
        let scene = scene(job, plan, units, purpose, view, layout.frame);
        return vec![PlanPicture {
            name: String::new(),
            space,
            picture: with_details(scene, extent, &layout),
        }];
    }
    let mosaics = layouts
        .iter()
        .map(|layout| Mosaic::filling(extent, layout, most, units));
    let least = mosaics.enumerate().min_by(|(_, a), (_, b)| {
        let ratios = a.view.ratio.total_cmp(&b.view.ratio);
        a.count().cmp(&b.count()).then(ratios)
    });
    let Some((space, mosaic)) = least else {
        return Vec::new();
    };
    let scene = scene(job, plan, units, purpose, mosaic.view, mosaic.paper());
    large::pictures(scene, &mosaic, &layouts[space], space)
}

fn scene<'a>(
    job: &'a Job,
    plan: &'a Plan,
    units: Units,
    purpose: Purpose,
    view: View,
    window: Frame,
) -> Scene<'a> {
    Scene {
        job,
        plan,
        purpose,
        units,
        view,
        window,
        details: Vec::new(),
    }
}

/// The whole property with its crowded places on free paper.
fn with_details(mut scene: Scene, extent: Extent, layout: &Layout) -> Picture {
    scene.details = details::of(&scene, extent, layout);
    if scene.details.is_empty() {
        scene.view = scene.view.centred(layout.frame);
    }
    picture::alone(scene, layout)
}

/// Paper from a head to the next one that its name needs, millimetres.
const FOR_A_NAME: f64 = 13.0;
/// Without heads, and where they stand closer or wider, the scale stays in these bounds.
const LARGEST: f64 = 200.0;
const SMALLEST: f64 = 600.0;

/// The smallest scale at which the plan is read with ease: metres on the ground in a metre of paper.
fn readable(job: &Job) -> f64 {
    let outlets = &job.system.outlets;
    let mut nearest: Vec<f64> = outlets
        .iter()
        .map(|outlet| {
            let others = outlets.iter().map(|other| other.at.distance(outlet.at));
            others
                .filter(|far| *far > 0.0)
                .fold(f64::INFINITY, f64::min)
        })
        .filter(|far| far.is_finite())
        .collect();
    nearest.sort_by(f64::total_cmp);
    let usual = nearest.get(nearest.len() / 2).copied().unwrap_or(0.0);
    (usual * 1000.0 / FOR_A_NAME).clamp(LARGEST, SMALLEST)
}

/// Paper at the edge of a tile for the words of a match line.
const STRIP: f64 = 6.5;

/// A plan cut into tiles: one large sheet of paper, of which each picture shows a part.
struct Mosaic {
    view: View,
    columns: usize,
    rows: usize,
    /// Of a tile.
    width: f64,
    height: f64,
}

impl Mosaic {
    fn new(extent: Extent, layout: &Layout, words: ScaleWords) -> Self {
        let room = layout.frame.within(STRIP);
        let on_paper = |metres: f64| metres * 1000.0 / words.ratio() + 2.0 * PAD;
        let count = |long: f64, piece: f64| (long / piece).ceil().max(1.0) as usize;
        let columns = count(on_paper(extent.high.x - extent.low.x), room.width);
        let rows = count(on_paper(extent.high.y - extent.low.y), room.height);
        let mut mosaic = Self {
            view: View::at(words, extent.low.toward(extent.high, 0.5), room),
            columns,
            rows,
            width: room.width,
            height: room.height,
        };
        mosaic.view = mosaic.view.centred(mosaic.paper());
        mosaic
    }

    /// At the largest usual scale that takes no more tiles than the smallest one that is read with ease.
    fn filling(extent: Extent, layout: &Layout, most: f64, units: Units) -> Self {
        let mut best = Self::new(extent, layout, sheet::usual_scale_above(most, units));
        loop {
            // A hair below, so that another scale is found.
            let larger = sheet::usual_scale_above(best.view.ratio * 0.999, units);
            let next = Self::new(extent, layout, larger);
            if next.count() > best.count() || next.view.ratio >= best.view.ratio {
                return best;
            }
            best = next;
        }
    }

    fn count(&self) -> usize {
        self.columns * self.rows
    }

    /// The large sheet.
    fn paper(&self) -> Frame {
        Frame {
            x: 0.0,
            y: 0.0,
            width: self.width * self.columns as f64,
            height: self.height * self.rows as f64,
        }
    }

    /// The part of the large sheet that a tile shows.
    fn window(&self, column: usize, row: usize) -> Frame {
        Frame {
            x: self.width * column as f64,
            y: self.height * row as f64,
            width: self.width,
            height: self.height,
        }
    }

    fn name(&self, column: usize, row: usize) -> String {
        let letters: Vec<char> = ('A'..='Z').collect();
        let letter = letters[row % letters.len()];
        let round = row / letters.len();
        let letter = letter.to_string().repeat(round + 1);
        format!("{letter}{}", column + 1)
    }

    /// Whether a tile shows any trench or component.
    fn is_needed(&self, scene: &Scene, column: usize, row: usize) -> bool {
        let window = self.window(column, row);
        let on_sheet = |place: &Place| scene.view.point(*place);
        let trench = scene.plan.network.stretches.iter().any(|stretch| {
            let points: Vec<Point> = stretch.path.iter().map(on_sheet).collect();
            !outline::pieces(&points, window, &[]).is_empty()
        });
        trench || components_at(scene.job).any(|at| window.holds(on_sheet(&at)))
    }
}

fn components_at(job: &Job) -> impl Iterator<Item = Place> {
    let system = &job.system;
    let outlets = system.outlets.iter().map(|outlet| outlet.at);
    let valves = system.valves.iter().map(|valve| valve.at);
    let controller = system.controller.iter().map(|controller| controller.at);
    outlets
        .chain(valves)
        .chain(controller)
        .chain([system.source.at, system.backflow.at])
}

#[cfg(test)]
mod tests;
