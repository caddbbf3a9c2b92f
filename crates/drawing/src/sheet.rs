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

/// Room that a sheet leaves for a picture, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Space {
    /// From left to right.
    pub width: f64,
    /// From top to bottom.
    pub height: f64,
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

    /// The rectangle of a size about its middle.
    pub fn about(middle: Point, width: f64, height: f64) -> Self {
        Self {
            x: middle.x - width / 2.0,
            y: middle.y - height / 2.0,
            width,
            height,
        }
    }

    /// The rectangle that is smaller by a border all around.
    pub fn within(self, border: f64) -> Self {
        let (width, height) = (self.width - 2.0 * border, self.height - 2.0 * border);
        Self::about(self.middle(), width, height)
    }

    pub fn holds(self, point: Point) -> bool {
        (self.x..=self.right()).contains(&point.x) && (self.y..=self.bottom()).contains(&point.y)
    }

    pub fn overlaps(self, other: Self) -> bool {
        self.x < other.right()
            && other.x < self.right()
            && self.y < other.bottom()
            && other.y < self.bottom()
    }

    /// The shares of a line, from and to, between which it lies inside.
    pub fn span(self, from: Point, to: Point) -> Option<(f64, f64)> {
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        let sides = [
            (from.x, to.x - from.x, self.x, self.right()),
            (from.y, to.y - from.y, self.y, self.bottom()),
        ];
        for (start, step, least, most) in sides {
            if step.abs() < 1e-12 {
                if start < least || start > most {
                    return None;
                }
                continue;
            }
            let (a, b) = ((least - start) / step, (most - start) / step);
            low = low.max(a.min(b));
            high = high.min(a.max(b));
        }
        (low < high).then_some((low, high))
    }
}

/// What goes where: the legend beside the frame, or below it on upright paper.
///
/// ```text
/// ┌───────────────────────┬────────┐    ┌─────────────────┐
/// │                       │ legend │    │      frame      │
/// │        frame          │        │    │                 │
/// │                       ├────────┤    ├──────────┬──────┤
/// │                       │ title  │    │  legend  │ title│
/// └───────────────────────┴────────┘    └──────────┴──────┘
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Layout {
    pub paper: Frame,
    pub frame: Frame,
    pub legend: Frame,
    pub title: Frame,
}

const MARGIN: f64 = 8.0;
/// What scale, north and cautions need below the frame.
const NARROW_PANEL: f64 = 84.0;
/// How much more that is where lines are broken more often.
const WRAPPED: f64 = 8.0;
/// Half the weight of the frame's line, so that none of it is cut off.
const EDGE: f64 = 0.25;
/// From this width on the legend stands beside the frame.
const BESIDE: f64 = 300.0;
const PANEL: f64 = 86.0;
const TITLE: f64 = 92.0;

impl Layout {
    pub fn of(sheet: Sheet) -> Self {
        let (width, height) = sheet.size();
        let tall = height - 2.0 * MARGIN;
        let left = width - MARGIN - PANEL;
        Self {
            paper: frame(0.0, 0.0, width, height),
            frame: frame(MARGIN, MARGIN, left - MARGIN, tall),
            legend: frame(left, MARGIN, PANEL, tall - TITLE),
            title: frame(left, MARGIN + tall - TITLE, PANEL, TITLE),
        }
    }

    /// The same paper, long side up.
    pub fn upright(sheet: Sheet) -> Self {
        let (height, width) = sheet.size();
        let wide = width - 2.0 * MARGIN;
        let top = height - MARGIN - TITLE;
        Self {
            paper: frame(0.0, 0.0, width, height),
            frame: frame(MARGIN, MARGIN, wide, top - MARGIN),
            legend: frame(MARGIN, top, wide - PANEL, TITLE),
            title: frame(MARGIN + wide - PANEL, top, PANEL, TITLE),
        }
    }

    /// A picture for a sheet that has its head and foot already: the legend beside the frame where
    /// there is room, else below it; the `title` keeps so much for scale, north and cautions.
    pub fn filling(space: Space, title: f64) -> Self {
        let (width, height) = (space.width - 2.0 * EDGE, space.height - 2.0 * EDGE);
        let paper = frame(0.0, 0.0, space.width, space.height);
        if width >= BESIDE {
            let left = EDGE + width - PANEL;
            return Self {
                paper,
                frame: frame(EDGE, EDGE, width - PANEL, height),
                legend: frame(left, EDGE, PANEL, height - title),
                title: frame(left, EDGE + height - title, PANEL, title),
            };
        }
        let title = title + WRAPPED;
        let top = EDGE + height - title;
        let side = NARROW_PANEL.min(width / 2.0);
        Self {
            paper,
            frame: frame(EDGE, EDGE, width, height - title),
            legend: frame(EDGE, top, width - side, title),
            title: frame(EDGE + width - side, top, side, title),
        }
    }

    /// The way to lay the paper that takes the larger scale; across if both take the same.
    pub fn fitting(sheet: Sheet, extent: Extent, units: Units) -> (Self, View) {
        let [across, upright] = [Self::of(sheet), Self::upright(sheet)]
            .map(|layout| (layout, View::fitting(extent, &layout, units)));
        if upright.1.ratio < across.1.ratio {
            upright
        } else {
            across
        }
    }
}

fn frame(x: f64, y: f64, width: f64, height: f64) -> Frame {
    Frame {
        x,
        y,
        width,
        height,
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
    /// So many parts of an inch for a foot: numerator and denominator.
    InchToFoot(u32, u32),
}

impl std::fmt::Display for ScaleWords {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::OneTo(n) => write!(f, "1:{n}"),
            Self::FeetToInch(n) => write!(f, "1 in = {n} ft"),
            Self::InchToFoot(n, 1) => write!(f, "{n} in = 1 ft"),
            Self::InchToFoot(n, of) => write!(f, "{n}/{of} in = 1 ft"),
        }
    }
}

impl ScaleWords {
    /// Metres on the ground in a metre of paper.
    pub fn ratio(self) -> f64 {
        match self {
            Self::OneTo(n) => f64::from(n),
            Self::FeetToInch(n) => f64::from(n) * 12.0,
            Self::InchToFoot(n, of) => 12.0 * f64::from(of) / f64::from(n),
        }
    }
}

/// Paper kept free around the property, for labels.
pub const PAD: f64 = 10.0;
/// Free paper narrower than this is of no use for anything but a wider border.
pub const USEFUL: f64 = 38.0;

/// What metric scale rules carry, 1:75 and 1:125 among it; smaller scales by powers of ten.
const METRIC: [u32; 10] = [10, 20, 25, 50, 75, 100, 125, 200, 250, 500];
/// Feet to the inch on an engineer's scale rule, within a power of ten.
const ENGINEER: [u32; 6] = [10, 20, 30, 40, 50, 60];
/// Parts of an inch to the foot on an architect's scale rule.
const ARCHITECT: [(u32, u32); 6] = [(1, 2), (1, 4), (3, 16), (1, 8), (3, 32), (1, 16)];

impl View {
    /// The view at the largest usual scale at which the extent fits into the frame. Where much
    /// paper stays free it lies to the right and at the top, in one piece.
    pub fn fitting(extent: Extent, layout: &Layout, units: Units) -> Self {
        let (wide, high) = (extent.high.x - extent.low.x, extent.high.y - extent.low.y);
        let room = layout.frame.within(PAD);
        let needed = (wide / room.width).max(high / room.height).max(0.0) * 1000.0;
        let words = usual_scale(needed, units);
        let ratio = words.ratio();
        let mut on_sheet = room.middle();
        let (wide, high) = (wide * 1000.0 / ratio, high * 1000.0 / ratio);
        if room.width - wide >= USEFUL {
            on_sheet.x = room.x + wide / 2.0;
        }
        if room.height - high >= USEFUL {
            on_sheet.y = room.bottom() - high / 2.0;
        }
        Self {
            ratio,
            words,
            middle: extent.low.toward(extent.high, 0.5),
            on_sheet,
        }
    }

    /// The same with what it shows in the middle of a frame.
    pub fn centred(self, frame: Frame) -> Self {
        Self {
            on_sheet: frame.middle(),
            ..self
        }
    }

    /// The view at a scale with a place at the middle of a frame.
    pub fn at(words: ScaleWords, middle: Place, frame: Frame) -> Self {
        Self {
            ratio: words.ratio(),
            words,
            middle,
            on_sheet: frame.middle(),
        }
    }

    /// The view so many times larger, with a point of this sheet coming to lie at another.
    pub fn enlarged(&self, times: f64, from: Point, to: Point) -> Self {
        Self {
            ratio: self.ratio / times,
            words: self.words,
            middle: self.place(from),
            on_sheet: to,
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

/// The largest scale of a scale rule that is at least so small.
pub fn usual_scale(needed: f64, units: Units) -> ScaleWords {
    let fits = |words: &ScaleWords| words.ratio() >= needed;
    let last = ScaleWords::OneTo(10_000_000);
    usual_scales(units).into_iter().find(fits).unwrap_or(last)
}

/// The smallest scale of a scale rule that is at least so large; the largest if none is.
pub fn usual_scale_above(most: f64, units: Units) -> ScaleWords {
    let scales = usual_scales(units);
    let fits = |words: &&ScaleWords| words.ratio() <= most;
    *scales.iter().rev().find(fits).unwrap_or(&scales[0])
}

/// Scales of a scale rule, the largest first.
fn usual_scales(units: Units) -> Vec<ScaleWords> {
    let powers = (0..6).map(|power| 10_u32.pow(power));
    let mut scales: Vec<ScaleWords> = match units {
        Units::Us => powers
            .flat_map(|power| ENGINEER.map(|feet| ScaleWords::FeetToInch(feet * power)))
            .chain(ARCHITECT.map(|(n, of)| ScaleWords::InchToFoot(n, of)))
            .collect(),
        Units::Si => powers
            .step_by(2)
            .flat_map(|power| METRIC.map(|n| ScaleWords::OneTo(n * power)))
            .collect(),
    };
    scales.sort_by(|a, b| a.ratio().total_cmp(&b.ratio()));
    scales
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tall_property_turns_the_paper() {
        let extent = |wide, high| Extent {
            low: Place::new(0.0, 0.0),
            high: Place::new(wide, high),
        };
        let width = |extent| Layout::fitting(Sheet::A3, extent, Units::Si).0.paper.width;
        assert!((width(extent(30.0, 20.0)) - 420.0).abs() < 1e-9);
        assert!((width(extent(20.0, 35.0)) - 297.0).abs() < 1e-9);
    }

    #[test]
    fn a_line_is_cut_at_a_frame() {
        let frame = Frame::about(Point::new(5.0, 5.0), 4.0, 4.0);
        let across = frame.span(Point::new(0.0, 5.0), Point::new(10.0, 5.0));
        let (low, high) = across.expect("it goes through");
        assert!((low - 0.3).abs() < 1e-9 && (high - 0.7).abs() < 1e-9);
        assert!(
            frame
                .span(Point::new(0.0, 0.0), Point::new(10.0, 0.0))
                .is_none()
        );
    }

    #[test]
    fn the_scale_is_the_next_smaller_usual_one() {
        let words = |needed, units| usual_scale(needed, units).to_string();
        assert_eq!(words(70.0, Units::Si), "1:75");
        assert_eq!(words(130.0, Units::Si), "1:200");
        assert_eq!(words(201.0, Units::Si), "1:250");
        assert_eq!(words(90.0, Units::Us), "1/8 in = 1 ft");
        assert_eq!(words(130.0, Units::Us), "1/16 in = 1 ft");
        assert_eq!(words(193.0, Units::Us), "1 in = 20 ft");
        assert_eq!(words(800.0, Units::Us), "1 in = 100 ft");
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
