//! Points of a plan as waypoints.

use job::{Anchor, Finding};
use layers::{Cell, Layer, Shape};
use std::fmt::Write as _;

use crate::plane::Plane;

/// Writes the points of layers as waypoints of a GPX, each with its id as the name and its row as the description.
///
/// # Errors
/// If the anchor or a point is not on the Earth.
pub fn write(layers: &[Layer], anchor: &Anchor) -> Result<String, Vec<Finding>> {
    let plane = Plane::of(anchor)?;
    let mut text = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"spadework\" \
         xmlns=\"http://www.topografix.com/GPX/1/1\">\n",
    );
    let mut findings = Vec::new();
    for layer in layers {
        for row in &layer.rows {
            let Shape::Point(at) = row.shape else {
                continue;
            };
            let Some((longitude, latitude)) = plane.to_geographic(at.x(), at.y()) else {
                let mend = "correct its coordinates, or the anchor";
                let what = "cannot be put on the Earth";
                findings.push(Finding::error("bad-place", row.id.as_str(), what, mend));
                continue;
            };
            let about: Vec<String> = layer
                .columns
                .iter()
                .zip(&row.cells)
                .filter_map(|(column, cell)| Some(format!("{}: {}", column.name, words(cell)?)))
                .collect();
            let _ = writeln!(
                text,
                "  <wpt lat=\"{latitude:.9}\" lon=\"{longitude:.9}\"><name>{}</name><desc>{}</desc><type>{}</type></wpt>",
                escaped(&row.id),
                escaped(&about.join(", ")),
                escaped(&layer.name)
            );
        }
    }
    text += "</gpx>\n";
    if findings.is_empty() {
        Ok(text)
    } else {
        Err(findings)
    }
}

fn words(cell: &Cell) -> Option<String> {
    match cell {
        Cell::Empty => None,
        Cell::Text(text) => Some(text.clone()),
        Cell::Whole(number) => Some(number.to_string()),
        Cell::Real(number) => Some(job::number(*number).to_string()),
        Cell::Flag(flag) => Some(if *flag { "yes" } else { "no" }.to_owned()),
    }
}

fn escaped(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars() {
        match letter {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            letter if letter.is_control() => out.push(' '),
            letter => out.push(letter),
        }
    }
    out
}
