//! The items of a GPX, one element after the other.

use job::Finding;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::SUBJECT;
use crate::Xy;
use crate::limits::{MOST_ENTITIES, MOST_FINDINGS, MOST_PLACES, too_many};
use crate::report::shown;

/// What a single position is called in the report.
pub(super) const WAYPOINT: &str = "waypoint";
/// Most waypoints, routes and tracks.
const MOST_ITEMS: usize = 300_000;
/// How deep elements may stand in each other.
const DEEPEST: usize = 64;
/// Longest name.
const LONGEST: usize = 500;

/// A waypoint, route or track.
#[derive(Debug, Default)]
pub(super) struct Item {
    pub sort: &'static str,
    pub name: String,
    pub kind: String,
    pub symbol: String,
    /// Longitudes and latitudes; a track may have several parts.
    pub lines: Vec<Vec<Xy>>,
}

struct Parser {
    path: Vec<Vec<u8>>,
    items: Vec<Item>,
    findings: Vec<Finding>,
    places: usize,
    elements: usize,
}

/// All items of a text.
pub(super) fn items(text: &str) -> Result<Vec<Item>, Vec<Finding>> {
    let mut reader = Reader::from_str(text);
    let mut parser = Parser {
        path: Vec::new(),
        items: Vec::new(),
        findings: Vec::new(),
        places: 0,
        elements: 0,
    };
    loop {
        let at = reader.buffer_position();
        let event = reader
            .read_event()
            .map_err(|error| unread(text, at, &error.to_string()))?;
        match event {
            Event::Start(start) => parser.start(&start, text, at)?,
            Event::Empty(start) => {
                parser.start(&start, text, at)?;
                parser.path.pop();
            }
            Event::End(_) => {
                parser.path.pop();
            }
            Event::Text(words) => parser.words(&String::from_utf8_lossy(&words)),
            Event::CData(words) => parser.words(&String::from_utf8_lossy(&words)),
            Event::GeneralRef(name) => parser.words(letter(&String::from_utf8_lossy(&name))),
            Event::DocType(_) => {
                let mend = "export it again, or take the lines from <!DOCTYPE to its end out";
                let what =
                    "has a document type, which no GPX needs and which can hide a flood of text";
                return Err(vec![Finding::error(
                    "gpx-document-type",
                    SUBJECT,
                    what,
                    mend,
                )]);
            }
            Event::Eof => break,
            _ => {}
        }
    }
    if !parser.path.is_empty() {
        return Err(unread(
            text,
            text.len() as u64,
            "it ends before its elements are closed",
        ));
    }
    if parser.findings.is_empty() {
        Ok(parser.items)
    } else {
        Err(parser.findings)
    }
}

fn line_of(text: &str, at: u64) -> usize {
    let end = usize::try_from(at).unwrap_or(usize::MAX).min(text.len());
    text.as_bytes()[..end]
        .iter()
        .filter(|byte| **byte == b'\n')
        .count()
        + 1
}

fn unread(text: &str, at: u64, error: &str) -> Vec<Finding> {
    let line = line_of(text, at);
    vec![Finding::error(
        "gpx-unread",
        SUBJECT,
        format!("cannot be read from line {line} on: {}", shown(error)),
        "export or copy it again: it may have been cut off",
    )]
}

/// The letter that a reference stands for; others are left out.
fn letter(name: &str) -> &'static str {
    match name {
        "amp" => "&",
        "lt" => "<",
        "gt" => ">",
        "quot" => "\"",
        "apos" => "'",
        _ => "",
    }
}

impl Parser {
    fn start(&mut self, start: &BytesStart<'_>, text: &str, at: u64) -> Result<(), Vec<Finding>> {
        let name = start.local_name().as_ref().to_vec();
        if self.path.is_empty() && name != b"gpx" {
            let what = format!(
                "begins with the element `{}`, not `gpx`",
                shown(&String::from_utf8_lossy(&name))
            );
            return Err(vec![Finding::error(
                "not-gpx",
                SUBJECT,
                what,
                "export it as GPX",
            )]);
        }
        self.elements += 1;
        if self.path.len() >= DEEPEST || self.elements > MOST_ENTITIES {
            return Err(too_many(SUBJECT, "elements", MOST_ENTITIES));
        }
        let sort = match name.as_slice() {
            b"wpt" => Some(WAYPOINT),
            b"rte" => Some("route"),
            b"trk" => Some("track"),
            _ => None,
        };
        if self.items.len() > MOST_ITEMS {
            return Err(too_many(
                SUBJECT,
                "waypoints, routes and tracks",
                MOST_ITEMS,
            ));
        }
        if let Some(sort) = sort {
            let lines = if sort == "route" {
                vec![Vec::new()]
            } else {
                Vec::new()
            };
            self.items.push(Item {
                sort,
                lines,
                ..Item::default()
            });
        }
        if let (b"trkseg", Some(item)) = (name.as_slice(), self.items.last_mut()) {
            item.lines.push(Vec::new());
        }
        if matches!(name.as_slice(), b"wpt" | b"rtept" | b"trkpt") {
            self.position(start, text, at)?;
        }
        self.path.push(name);
        Ok(())
    }

    fn position(
        &mut self,
        start: &BytesStart<'_>,
        text: &str,
        at: u64,
    ) -> Result<(), Vec<Finding>> {
        let number = |name: &str| {
            let attribute = start.try_get_attribute(name).ok()??;
            let value = String::from_utf8_lossy(&attribute.value)
                .trim()
                .parse::<f64>();
            value.ok().filter(|value| value.is_finite())
        };
        let place = number("lon").zip(number("lat"));
        match place.filter(|(lon, lat)| lon.abs() <= 180.0 && lat.abs() <= 90.0) {
            Some(place) => {
                self.places += 1;
                if self.places > MOST_PLACES {
                    return Err(too_many(SUBJECT, "places", MOST_PLACES));
                }
                if let Some(item) = self.items.last_mut() {
                    match item.lines.last_mut() {
                        Some(line) => line.push(place),
                        None => item.lines.push(vec![place]),
                    }
                }
            }
            None if self.findings.len() < MOST_FINDINGS => self.findings.push(Finding::error(
                "bad-place",
                format!("{SUBJECT}, line {}", line_of(text, at)),
                "has a place without a latitude and longitude on the Earth",
                "correct `lat` and `lon`, in degrees, or take the place out",
            )),
            None => return Err(std::mem::take(&mut self.findings)),
        }
        Ok(())
    }

    /// Words of the item's own name, type or symbol.
    fn words(&mut self, words: &str) {
        let (Some(item), [.., owner, own]) = (self.items.last_mut(), self.path.as_slice()) else {
            return;
        };
        if !matches!(owner.as_slice(), b"wpt" | b"rte" | b"trk") {
            return;
        }
        let field = match own.as_slice() {
            b"name" => &mut item.name,
            b"type" => &mut item.kind,
            b"sym" => &mut item.symbol,
            _ => return,
        };
        if field.len() + words.len() <= LONGEST {
            *field += words;
        }
    }
}
