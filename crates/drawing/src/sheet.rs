//! The paper: its size, what goes where on it, and the scale.

use crate::svg::Point;
use job::{Job, Place};
use plan::Plan;
use quantity::Units;

/// Paper, long side across.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sheet {
    /// 420 mm × 297 mm, ISO 216.
    A3,
    /// 17 in × 11 in, ANSI/ASME Y14.1 size B.
    Tabloid,
}

impl Sheet {
    /// The paper that readers of these units have at hand.
    pub fn usual(units: Units) -> Self {
        match units {
            Units::Us => Self::Tabloid,
            Units::Si => Self::A3,
        }
    }

    fn size(self) -> (f64, f64) {
        match self {
            Self::A3 => (420.0, 297.0),
            Self::Tabloid => (431.8, 279.4),
        }
    }
}

/// A rectangle on the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    pub x: f64,
    pub y: f64,
    pub width: f64,
    pub height: f64,
}

impl Frame {
    pub fn right(self) -> f64 {
        self.x + self.width
    }

    pub fn bottom(self) -> f64 {
        self.y + self.height
    }

    pub fn corner(self) -> Point {
        Point::new(self.x, self.y)
    }

    pub fn middle(self) -> Point {
        Point::new(self.x + self.width / 2.0, self.y + self.height / 2.0)
    }
}

/// What goes where.
///
/// ```text
/// ┌───────────────────────┬────────┐
/// │                       │ legend │
/// │        frame          │        │
/// │                       ├────────┤
/// │                       │ title  │
/// └───────────────────────┴────────┘
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Layout {
    pub paper: Frame,
    pub frame: Frame,
    pub legend: Frame,
    pub title: Frame,
}

const MARGIN: f64 = 8.0;
const PANEL: f64 = 86.0;
const TITLE: f64 = 92.0;

impl Layout {
    pub fn of(sheet: Sheet) -> Self {
        let (width, height) = sheet.size();
        let frame = |x, y, width, height| Frame {
            x,
            y,
            width,
            height,
        };
        let tall = height - 2.0 * MARGIN;
        let left = width - MARGIN - PANEL;
        Self {
            paper: frame(0.0, 0.0, width, height),
            frame: frame(MARGIN, MARGIN, left - MARGIN, tall),
            legend: frame(left, MARGIN, PANEL, tall - TITLE),
            title: frame(left, MARGIN + tall - TITLE, PANEL, TITLE),
        }
    }
}

/// The least rectangle around everything drawn, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    pub low: Place,
    pub high: Place,
}

/// The extent of the property and of every trench.
pub fn extent(job: &Job, plan: &Plan) -> Extent {
    let line = job.survey.boundary.polygon.exterior();
    let corners = line.coords().map(|&c| Place::from(c));
    let nodes = plan.network.nodes.iter().map(|node| node.at);
    let gates = job.survey.accesses.iter().map(|access| access.at);
    corners.chain(nodes).chain(gates).fold(
        Extent {
            low: Place::new(f64::INFINITY, f64::INFINITY),
            high: Place::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
        },
        |e, p| Extent {
            low: Place::new(e.low.x.min(p.x), e.low.y.min(p.y)),
            high: Place::new(e.high.x.max(p.x), e.high.y.max(p.y)),
        },
    )
}

/// How places on the property come onto the sheet.
#[derive(Debug, Clone, Copy)]
pub struct View {
    /// Metres on the ground in a metre of paper.
    pub ratio: f64,
    /// The scale in words, `1:200` or `1 in = 20 ft`.
    pub words: ScaleWords,
    middle: Place,
    on_sheet: Point,
}

/// A scale as its reader names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScaleWords {
    /// One to so many.
    OneTo(u32),
    /// An inch for so many feet.
    FeetToInch(u32),
}

impl std::fmt::Display for ScaleWords {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::OneTo(n) => write!(f, "1:{n}"),
            Self::FeetToInch(n) => write!(f, "1 in = {n} ft"),
        }
    }
}

/// Paper kept free around the property, for labels.
const PAD: f64 = 10.0;

/// Steps of metric scales within a power of ten (ISO 5455, and the 1:250 of site plans).
const METRIC: [u32; 4] = [10, 20, 25, 50];
/// Feet to the inch on an engineer's scale, within a power of ten.
const ENGINEER: [u32; 6] = [10, 20, 30, 40, 50, 60];

impl View {
    /// The view at the largest usual scale at which the extent fits into the frame.
    pub fn fitting(extent: Extent, layout: &Layout, units: Units) -> Self {
        let (wide, high) = (extent.high.x - extent.low.x, extent.high.y - extent.low.y);
        let frame = layout.frame;
        let needed = (wide / (frame.width - 2.0 * PAD))
            .max(high / (frame.height - 2.0 * PAD))
            .max(0.0)
            * 1000.0;
        let (ratio, words) = usual_scale(needed, units);
        Self {
            ratio,
            words,
            middle: extent.low.toward(extent.high, 0.5),
            on_sheet: frame.middle(),
        }
    }

    /// Where a place comes to lie on the sheet.
    pub fn point(&self, place: Place) -> Point {
        Point::new(
            self.on_sheet.x + self.paper(place.x - self.middle.x),
            self.on_sheet.y - self.paper(place.y - self.middle.y),
        )
    }

    /// The place that comes to lie at a point of the sheet.
    pub fn place(&self, point: Point) -> Place {
        let metres = self.ratio / 1000.0;
        Place::new(
            self.middle.x + (point.x - self.on_sheet.x) * metres,
            self.middle.y - (point.y - self.on_sheet.y) * metres,
        )
    }

    /// Millimetres of paper for metres on the ground.
    pub fn paper(&self, metres: f64) -> f64 {
        metres * 1000.0 / self.ratio
    }
}

/// The first usual scale that is at least so small, with its ratio.
fn usual_scale(needed: f64, units: Units) -> (f64, ScaleWords) {
    let steps: &[u32] = match units {
        Units::Us => &ENGINEER,
        Units::Si => &METRIC,
    };
    let scales = (0..7).flat_map(|power| steps.iter().map(move |step| step * 10_u32.pow(power)));
    let ratio_of = |step: u32| match units {
        Units::Us => f64::from(step) * 12.0,
        Units::Si => f64::from(step),
    };
    let step = scales
        .into_iter()
        .find(|&step| ratio_of(step) >= needed)
        .unwrap_or(10_000_000);
    let words = match units {
        Units::Us => ScaleWords::FeetToInch(step),
        Units::Si => ScaleWords::OneTo(step),
    };
    (ratio_of(step), words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_is_the_next_smaller_usual_one() {
        assert_eq!(usual_scale(130.0, Units::Si).1.to_string(), "1:200");
        assert_eq!(usual_scale(201.0, Units::Si).1.to_string(), "1:250");
        assert_eq!(usual_scale(130.0, Units::Us).1.to_string(), "1 in = 20 ft");
        assert_eq!(usual_scale(800.0, Units::Us).1.to_string(), "1 in = 100 ft");
    }

    #[test]
    fn a_place_to_the_north_lies_higher_on_the_sheet() {
        let extent = Extent {
            low: Place::new(0.0, 0.0),
            high: Place::new(30.0, 20.0),
        };
        let view = View::fitting(extent, &Layout::of(Sheet::A3), Units::Si);
        let (low, high) = (
            view.point(Place::new(15.0, 0.0)),
            view.point(Place::new(15.0, 20.0)),
        );
        assert!(high.y < low.y);
        assert!(view.place(high).distance(Place::new(15.0, 20.0)) < 1e-9);
        assert!((low.distance(high) - 20_000.0 / view.ratio).abs() < 1e-9);
    }
}
