//! GPX: tracks, routes and waypoints of a receiver for satellite positions.
//!
//! [`read`] takes them by a mapping on their type, symbol or name; [`write`](fn@write) gives points of a plan, such as
//! stakes, as waypoints. A file with a document type is refused: entities could make much of little.

mod parse;
mod write;

use job::Finding;
use serde_json::Map;

use crate::gather::{Found, Gather, closed_where_needed, named};
use crate::mapping::{By, Rule};
use crate::plane::{Plane, middle};
use crate::shape::Piece;
use crate::{Imported, Mapping, Options, Target, Unit, Xy, decode, limits, thin};

use parse::Item;
pub use write::write;

/// How findings call the file.
const SUBJECT: &str = "GPX file";

/// Reads a GPX.
///
/// # Errors
/// If it is no GPX, has places that are not on the Earth, or is too large.
pub fn read(
    bytes: &[u8],
    target: &Target,
    mapping: &Mapping,
    options: &Options,
) -> Result<Imported, Vec<Finding>> {
    limits::size(bytes, SUBJECT)?;
    let mut notes = Vec::new();
    let text = decode::text(bytes, SUBJECT, &mut notes)?;
    let items = parse::items(&text)?;
    let mut gather = Gather::new(SUBJECT, target, options);
    gather.fixed = true;
    notes.into_iter().for_each(|note| gather.report.note(note));
    let rules: Vec<Option<Rule>> = items.iter().map(|item| rule(item, mapping)).collect();
    let places = items.iter().flat_map(|item| item.lines.iter().flatten());
    let anchor = target.anchor.or_else(|| middle(places));
    if let (Some(anchor), None) = (anchor, target.anchor) {
        gather.report.note(format!(
            "the job has no anchor; the origin of the plane was put at longitude {}, latitude {}, without a rotation",
            anchor.longitude, anchor.latitude
        ));
    }
    let Some(plane) = anchor.as_ref().map(Plane::of).transpose()? else {
        let mend = "export the track or the waypoints again";
        return Err(vec![Finding::error(
            "no-points",
            SUBJECT,
            "holds no place",
            mend,
        )]);
    };
    let thin_within = options.thin_within.to_m();
    let to = |at: Xy| {
        plane
            .from_geographic(at.0, at.1)
            .unwrap_or((f64::NAN, f64::NAN))
    };
    let mut thinned = 0;
    for (item, rule) in items.into_iter().zip(rules) {
        let place = named(item.sort, &item.name);
        let Some(rule) = rule else {
            let why = "nothing says what it is; map its type, symbol or name, such as NAME=KIND";
            gather
                .report
                .leave(&place, item.sort, item.lines.len().max(1), why);
            continue;
        };
        for line in item.lines {
            let places: Vec<Xy> = line.into_iter().map(to).collect();
            let piece = if item.sort == parse::WAYPOINT {
                places
                    .first()
                    .map_or(Piece::Nowhere, |at| Piece::Point(*at))
            } else {
                let kept = thin::thinned(&places, thin_within);
                thinned += places.len() - kept.len();
                closed_where_needed(&rule, kept, &mut gather.report)
            };
            let name = Some(item.name.as_str());
            gather.add(Found {
                place: &place,
                name,
                rule: &rule,
                own: Map::new(),
                piece,
            })?;
        }
    }
    if thinned > 0 {
        let note = format!(
            "{thinned} places of tracks were left out: they lie within {thin_within} m of what is kept"
        );
        gather.report.note(note);
    }
    gather.report.note(
        "positions of a phone or a hand receiver are only good to metres: measure what matters with a tape".to_owned(),
    );
    let mut imported = gather.done(Unit::Metre)?;
    imported.anchor = anchor;
    Ok(imported)
}

fn rule(item: &Item, mapping: &Mapping) -> Option<Rule> {
    let fields = [
        ("type", &item.kind),
        ("sym", &item.symbol),
        ("name", &item.name),
    ];
    let named = fields.into_iter().filter(|(_, value)| !value.is_empty());
    let mut found =
        named.filter_map(|(field, value)| mapping.rule(&By::Property(field.to_owned()), value));
    found.next().or_else(|| mapping.otherwise())
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::{Anchor, LengthUnit};
    use layers::{Cell, Column, Holds, Layer, Row, Shape, Sort};
    use quantity::Length;

    fn read_text(text: &str, pairs: &[&str]) -> Result<Imported, Vec<Finding>> {
        let mapping = Mapping::from_pairs(pairs).unwrap();
        read(
            text.as_bytes(),
            &Target::new(LengthUnit::M),
            &mapping,
            &Options::default(),
        )
    }

    #[test]
    fn tracks_and_waypoints_are_mapped_by_type_and_name() {
        let track: String = (0..50)
            .map(|n| {
                format!(
                    "<trkpt lat=\"40.{:04}\" lon=\"-105\"><ele>3</ele></trkpt>",
                    n
                )
            })
            .collect();
        let text = format!(
            "<?xml version=\"1.0\"?><gpx><wpt lat=\"40\" lon=\"-105\"><name>Meter &amp; box</name><sym>Pin</sym></wpt>\
             <trk><name>gas line</name><type>survey</type><trkseg>{track}</trkseg></trk></gpx>"
        );
        let pairs = ["Pin=mark", "gas*=utility,service=gas", "nothing=mark"];
        let read = read_text(&text, &pairs).unwrap();
        assert_eq!(read.features.len(), 2, "{}", read.report.text());
        assert_eq!(read.features[0]["id"], "Meter---box");
        assert_eq!(
            read.features[1]["geometry"]["coordinates"]
                .as_array()
                .unwrap()
                .len(),
            2
        );
        assert!(read.report.text().contains("good to metres"));
    }

    #[test]
    fn stakes_come_back_as_waypoints() {
        let anchor = Anchor {
            longitude: -105.0,
            latitude: 40.0,
            rotation: 30.0,
            height: Length::ZERO,
        };
        let row = Row {
            id: "S<1>".to_owned(),
            shape: Shape::Point(geo::Point::new(12.5, -3.25)),
            cells: vec![Cell::Real(0.5)],
        };
        let layer = Layer {
            name: "stakes".to_owned(),
            title: "Stakes".to_owned(),
            sort: Sort::Point,
            columns: vec![Column {
                name: "depth_m".to_owned(),
                holds: Holds::Real,
            }],
            rows: vec![row],
        };
        let text = write(&[layer], &anchor).unwrap();
        let mut target = Target::new(LengthUnit::M);
        target.anchor = Some(anchor);
        let mapping = Mapping::from_pairs(["S*=mark"]).unwrap();
        let read = read(text.as_bytes(), &target, &mapping, &Options::default()).unwrap();
        let at = &read.features[0]["geometry"]["coordinates"];
        let (x, y) = (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
        assert!((x - 12.5).hypot(y + 3.25) < 1e-3, "{at}");
    }

    #[test]
    fn bad_files_are_named() {
        let rule = |text: &str| read_text(text, &["*=mark"]).unwrap_err()[0].rule.clone();
        let bomb = "<!DOCTYPE gpx [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;\">]><gpx><wpt lat=\"1\" lon=\"1\"><name>&b;</name></wpt></gpx>";
        assert_eq!(rule(bomb), "gpx-document-type");
        assert_eq!(rule("<gpx><wpt lat=\"91\" lon=\"0\"/></gpx>"), "bad-place");
        assert_eq!(rule("<gpx><wpt lat=\"1\" lon=\"0\">"), "gpx-unread");
        assert_eq!(rule("<gpx></gpx>"), "no-points");
        assert_eq!(rule("<kml></kml>"), "not-gpx");
        assert_eq!(rule(&"<a>".repeat(10_000)), "not-gpx");
    }
}
