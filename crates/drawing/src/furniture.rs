//! Around the drawing: frames, title block, scale bar, north arrow, cautions.

use crate::Scene;
use crate::labels::text_width;
use crate::sheet::{Frame, Layout};
use crate::style::{INK, SMALL_TEXT};
use crate::svg::{Anchor, Point, Svg, Text, closed_path, number};
use quantity::Units;

pub fn draw(svg: &mut Svg, scene: &Scene, layout: &Layout, left_out: &[String]) {
    for frame in [layout.frame, layout.legend, layout.title] {
        let edge = format!("stroke=\"{INK}\" stroke-width=\"0.5\"");
        svg.rect(frame.corner(), frame.width, frame.height, &edge);
    }
    let title = layout.title;
    let bottom = heading(svg, scene, title);
    north(svg, scene, Point::new(title.x + 12.0, bottom + 12.0));
    scale(svg, scene, title, bottom);
    let owners = "Local codes and the services' owners come first.";
    cautions(svg, scene, title, bottom - 1.0 + NORTH, &[owners], left_out);
}

/// The same around a picture whose sheet has the job's name already: scale, north, cautions.
pub fn draw_plain(svg: &mut Svg, scene: &Scene, layout: &Layout, left_out: &[String]) {
    draw_unscaled(svg, scene, layout, left_out);
    let title = layout.title;
    scale(svg, scene, title, title.y + 3.0);
}

/// The same where parts of the plan stand at scales of their own.
pub fn draw_unscaled(svg: &mut Svg, scene: &Scene, layout: &Layout, left_out: &[String]) {
    for frame in [layout.frame, layout.legend, layout.title] {
        let edge = format!("stroke=\"{INK}\" stroke-width=\"0.5\"");
        svg.rect(frame.corner(), frame.width, frame.height, &edge);
    }
    let title = layout.title;
    north(svg, scene, Point::new(title.x + 12.0, title.y + 13.0));
    // The foot of such a sheet names the codes and the owners.
    cautions(svg, scene, title, title.y + NORTH, &[], left_out);
}

fn words(svg: &mut Svg, at: Point, size: f64, attributes: &str, words: &str) {
    svg.text(&Text {
        at,
        turn: 0.0,
        size,
        anchor: Anchor::Start,
        attributes: &format!("fill=\"{INK}\" {attributes}"),
        words,
    });
}

const BOLD: &str = "font-weight=\"bold\"";

/// The job's name and what the sheet is; gives the lower edge.
fn heading(svg: &mut Svg, scene: &Scene, title: Frame) -> f64 {
    let left = title.x + 4.0;
    let room = title.width - 8.0;
    let mut y = title.y + 7.5;
    for line in wrap(&scene.job.name, 5.0 * 1.1, room).iter().take(2) {
        words(svg, Point::new(left, y), 5.0, BOLD, line);
        y += 6.0;
    }
    words(
        svg,
        Point::new(left, y - 0.6),
        3.4,
        "",
        "irrigation trenches and pipe",
    );
    if scene.job.invented {
        y += 5.0;
        let text = "INVENTED PROPERTY, not a real place";
        words(svg, Point::new(left, y - 0.6), 3.4, BOLD, text);
    }
    let length = scene.plan.network.length().amount().show(scene.units);
    let stretches = scene.plan.network.stretches.len();
    y += 5.0;
    let text = format!("{length} of trench in {stretches} stretches");
    words(svg, Point::new(left, y - 0.6), SMALL_TEXT, "", &text);
    y + 2.0
}

/// The arrow points to true north where the job is anchored, else along the plan's y axis.
fn north(svg: &mut Svg, scene: &Scene, at: Point) {
    let turn = scene.job.anchor.map_or(0.0, |anchor| -anchor.rotation);
    let (x, y) = (number(at.x), number(at.y));
    let group = format!("transform=\"rotate({} {x} {y})\"", number(turn));
    svg.open_group(&group);
    let shape = |corners: [(f64, f64); 3]| {
        closed_path(&corners.map(|(x, y)| Point::new(at.x + x, at.y + y)))
    };
    let edge = format!("stroke=\"{INK}\" stroke-width=\"0.35\"");
    svg.path(
        &shape([(0.0, -9.0), (-3.2, 6.0), (0.0, 3.0)]),
        &format!("fill=\"{INK}\" {edge}"),
    );
    svg.path(
        &shape([(0.0, -9.0), (3.2, 6.0), (0.0, 3.0)]),
        &format!("fill=\"#ffffff\" {edge}"),
    );
    svg.close_group();
    let lines: &[&str] = match scene.job.anchor {
        Some(_) => &["north"],
        None => &["plan north", "(not surveyed)"],
    };
    for (i, line) in lines.iter().enumerate() {
        svg.text(&Text {
            at: Point::new(at.x, at.y + 12.5 + 3.4 * i as f64),
            turn: 0.0,
            size: SMALL_TEXT,
            anchor: Anchor::Middle,
            attributes: &format!("fill=\"{INK}\""),
            words: line,
        });
    }
}

/// The scale in words and as a bar of round lengths in the reader's unit.
fn scale(svg: &mut Svg, scene: &Scene, title: Frame, top: f64) {
    let left = title.x + 30.0;
    let room = title.width - 38.0;
    let (metres_of_unit, unit) = match scene.units {
        Units::Us => (0.3048, "ft"),
        Units::Si => (1.0, "m"),
    };
    let step = round_step(room / 2.5 / scene.view.paper(metres_of_unit));
    let piece = scene.view.paper(step * metres_of_unit);
    let pieces = (room / piece).floor().clamp(2.0, 5.0) as u32;
    let y = top + 11.0;
    let text = format!("scale {}", scene.view.words);
    words(svg, Point::new(left, top + 4.5), 3.6, BOLD, &text);
    for i in 0..pieces {
        let fill = if i % 2 == 0 { INK } else { "#ffffff" };
        let at = Point::new(left + piece * f64::from(i), y);
        let style = format!("fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"0.25\"");
        svg.rect(at, piece, 1.6, &style);
    }
    for i in 0..=pieces {
        let unit = if i == pieces { unit } else { "" };
        let number = number(step * f64::from(i));
        svg.text(&Text {
            at: Point::new(left + piece * f64::from(i), y - 1.2),
            turn: 0.0,
            size: SMALL_TEXT,
            anchor: Anchor::Middle,
            attributes: &format!("fill=\"{INK}\""),
            words: format!("{number} {unit}").trim_end(),
        });
    }
    let sheet = "if printed at full size: check the bar";
    words(svg, Point::new(left, y + 5.2), SMALL_TEXT, "", sheet);
}

/// The largest 1, 2 or 5 times a power of ten that is not above a number.
fn round_step(most: f64) -> f64 {
    let power = 10_f64.powf(most.max(1e-6).log10().floor());
    [5.0, 2.0, 1.0]
        .iter()
        .map(|n| n * power)
        .find(|&step| step <= most)
        .unwrap_or(power)
}

/// Paper from a line of the cautions to the next.
const LINE: f64 = 3.7;
/// Paper that the arrow to north takes with its words.
const NORTH: f64 = 33.5;

/// Cautions at the foot of the title, below `top`; then the names that found no room, as far as there is room for
/// them.
fn cautions(
    svg: &mut Svg,
    scene: &Scene,
    title: Frame,
    top: f64,
    more: &[&str],
    left_out: &[String],
) {
    let room = title.width - 8.0;
    let bold = wrap(
        "Not to be dug before utilities are located and marked.",
        SMALL_TEXT * 1.1,
        room,
    );
    let mut lines: Vec<(String, &str)> = bold.into_iter().map(|line| (line, BOLD)).collect();
    let level = "No elevations in the job: drawn as level ground.";
    let level = scene.job.survey.spots.is_empty().then_some(level);
    let rest = more
        .iter()
        .copied()
        .chain(["Widths are not to scale; lengths along lines are."])
        .chain(level);
    lines.extend(
        rest.flat_map(|text| wrap(text, SMALL_TEXT, room))
            .map(|line| (line, "")),
    );
    let last = title.bottom() - 2.5;
    let most = ((last - top) / LINE).floor().max(0.0) as usize + 1;
    if !left_out.is_empty() {
        let names = no_room(left_out, room, most.saturating_sub(lines.len()));
        lines.extend(names.into_iter().map(|line| (line, "")));
    }
    let mut y = last - LINE * (lines.len() as f64 - 1.0);
    for (line, style) in &lines {
        words(svg, Point::new(title.x + 4.0, y), SMALL_TEXT, style, line);
        y += LINE;
    }
}

/// The names that found no room, as many as can be told in some lines; one line says how many they are at least.
fn no_room(names: &[String], room: f64, lines: usize) -> Vec<String> {
    // More words than this do not go on the lines however they are broken; a word that is too long is cut.
    let wide = |name: &String| -> f64 {
        let words = name.split_whitespace();
        words.map(|w| text_width(w, SMALL_TEXT).min(room)).sum()
    };
    let all = lines as f64 * room + 1e-6;
    let mut taken = 0.0;
    let most = names.iter().take_while(|name| {
        taken += wide(name);
        taken <= all
    });
    let fitting = (1..=most.count())
        .rev()
        .map(|many| told(names, many, room))
        .find(|all| all.len() <= lines);
    fitting.unwrap_or_else(|| {
        let count = names.len();
        let what = if count == 1 { "name" } else { "names" };
        wrap(
            &format!("{count} {what} found no room: see the lists."),
            SMALL_TEXT,
            room,
        )
    })
}

/// The first of the names, and how many more there are.
fn told(names: &[String], many: usize, room: f64) -> Vec<String> {
    let more = match names.len() - many {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let all = names[..many].join(", ");
    wrap(
        &format!("No room for {all}{more}: see the lists."),
        SMALL_TEXT,
        room,
    )
}

/// Breaks a text at blanks; a word that is too long is cut.
fn wrap(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let mut word = word.to_owned();
        while text_width(&word, size) > room && word.pop().is_some() {}
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), size) <= room => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_have_round_lengths() {
        let steps: Vec<String> = [7.3, 12.0, 0.9, 49.0].map(round_step).map(number).into();
        assert_eq!(steps, ["5", "10", "0.5", "20"]);
    }

    #[test]
    fn names_without_room_are_told_as_far_as_lines_go() {
        let names: Vec<String> = (1..=30).map(|n| format!("S{n}")).collect();
        let all = no_room(&names, 70.0, 9).join(" ");
        assert!(
            names.iter().all(|name| all.contains(name.as_str())),
            "{all}"
        );
        let some = no_room(&names, 70.0, 2);
        assert!(
            some.len() <= 2 && some.join(" ").contains(" more: see"),
            "{some:?}"
        );
        assert_eq!(
            no_room(&names, 70.0, 0),
            ["30 names found no room: see the lists."]
        );
    }

    #[test]
    fn as_many_names_as_can_be_are_told() {
        let long = "a name of several words, and averyveryverylongwordthatnolinehasroomfor";
        let names: Vec<String> = (1..=40)
            .map(|n| match n % 9 {
                4 => long.to_owned(),
                _ => format!("S{n}"),
            })
            .collect();
        for (lines, room) in (1..=12).flat_map(|lines| [(lines, 40.0), (lines, 90.0)]) {
            let any = (1..=names.len())
                .rev()
                .map(|many| told(&names, many, room))
                .find(|told| told.len() <= lines);
            let found = no_room(&names, room, lines);
            match any {
                Some(any) => assert_eq!(found, any),
                None => assert!(found.join(" ").starts_with("40 names found no room")),
            }
        }
    }

    #[test]
    fn long_names_are_broken_at_blanks() {
        let lines = wrap("a house with a rather long name", 3.0, 30.0);
        assert!(lines.len() > 1);
        assert!(lines.iter().all(|line| text_width(line, 3.0) <= 30.0));
    }
}
