//! Placing words so that they do not lie on words.
//!
//! Labels are placed one after the other, the weightiest first. Each brings places it would like,
//! best first. A place on a word that stands already, on a symbol or outside the frame is out; a
//! place on a heavy line costs by the length covered; the cheapest wins. A label for which no place
//! is left is tried smaller, then set apart and joined by a leader line, then left out.

mod plate;

use plate::Grid;
pub use plate::Plate;

use crate::sheet::Frame;
use crate::style::{FINE_TEXT, INK};
use crate::svg::{Anchor, Point, Svg, Text};

/// A label that wants a place.
#[derive(Debug, Clone)]
pub struct Label {
    /// One or more lines of text.
    pub lines: Vec<String>,
    pub size: f64,
    pub weight: Weight,
    /// Whether it is written in bold.
    pub bold: bool,
    /// What it names: where a leader line ends.
    pub target: Point,
    /// Where it would like to stand, best first.
    pub spots: Vec<Spot>,
    /// Whole millimetres of line that it may stand along: less of it leaves less choice, so among
    /// labels of one weight the shortest come first.
    pub choice: u32,
}

/// How much a label matters; the weightiest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Source, valves, controller: set apart with a leader line if need be.
    Component,
    /// Crossings, gates, sleeves: the same.
    Warning,
    /// Heads: the same, not far away.
    Head,
    /// Pipe sizes: the same.
    Size,
    /// Stretches, by which the cut list names them: the same, close by.
    Stretch,
    /// Names of what stands on the property: the same, not far away.
    Ground,
    /// Spot elevations; left out if there is no room.
    Spot,
}

impl Weight {
    /// How far a label may be set apart.
    fn farthest(self) -> f64 {
        match self {
            Self::Component | Self::Warning | Self::Size => 46.0,
            Self::Head | Self::Ground => 17.0,
            Self::Stretch => 22.0,
            Self::Spot => 0.0,
        }
    }

    /// How much of heavy lines a label may cover, by their cost.
    fn most_covered(self) -> f64 {
        match self {
            Self::Component | Self::Warning | Self::Head | Self::Size => 5.0,
            Self::Ground | Self::Stretch | Self::Spot => 4.0,
        }
    }

    /// The smaller size that a label may take where the usual one finds no room.
    fn smaller(self) -> Option<f64> {
        matches!(self, Self::Head | Self::Size | Self::Stretch | Self::Ground).then_some(FINE_TEXT)
    }
}

/// A place for a label: the middle of its text, and its turn in degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    pub middle: Point,
    pub turn: f64,
}

/// Where a label came to stand.
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    pub spot: Spot,
    /// Font size.
    pub size: f64,
    /// From the named point to the label.
    pub leader: Option<(Point, Point)>,
}

/// What stands on the sheet already.
pub struct Placing {
    frame: Frame,
    solid: Grid<Plate>,
    lines: Grid<Stroke>,
}

/// A heavy line that words should not cover.
#[derive(Debug, Clone, Copy)]
struct Stroke {
    from: Point,
    to: Point,
    cost: f64,
}

impl Placing {
    pub fn new(frame: Frame) -> Self {
        Self {
            frame,
            solid: Grid::default(),
            lines: Grid::default(),
        }
    }

    /// Keeps words off a symbol.
    pub fn keep_off(&mut self, middle: Point, radius: f64) {
        self.add_solid(Plate::new(middle, radius, radius, 0.0));
    }

    /// Keeps words out of a frame.
    pub fn keep_out(&mut self, frame: Frame) {
        let (w, h) = (frame.width / 2.0, frame.height / 2.0);
        let middle = Point::new(frame.x + w, frame.y + h);
        self.add_solid(Plate::new(middle, w, h, 0.0));
    }

    /// Makes words dear on a line; `cost` per millimetre covered.
    pub fn avoid_line(&mut self, points: &[Point], cost: f64) {
        for pair in points.windows(2) {
            let stroke = Stroke {
                from: pair[0],
                to: pair[1],
                cost,
            };
            let middle = stroke.from.toward(stroke.to, 0.5);
            let (w, h) = (
                (stroke.from.x - stroke.to.x).abs() / 2.0,
                (stroke.from.y - stroke.to.y).abs() / 2.0,
            );
            self.lines.add(stroke, middle, w, h);
        }
    }

    fn add_solid(&mut self, solid: Plate) {
        let (w, h) = solid.reach();
        self.solid.add(solid, solid.middle, w, h);
    }

    /// What a place costs; `None` if it is out.
    fn cost(&self, wanted: &Plate) -> Option<f64> {
        let (w, h) = wanted.reach();
        let inside = wanted.middle.x - w >= self.frame.x + 1.0
            && wanted.middle.x + w <= self.frame.right() - 1.0
            && wanted.middle.y - h >= self.frame.y + 1.0
            && wanted.middle.y + h <= self.frame.bottom() - 1.0;
        if !inside {
            return None;
        }
        let taken = self
            .solid
            .near(wanted.middle, w, h)
            .any(|solid| solid.overlaps(wanted));
        if taken {
            return None;
        }
        let covered = self
            .lines
            .near(wanted.middle, w, h)
            .map(|stroke| wanted.covers(stroke.from, stroke.to) * stroke.cost)
            .sum();
        Some(covered)
    }

    /// Whether a leader line would cross a word or a symbol, its own end left out.
    fn blocks(&self, from: Point, to: Point) -> bool {
        let start = from.toward(to, 2.6 / from.distance(to).max(2.7));
        let middle = start.toward(to, 0.5);
        let (w, h) = ((start.x - to.x).abs() / 2.0, (start.y - to.y).abs() / 2.0);
        self.solid
            .near(middle, w, h)
            .any(|solid| solid.covers(start, to) > 0.0)
    }
}

/// Places labels; the answer stands in the order of the labels.
pub fn place(labels: &[Label], placing: &mut Placing) -> Vec<Option<Placed>> {
    let mut order: Vec<usize> = (0..labels.len()).collect();
    order.sort_by_key(|&i| (labels[i].weight, labels[i].choice, i));
    let mut placed = vec![None; labels.len()];
    for i in order {
        let label = &labels[i];
        placed[i] = somewhere(label, placing);
        if let Some(place) = &placed[i] {
            take(label, place, placing);
        }
    }
    placed
}

/// A cheaper place further down the list has to be this much cheaper for each step.
const STEP_COST: f64 = 0.35;

fn somewhere(label: &Label, placing: &Placing) -> Option<Placed> {
    let fine = label.weight.smaller().map(|size| Label {
        size,
        ..label.clone()
    });
    let fine = fine.as_ref();
    beside(label, placing)
        .or_else(|| beside(fine?, placing))
        .or_else(|| apart(fine.unwrap_or(label), placing))
}

fn beside(label: &Label, placing: &Placing) -> Option<Placed> {
    let spots = label.spots.iter().enumerate();
    let costs = spots.filter_map(|(i, &spot)| {
        let covered = placing.cost(&label.at(spot))?;
        (covered <= label.weight.most_covered()).then_some((covered + i as f64 * STEP_COST, spot))
    });
    let (_, spot) = costs.min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(Placed {
        spot,
        size: label.size,
        leader: None,
    })
}

/// Distances from the named point at which a label is set apart.
const RINGS: [f64; 9] = [4.5, 7.0, 10.0, 13.0, 17.0, 22.0, 28.0, 36.0, 46.0];

/// Directions that are tried on each ring.
const TURNS: u32 = 32;

fn apart(label: &Label, placing: &Placing) -> Option<Placed> {
    let (w, h) = (label.width() / 2.0, label.height() / 2.0);
    let rings = RINGS
        .iter()
        .filter(|&&ring| ring <= label.weight.farthest());
    let spots = rings.flat_map(|&ring| {
        (0..TURNS).map(move |turn| {
            let angle = f64::from(turn) * std::f64::consts::TAU / f64::from(TURNS);
            (ring, angle)
        })
    });
    spots
        .filter_map(|(ring, angle)| {
            let tip = label.target.off(angle, ring);
            let middle = Point::new(tip.x + angle.cos() * w, tip.y + angle.sin() * h);
            let spot = Spot { middle, turn: 0.0 };
            let cost = placing.cost(&label.at(spot))?;
            if placing.blocks(label.target, tip) {
                return None;
            }
            let placed = Placed {
                spot,
                size: label.size,
                leader: Some((label.target, tip)),
            };
            Some((cost + ring * 0.5, placed))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, placed)| placed)
}

/// Keeps later words off a label and its leader line.
fn take(label: &Label, place: &Placed, placing: &mut Placing) {
    placing.add_solid(label.as_placed(place));
    if let Some((from, to)) = place.leader {
        let middle = from.toward(to, 0.5);
        let angle = (to.y - from.y).atan2(to.x - from.x);
        let half = from.distance(to) / 2.0;
        placing.add_solid(Plate::new(middle, half, 0.3, angle));
    }
}

/// Height of a line of text over its font size.
const LINE: f64 = 1.18;
/// Paper kept free around a text.
const AIR: f64 = 0.35;

impl Label {
    pub fn width(&self) -> f64 {
        let widest = self
            .lines
            .iter()
            .map(|line| text_width(line, self.size))
            .fold(0.0, f64::max);
        if self.bold { widest * 1.1 } else { widest }
    }

    fn attributes(&self) -> &'static str {
        match (self.weight, self.bold) {
            (_, true) => "font-weight=\"bold\"",
            (Weight::Stretch, _) => "font-style=\"italic\"",
            (Weight::Spot, _) => "fill=\"#7a7a7a\"",
            _ => "",
        }
    }

    pub fn height(&self) -> f64 {
        let lines = self.lines.len().max(1) as f64;
        self.size * (LINE * (lines - 1.0) + 0.95)
    }

    /// What it covers where it came to stand, at the size that it came to have.
    fn as_placed(&self, place: &Placed) -> Plate {
        let set = Self {
            size: place.size,
            ..self.clone()
        };
        set.at(place.spot)
    }

    fn at(&self, spot: Spot) -> Plate {
        Plate::new(
            spot.middle,
            self.width() / 2.0 + AIR,
            self.height() / 2.0 + AIR,
            spot.turn.to_radians(),
        )
    }

    /// Places around a point, clear of a symbol of a radius.
    pub fn spots_around(&self, point: Point, radius: f64) -> Vec<Spot> {
        let (w, h) = (self.width() / 2.0 + AIR, self.height() / 2.0 + AIR);
        let mut spots = Vec::new();
        for gap in [0.5, 2.0] {
            let reach = radius + gap;
            for (dx, dy) in SIDES {
                let slack = if dx != 0.0 && dy != 0.0 { 0.7 } else { 1.0 };
                let middle = Point::new(
                    point.x + dx * (w + reach * slack),
                    point.y + dy * (h + reach * slack),
                );
                spots.push(Spot { middle, turn: 0.0 });
            }
        }
        spots
    }
}

/// Right, left, above, below, then the corners.
const SIDES: [(f64, f64); 8] = [
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (1.0, -1.0),
    (1.0, 1.0),
    (-1.0, -1.0),
    (-1.0, 1.0),
];

/// The width of a text, from average glyph widths of a wide sans-serif face: with most faces the
/// text comes out narrower, so that what is kept apart here stays apart.
pub fn text_width(text: &str, size: f64) -> f64 {
    let ems: f64 = text
        .chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' => 0.33,
            ' ' | 'f' | 't' | 'r' | '(' | ')' | '-' | '/' | 'I' => 0.41,
            'm' | 'w' | 'M' | 'W' | '%' | '@' | '→' | '—' => 0.97,
            'A'..='Z' | '×' | '=' | '+' => 0.74,
            c if c.is_ascii() => 0.62,
            c if (c as u32) < 0x500 => 0.7,
            _ => 1.0,
        })
        .sum();
    ems * size
}

/// Writes the labels that have a place.
pub fn draw(svg: &mut Svg, labels: &[Label], placed: &[Option<Placed>]) {
    for leader in placed.iter().flatten().filter_map(|place| place.leader) {
        svg.line(
            leader.0,
            leader.1,
            "stroke=\"#ffffff\" stroke-width=\"0.7\"",
        );
        svg.line(
            leader.0,
            leader.1,
            &format!("stroke=\"{INK}\" stroke-width=\"0.2\""),
        );
    }
    svg.open_group(&format!(
        "fill=\"{INK}\" stroke=\"#ffffff\" stroke-width=\"0.9\" paint-order=\"stroke\""
    ));
    for (label, place) in labels.iter().zip(placed) {
        if let Some(place) = place {
            write_label(svg, label, place);
        }
    }
    svg.close_group();
}

fn write_label(svg: &mut Svg, label: &Label, place: &Placed) {
    let (spot, size) = (place.spot, place.size);
    let down = (spot.turn + 90.0).to_radians();
    let lines = label.lines.len() as f64;
    for (i, words) in label.lines.iter().enumerate() {
        // Capitals reach 0.72 of the size above the base line: half of it below the line's middle.
        let below = size * (LINE * (i as f64 - (lines - 1.0) / 2.0) + 0.36);
        svg.text(&Text {
            at: spot.middle.off(down, below),
            turn: spot.turn,
            size,
            anchor: Anchor::Middle,
            attributes: label.attributes(),
            words,
        });
    }
}

#[cfg(test)]
mod tests;
