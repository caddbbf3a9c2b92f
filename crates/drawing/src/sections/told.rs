//! The measures of a cross-section, and the words beside it.

use super::draw::{BELOW, Drawn, FINE, GRADE, HEIGHT, LEFT, RIGHT, Told, WIDTH};
use super::{is_pulled, on_tape};
use crate::picture::{size_that_fits, words_at};
use crate::style::{INK, SMALL_TEXT};
use crate::svg::{Anchor, Point, Svg, Text, open_path};
use quantity::Length;

/// Where words begin, and paper from one line of them to the next.
const WORDS: f64 = 50.5;
const LINE: f64 = 4.3;

impl Drawn<'_> {
    /// Depth on the left, widths below and above.
    pub fn measures(&self, svg: &mut Svg) {
        let section = &self.dig.section;
        let show = |length: Length| on_tape(length, self.units);
        let floor = self.at(Length::ZERO, section.depth).y;
        let x = LEFT - 3.0;
        arrow(svg, Point::new(x, GRADE), Point::new(x, floor));
        let size = size_that_fits(&show(section.depth), SMALL_TEXT, (floor - GRADE).max(9.0));
        svg.open_group(&format!("fill=\"{INK}\""));
        words_at(
            svg,
            Point::new(x - 2.6, f64::midpoint(GRADE, floor)),
            -90.0,
            size,
            &show(section.depth),
        );
        if self.is_open() {
            let half = section.width * 0.5;
            let (from, to) = (self.at(-half, section.depth), self.at(half, section.depth));
            let y = floor + BELOW + 2.0;
            span_below(svg, from, to, y);
            words_at(
                svg,
                Point::new(f64::midpoint(from.x, to.x), y + 3.0),
                0.0,
                SMALL_TEXT,
                &show(section.width),
            );
        }
        if section.top_width > section.width {
            let edge = section.top_width * 0.5;
            let (from, to) = (self.at(-edge, Length::ZERO), self.at(edge, Length::ZERO));
            let y = GRADE - 4.5;
            span_below(svg, from, to, y);
            words_at(
                svg,
                Point::new(f64::midpoint(from.x, to.x), y - 2.6),
                0.0,
                SMALL_TEXT,
                &show(section.top_width),
            );
        }
        svg.close_group();
    }

    /// What everything is, from the top down, each joined to it by a line; the rest below.
    pub fn words(&self, svg: &mut Svg, mut told: Vec<Told>) {
        let section = &self.dig.section;
        let show = |length: Length| on_tape(length, self.units);
        if self.is_open() && self.dig.earth.crown > Length::ZERO {
            let at = self.at(section.top_width * 0.25, -self.dig.earth.crown * 0.75);
            told.push((at, format!("crown {}", show(self.dig.earth.crown))));
        }
        if section.bedding > Length::ZERO {
            let at = self.at(section.width * 0.3, section.depth - section.bedding * 0.5);
            told.push((at, format!("bedding {}", show(section.bedding))));
        }
        told.sort_by(|a, b| a.0.y.total_cmp(&b.0.y));
        let mut rest: Vec<String> = Vec::new();
        if self.is_open() && self.dig.earth.lifts > 0 {
            let lifts = self.dig.earth.lifts;
            let words = if lifts == 1 { "lift" } else { "lifts" };
            rest.push(format!("fill in {lifts} {words}"));
        }
        if section.protection {
            rest.push(format!(
                "sides {}: see the trench check",
                section.sides.label()
            ));
        }
        if section.egress {
            rest.push("way out needed".to_owned());
        }
        if is_pulled(self.job, self.dig) {
            rest.push("pulled in, no trench".to_owned());
        }
        if self.plan.network.stretch(self.dig.stretch).sleeve.is_some() {
            rest.push("through a sleeve".to_owned());
        }
        rest.push(format!("scale {}", self.scale));
        let floor = HEIGHT - 2.5 - LINE * rest.len() as f64;
        let ys = spread(
            told.iter().map(|(at, _)| at.y).collect(),
            GRADE - 3.5,
            floor - LINE * 0.5,
        );
        for ((at, words), y) in told.iter().zip(ys) {
            let knee = Point::new(RIGHT - 1.0, y);
            svg.path(&open_path(&[*at, knee, Point::new(WORDS - 0.8, y)]), FINE);
            line_of(svg, y, words);
        }
        for (i, words) in rest.iter().enumerate() {
            line_of(svg, floor + LINE * (i as f64 + 0.5), words);
        }
    }
}

/// Heights that lie apart by a line at least, near those wanted, between two bounds if they fit there.
fn spread(mut wanted: Vec<f64>, top: f64, bottom: f64) -> Vec<f64> {
    let mut least = top;
    for y in &mut wanted {
        *y = y.max(least);
        least = *y + LINE;
    }
    let mut most = bottom.max(top + LINE * wanted.len().saturating_sub(1) as f64);
    for y in wanted.iter_mut().rev() {
        *y = y.min(most);
        most = *y - LINE;
    }
    wanted
}

fn line_of(svg: &mut Svg, y: f64, words: &str) {
    let size = size_that_fits(words, SMALL_TEXT, WIDTH - WORDS - 0.5);
    svg.text(&Text {
        at: Point::new(WORDS, y + size * 0.36),
        turn: 0.0,
        size,
        anchor: Anchor::Start,
        attributes: &format!("fill=\"{INK}\""),
        words,
    });
}

/// A fine line with a slanting stroke at each end.
fn arrow(svg: &mut Svg, from: Point, to: Point) {
    let direction = (to.y - from.y).atan2(to.x - from.x);
    let stroke = |at: Point| {
        let slant = direction + std::f64::consts::FRAC_PI_4;
        open_path(&[at.off(slant, -1.1), at.off(slant, 1.1)])
    };
    svg.path(
        &(open_path(&[from, to]) + &stroke(from) + &stroke(to)),
        FINE,
    );
}

/// A measure below or above two places, with lines from them to it.
fn span_below(svg: &mut Svg, from: Point, to: Point, y: f64) {
    let (a, b) = (Point::new(from.x, y), Point::new(to.x, y));
    svg.path(&(open_path(&[from, a]) + &open_path(&[to, b])), FINE);
    arrow(svg, a, b);
}
