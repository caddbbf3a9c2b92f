//! One cross-section: the cut in the ground, what lies in it, its measures.
//!
//! ```text
//!            ╭─ crown ─╮
//!   ═════════╡         ╞═════════
//!   ///////  │         │  ///////   tape ───────  at its cover
//!   /////// d│ -- lift │  ///////
//!   ///////  │   (P) : │  ///////   pipe ───────  at its cover
//!   ///////  └─────────┘  ///////
//!                 w
//! ```

use super::{on_tape, what};
use crate::picture::Picture;
use crate::sheet::ScaleWords;
use crate::svg::{Point, Svg, closed_path, number, open_path};
use job::Job;
use plan::Plan;
use plan::digging::{Content, Dig, MarkerKind, contents::bundle};
use quantity::{Length, Units};

/// The picture, millimetres.
pub const WIDTH: f64 = 94.0;
pub const HEIGHT: f64 = 66.0;
/// Where the ground begins and ends from left to right.
pub const LEFT: f64 = 13.0;
pub const RIGHT: f64 = 48.0;
/// Grade, and the lowest place for a floor.
pub const GRADE: f64 = 12.0;
const LOWEST: f64 = 54.0;
/// Ground shown beside and below the cut.
const BESIDE: f64 = 4.5;
pub const BELOW: f64 = 4.0;
/// The scales that are drawn to, the largest first.
const US: [ScaleWords; 7] = [
    ScaleWords::InchToFoot(1, 1),
    ScaleWords::InchToFoot(3, 4),
    ScaleWords::InchToFoot(1, 2),
    ScaleWords::InchToFoot(3, 8),
    ScaleWords::InchToFoot(1, 4),
    ScaleWords::InchToFoot(3, 16),
    ScaleWords::InchToFoot(1, 8),
];
const SI: [ScaleWords; 6] = [
    ScaleWords::OneTo(10),
    ScaleWords::OneTo(20),
    ScaleWords::OneTo(25),
    ScaleWords::OneTo(50),
    ScaleWords::OneTo(100),
    ScaleWords::OneTo(200),
];

const OUTLINE: &str = "stroke=\"#1a1a1a\" stroke-width=\"0.6\"";
pub const FINE: &str = "stroke=\"#1a1a1a\" stroke-width=\"0.2\"";

/// A cut on paper.
pub struct Drawn<'a> {
    pub job: &'a Job,
    pub plan: &'a Plan,
    pub dig: &'a Dig,
    pub units: Units,
    pub scale: ScaleWords,
}

pub fn section(job: &Job, plan: &Plan, dig: &Dig, units: Units) -> Picture {
    let drawn = Drawn {
        job,
        plan,
        dig,
        units,
        scale: scale(dig, units),
    };
    let mut svg = Svg::new(WIDTH, HEIGHT);
    svg.raw(PATTERNS);
    drawn.ground(&mut svg);
    drawn.fill(&mut svg);
    let mut told = drawn.contents(&mut svg);
    told.extend(drawn.markers(&mut svg));
    drawn.measures(&mut svg);
    drawn.words(&mut svg, told);
    Picture {
        svg: svg.finish(),
        width: WIDTH,
        height: HEIGHT,
        scale: drawn.scale.to_string(),
        ratio: drawn.scale.ratio(),
        left_out: Vec::new(),
    }
}

const PATTERNS: &str = r##"<defs><pattern id="earth" patternUnits="userSpaceOnUse" width="3.2" height="3.2"><path d="M-0.4 3.6L3.6 -0.4" stroke="#8a8a8a" stroke-width="0.16"/></pattern><pattern id="bedding" patternUnits="userSpaceOnUse" width="1.2" height="1.2"><path d="M0.2 0.3h0.25M0.8 0.9h0.25" stroke="#333333" stroke-width="0.25"/></pattern></defs>"##;

fn scale(dig: &Dig, units: Units) -> ScaleWords {
    let section = &dig.section;
    let high = section.depth.to_mm() / (LOWEST - GRADE);
    let wide = section.top_width.max(reach(dig) * 2.0).to_mm() / (RIGHT - LEFT - 2.0 * BESIDE);
    let needed = high.max(wide);
    let fitting = |scales: &[ScaleWords]| {
        let fits = |scale: &&ScaleWords| scale.ratio() >= needed;
        scales.iter().find(fits).or(scales.last()).copied()
    };
    let found = match units {
        Units::Us => fitting(&US),
        Units::Si => fitting(&SI),
    };
    found.unwrap_or(ScaleWords::OneTo(100))
}

/// From the middle of what lies in a cut to the farthest side of it.
fn reach(dig: &Dig) -> Length {
    let (low, high) = span(dig);
    (high - low) * 0.5
}

/// From one side of the width needed to both sides of what lies in it.
fn span(dig: &Dig) -> (Length, Length) {
    let ends = dig.section.contents.iter().map(|content| {
        let half = bundle(content.outside, content.count).0 * 0.5;
        (content.middle - half, content.middle + half)
    });
    ends.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
        .unwrap_or_default()
}

/// Words beside the section: where their line ends, and what they say.
pub type Told = (Point, String);

impl Drawn<'_> {
    fn paper(&self, length: Length) -> f64 {
        length.to_mm() / self.scale.ratio()
    }

    /// A place in the section: across from its middle, down from grade.
    pub fn at(&self, across: Length, down: Length) -> Point {
        Point::new(
            f64::midpoint(LEFT, RIGHT) + self.paper(across),
            GRADE + self.paper(down),
        )
    }

    pub fn is_open(&self) -> bool {
        self.dig.section.width > Length::ZERO
    }

    fn outline(&self) -> Vec<Point> {
        let outline = self.dig.section.outline();
        outline
            .into_iter()
            .map(|(across, down)| self.at(across, down))
            .collect()
    }

    /// The ground that stays, and the edge of the cut.
    fn ground(&self, svg: &mut Svg) {
        let bottom = self.at(Length::ZERO, self.dig.section.depth).y + BELOW;
        let corners = [
            (LEFT, GRADE),
            (RIGHT, GRADE),
            (RIGHT, bottom),
            (LEFT, bottom),
        ];
        let ground = closed_path(&corners.map(|(x, y)| Point::new(x, y)));
        let cut = if self.is_open() {
            self.outline()
        } else {
            Vec::new()
        };
        let all = ground + &closed_path(&cut);
        svg.path(&all, "fill=\"url(#earth)\" fill-rule=\"evenodd\"");
        let (left, right) = (Point::new(LEFT, GRADE), Point::new(RIGHT, GRADE));
        match (cut.first(), cut.last()) {
            (Some(&first), Some(&last)) => {
                svg.line(left, first, OUTLINE);
                svg.line(last, right, OUTLINE);
                svg.path(&open_path(&cut), OUTLINE);
            }
            _ => svg.line(left, right, OUTLINE),
        }
    }

    /// Bedding, lifts and the crown.
    fn fill(&self, svg: &mut Svg) {
        let section = &self.dig.section;
        if !self.is_open() {
            return;
        }
        let half = section.width * 0.5;
        if section.bedding > Length::ZERO {
            let top = section.depth - section.bedding;
            let corners = [
                (-half, top),
                (half, top),
                (half, section.depth),
                (-half, section.depth),
            ];
            let patch = closed_path(&corners.map(|(across, down)| self.at(across, down)));
            svg.path(&patch, &format!("fill=\"url(#bedding)\" {FINE}"));
        }
        let lifts = self.dig.earth.lifts;
        for i in 1..lifts {
            let down = (section.depth - section.bedding) * (f64::from(i) / f64::from(lifts));
            let line = [self.at(-half, down), self.at(half, down)];
            let dashes = "stroke=\"#555555\" stroke-width=\"0.18\" stroke-dasharray=\"1 0.8\"";
            svg.path(&open_path(&line), dashes);
        }
        if self.dig.earth.crown > Length::ZERO {
            let edge = section.top_width * 0.5;
            let (from, to) = (self.at(-edge, Length::ZERO), self.at(edge, Length::ZERO));
            // The middle of such a curve is half as high as its handle.
            let high = GRADE - 2.0 * self.paper(self.dig.earth.crown);
            let middle = Point::new(f64::midpoint(from.x, to.x), high);
            let data = format!(
                "M{} {}Q{} {} {} {}",
                number(from.x),
                number(from.y),
                number(middle.x),
                number(middle.y),
                number(to.x),
                number(to.y)
            );
            svg.path(&data, OUTLINE);
        }
    }

    /// Pipe, wire and cable at their places.
    fn contents(&self, svg: &mut Svg) -> Vec<Told> {
        let (low, high) = span(self.dig);
        let middle = (low + high) * 0.5;
        if self.plan.network.stretch(self.dig.stretch).sleeve.is_some() {
            self.sleeve(svg);
        }
        let contents = self.dig.section.contents.iter();
        contents
            .map(|content| self.content(svg, content, content.middle - middle))
            .collect()
    }

    fn content(&self, svg: &mut Svg, content: &Content, across: Length) -> Told {
        let (wide, high) = bundle(content.outside, content.count);
        let columns = f64::from(content.count.max(1)).sqrt().ceil() as u32;
        let radius = self.paper(content.outside * 0.5).max(0.25);
        for i in 0..content.count {
            let (column, row) = (i % columns, i / columns);
            let x = across - wide * 0.5 + content.outside * (f64::from(column) + 0.5);
            let y = content.cover + content.outside * (f64::from(row) + 0.5);
            let pipe = "fill=\"#ffffff\" stroke=\"#1a1a1a\" stroke-width=\"0.45\"";
            let wire = "fill=\"#1a1a1a\"";
            svg.circle(
                self.at(x, y),
                radius,
                if content.count > 1 { wire } else { pipe },
            );
        }
        let what = match content.count {
            0 | 1 => what(self.plan, content),
            count => format!("up to {count} wires"),
        };
        let words = format!("{what}, cover {}", on_tape(content.cover, self.units));
        (
            self.at(across + wide * 0.5, content.cover + high * 0.5),
            words,
        )
    }

    /// A ring around all that goes through the sleeve; its size stands in the material list.
    fn sleeve(&self, svg: &mut Svg) {
        let contents = &self.dig.section.contents;
        let top = contents.iter().map(|c| c.cover).reduce(Length::min);
        let floor = contents
            .iter()
            .map(|c| c.cover + bundle(c.outside, c.count).1);
        let (Some(top), Some(floor)) = (top, floor.reduce(Length::max)) else {
            return;
        };
        let half = reach(self.dig).max((floor - top) * 0.5);
        let radius = self.paper(half) * 1.25 + 0.8;
        let at = self.at(Length::ZERO, (top + floor) * 0.5);
        svg.circle(
            at,
            radius,
            "fill=\"#ffffff\" stroke=\"#1a1a1a\" stroke-width=\"0.9\"",
        );
    }

    fn markers(&self, svg: &mut Svg) -> Vec<Told> {
        let half = self.dig.section.width * 0.36;
        let markers = self.dig.section.markers.iter();
        markers
            .map(|marker| {
                let words = marker.kind.label();
                let cover = on_tape(marker.cover, self.units);
                let at = match marker.kind {
                    MarkerKind::Tape => {
                        let line = [self.at(-half, marker.cover), self.at(half, marker.cover)];
                        let tape =
                            "stroke=\"#1a1a1a\" stroke-width=\"0.8\" stroke-dasharray=\"1.4 0.6\"";
                        svg.path(&open_path(&line), tape);
                        line[1]
                    }
                    MarkerKind::Tracer => {
                        let at = self.at(-half, marker.cover);
                        svg.circle(at, 0.4, "fill=\"#1a1a1a\"");
                        at
                    }
                };
                (at, format!("{words}, cover {cover}"))
            })
            .collect()
    }
}
