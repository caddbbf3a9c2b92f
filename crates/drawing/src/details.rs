//! Crowded places drawn again, two or three times as large, on paper that is free.
//!
//! A first placing of all names, thrown away, tells where they crowd: where names found no room
//! or had to be set apart. The free paper beside and above the property is cut into frames; the
//! largest goes to the worst crowd, and so on while a crowd is worth it.

use crate::components;
use crate::labels::{Placing, text_width};
use crate::sheet::{Extent, Frame, Layout, PAD, USEFUL, View};
use crate::style::{INK, TEXT};
use crate::svg::{Anchor, Point, Svg, Text};
use crate::{Scene, draw_site};

/// A part of the plan drawn again.
#[derive(Debug, Clone)]
pub struct Detail {
    /// `A`, `B`, …
    pub name: String,
    times: u32,
    /// What of the plan it shows.
    pub on_plan: Frame,
    /// Where it is drawn.
    pub frame: Frame,
    view: View,
}

/// Names in trouble that make a detail worth its paper.
const WORTH: usize = 3;
/// How many names in trouble a valve outweighs whose symbol another one hides.
const HIDDEN: usize = 2;
/// Paper between details.
const GAP: f64 = 3.0;
/// How much wider bold words run.
const BOLD: f64 = 1.12;
/// Height of a detail's heading.
const HEADING: f64 = 5.5;

/// The details of a plan, named in the order of their crowds.
pub fn of(scene: &Scene, extent: Extent, layout: &Layout) -> Vec<Detail> {
    in_rooms(scene, rooms(scene, extent, layout))
}

/// The details that frames on free paper can show.
pub fn in_rooms(scene: &Scene, rooms: Vec<Frame>) -> Vec<Detail> {
    if rooms.is_empty() {
        return Vec::new();
    }
    let mut crowd = crowd(scene);
    let mut details: Vec<Detail> = Vec::new();
    for room in rooms {
        let window = below_heading(room);
        let Some((times, on_plan)) = worst(&crowd, window, &details) else {
            continue;
        };
        crowd.retain(|&point| !on_plan.holds(point));
        let view = scene
            .view
            .enlarged(f64::from(times), on_plan.middle(), window.middle());
        let name = char::from(b'A'.saturating_add(u8::try_from(details.len()).unwrap_or(25)));
        details.push(Detail {
            name: name.to_string(),
            times,
            on_plan,
            frame: room,
            view,
        });
    }
    details
}

fn below_heading(frame: Frame) -> Frame {
    Frame {
        y: frame.y + HEADING,
        height: frame.height - HEADING,
        ..frame
    }
}

/// What names would crowd if the plan stood alone.
fn crowd(scene: &Scene) -> Vec<Point> {
    let named = draw_site(&mut Svg::new(0.0, 0.0), scene);
    let names = named.labels.iter().zip(&named.placed);
    let mut crowd: Vec<Point> = names
        .filter(|(_, place)| place.is_none_or(|place| place.leader.is_some()))
        .map(|(label, _)| label.target)
        .collect();
    for component in components::of(scene) {
        let hidden = HIDDEN * component.lines.len().saturating_sub(1);
        crowd.extend(std::iter::repeat_n(component.at, hidden));
    }
    crowd
}

/// Frames on free paper, the largest first.
fn rooms(scene: &Scene, extent: Extent, layout: &Layout) -> Vec<Frame> {
    let low = scene.view.point(extent.low);
    let high = scene.view.point(extent.high);
    let frame = layout.frame;
    let right = (frame.right() - high.x - PAD - GAP).max(0.0);
    let top = (high.y - PAD - frame.y - GAP).max(0.0);
    let (beside, above) = (right >= USEFUL - PAD, top >= USEFUL - PAD);
    // The corner goes to the wider strip.
    let corner_is_beside = beside && (right >= top || !above);
    let mut rooms = Vec::new();
    if beside {
        let y = if corner_is_beside || !above {
            frame.y + GAP
        } else {
            high.y - PAD
        };
        let strip = Frame {
            x: high.x + PAD,
            y,
            width: right,
            height: frame.bottom() - GAP - y,
        };
        rooms.extend(cut(strip));
    }
    if above {
        let end = if corner_is_beside {
            high.x + PAD - GAP
        } else {
            frame.right() - GAP
        };
        let strip = Frame {
            x: frame.x + GAP,
            y: frame.y + GAP,
            width: end - frame.x - GAP,
            height: top,
        };
        rooms.extend(cut(strip));
    }
    debug_assert!(low.y >= high.y, "north is up");
    rooms.sort_by(|a, b| (b.width * b.height).total_cmp(&(a.width * a.height)));
    rooms
}

/// Cuts a strip into frames that are not much longer than wide.
fn cut(strip: Frame) -> Vec<Frame> {
    let across = strip.width >= strip.height;
    let (long, short) = if across {
        (strip.width, strip.height)
    } else {
        (strip.height, strip.width)
    };
    let count = (long / (short * 1.35)).round().max(1.0);
    let piece = (long - GAP * (count - 1.0)) / count;
    (0..count as u32)
        .map(|i| {
            let start = f64::from(i) * (piece + GAP);
            if across {
                Frame {
                    x: strip.x + start,
                    width: piece,
                    ..strip
                }
            } else {
                Frame {
                    y: strip.y + start,
                    height: piece,
                    ..strip
                }
            }
        })
        .collect()
}

/// The worst crowd that a frame can show, and how many times enlarged.
fn worst(crowd: &[Point], room: Frame, taken: &[Detail]) -> Option<(u32, Frame)> {
    let mut best: Option<(f64, u32, Frame)> = None;
    for (times, worth) in [(3, 1.8), (2, 1.0)] {
        let (width, height) = (
            room.width / f64::from(times),
            room.height / f64::from(times),
        );
        for &point in crowd {
            let about = |middle| Frame::about(middle, width, height);
            let shown: Vec<Point> = crowd
                .iter()
                .copied()
                .filter(|&other| about(point).within(2.0).holds(other))
                .collect();
            let centred = about(middle(&shown));
            let is_free = taken.iter().all(|other| !other.on_plan.overlaps(centred));
            let score = shown.len() as f64 * worth;
            let better = best.is_none_or(|(most, ..)| score > most);
            if shown.len() >= WORTH && is_free && better {
                best = Some((score, times, centred));
            }
        }
    }
    best.map(|(_, times, on_plan)| (times, on_plan))
}

/// The middle of the rectangle around points.
fn middle(points: &[Point]) -> Point {
    let range = |of: fn(&Point) -> f64| {
        let low = points.iter().map(of).fold(f64::INFINITY, f64::min);
        let high = points.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        f64::midpoint(low, high)
    };
    Point::new(range(|p| p.x), range(|p| p.y))
}

/// Outlines on the plan what is shown enlarged, with its letter.
pub fn mark(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    for detail in &scene.details {
        let at = detail.on_plan;
        let edge = format!("stroke=\"{INK}\" stroke-width=\"0.3\" stroke-dasharray=\"2.4 1\"");
        svg.rect(at.corner(), at.width, at.height, &edge);
        let letter = Point::new(at.x, at.y);
        badge(svg, letter, &detail.name);
        placing.keep_off(letter, BADGE);
        let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)]
            .map(|(x, y)| Point::new(at.x + x * at.width, at.y + y * at.height));
        placing.avoid_line(&corners, 0.5);
    }
}

const BADGE: f64 = 2.5;

fn badge(svg: &mut Svg, at: Point, letter: &str) {
    svg.circle(at, BADGE, &format!("fill=\"{INK}\""));
    svg.text(&Text {
        at: Point::new(at.x, at.y + TEXT * 0.36),
        turn: 0.0,
        size: TEXT,
        anchor: Anchor::Middle,
        attributes: "fill=\"#ffffff\" font-weight=\"bold\"",
        words: letter,
    });
}

/// Draws the details in their frames; gives the number of names that found no room.
pub fn draw(svg: &mut Svg, scene: &Scene) -> Vec<String> {
    let drawn = scene.details.iter().map(|detail| one(svg, scene, detail));
    drawn.flatten().collect()
}

fn one(svg: &mut Svg, scene: &Scene, detail: &Detail) -> Vec<String> {
    let frame = detail.frame;
    let id = format!("detail-{}", detail.name);
    svg.raw(&format!("<clipPath id=\"{id}\">"));
    svg.rect(frame.corner(), frame.width, frame.height, "");
    svg.raw("</clipPath>");
    svg.rect(
        frame.corner(),
        frame.width,
        frame.height,
        "fill=\"#ffffff\"",
    );
    svg.open_group(&format!("clip-path=\"url(#{id})\""));
    let enlarged = enlarged(scene, detail);
    let left_out = draw_site(svg, &enlarged).left_out();
    svg.rect(frame.corner(), frame.width, HEADING, "fill=\"#ffffff\"");
    svg.close_group();
    heading(svg, detail);
    left_out
}

/// What a detail is drawn from.
pub fn enlarged<'a>(scene: &Scene<'a>, detail: &Detail) -> Scene<'a> {
    Scene {
        view: detail.view,
        window: below_heading(detail.frame),
        details: Vec::new(),
        ..*scene
    }
}

fn heading(svg: &mut Svg, detail: &Detail) {
    let frame = detail.frame;
    let edge = format!("stroke=\"{INK}\" stroke-width=\"0.4\"");
    svg.rect(frame.corner(), frame.width, HEADING, &edge);
    svg.rect(frame.corner(), frame.width, frame.height, &edge);
    let y = frame.y + HEADING / 2.0;
    badge(svg, Point::new(frame.x + 3.6, y), &detail.name);
    let words = [
        format!("detail {}: {} times the plan", detail.name, detail.times),
        format!("{}: {} times as large", detail.name, detail.times),
        format!("{} × plan", detail.times),
    ];
    let room = frame.width - 7.6 - 1.0;
    let fits = |words: &&String| text_width(words, TEXT) * BOLD <= room;
    let Some(words) = words.iter().find(fits) else {
        return;
    };
    svg.text(&Text {
        at: Point::new(frame.x + 7.6, y + TEXT * 0.36),
        turn: 0.0,
        size: TEXT,
        anchor: Anchor::Start,
        attributes: &format!("fill=\"{INK}\" font-weight=\"bold\""),
        words,
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strip_is_cut_into_frames_that_lie_apart() {
        let strip = Frame {
            x: 10.0,
            y: 10.0,
            width: 300.0,
            height: 60.0,
        };
        let rooms = cut(strip);
        assert_eq!(rooms.len(), 4);
        for (i, a) in rooms.iter().enumerate() {
            assert!(a.right() <= strip.right() + 1e-9);
            assert!(rooms[i + 1..].iter().all(|b| !a.overlaps(*b)));
        }
    }

    #[test]
    fn a_frame_goes_to_the_worst_crowd() {
        let at = |x: f64, y: f64, n: usize| vec![Point::new(x, y); n];
        let crowd = [at(50.0, 50.0, 5), at(200.0, 50.0, 9), at(90.0, 90.0, 1)].concat();
        let room = Frame::about(Point::new(100.0, 20.0), 60.0, 45.0);
        let (times, shown) = worst(&crowd, room, &[]).expect("there is a crowd");
        assert_eq!(times, 3);
        assert!(shown.holds(Point::new(200.0, 50.0)));
        assert!(worst(&at(1.0, 1.0, WORTH - 1), room, &[]).is_none());
    }
}
