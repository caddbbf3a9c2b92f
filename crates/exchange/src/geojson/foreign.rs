//! GeoJSON from elsewhere.

use job::Finding;
use serde_json::{Map, Value};

use super::{SUBJECT, pair};
use crate::gather::{Found, Gather};
use crate::limits::{MOST_ENTITIES, MOST_FINDINGS, too_many};
use crate::mapping::{By, Rule, kind};
use crate::plane::{Plane, middle};
use crate::report::shown;
use crate::shape::{COARSE, Piece};
use crate::{Imported, Mapping, Options, Target, Unit, Xy};

/// How deep collections of geometries may hold collections.
const DEEPEST: usize = 16;

struct Reader<'a> {
    mapping: &'a Mapping,
    seen: usize,
    findings: Vec<Finding>,
    heights: usize,
    strange: usize,
    found: Vec<Taken>,
}

/// A simple shape in longitude and latitude, and what it becomes.
struct Taken {
    place: String,
    name: Option<String>,
    rule: Option<Rule>,
    own: Map<String, Value>,
    piece: Piece,
}

pub(super) fn read(
    value: Value,
    target: &Target,
    mapping: &Mapping,
    options: &Options,
) -> Result<Imported, Vec<Finding>> {
    refuse_other_systems(&value)?;
    let mut reader = Reader {
        mapping,
        seen: 0,
        findings: Vec::new(),
        heights: 0,
        strange: 0,
        found: Vec::new(),
    };
    reader.top(value)?;
    if !reader.findings.is_empty() {
        reader.findings.truncate(MOST_FINDINGS);
        return Err(reader.findings);
    }
    reader.gathered(target, options)
}

/// RFC 7946 has no other system than WGS 84; older files could name one.
fn refuse_other_systems(value: &Value) -> Result<(), Vec<Finding>> {
    let name = value
        .pointer("/crs/properties/name")
        .and_then(Value::as_str);
    match name {
        Some(name) if !name.contains("CRS84") && !name.ends_with("4326") => {
            Err(vec![Finding::error(
                "not-geographic",
                SUBJECT,
                format!("says that its coordinates are of {}", shown(name)),
                "export it in WGS 84, longitude and latitude (EPSG:4326)",
            )])
        }
        _ => Ok(()),
    }
}

impl Reader<'_> {
    fn top(&mut self, mut value: Value) -> Result<(), Vec<Finding>> {
        let kind = value.get("type").and_then(Value::as_str).map(str::to_owned);
        match kind.as_deref() {
            Some("FeatureCollection") => {
                let Some(Value::Array(features)) = value.get_mut("features").map(Value::take)
                else {
                    let mend = "export it again";
                    let what = "has no list `features`";
                    return Err(vec![Finding::error("no-features", SUBJECT, what, mend)]);
                };
                for (n, feature) in features.into_iter().enumerate() {
                    self.feature(n, &feature)?;
                }
                Ok(())
            }
            Some("Feature") => self.feature(0, &value),
            Some(_) if value.get("coordinates").is_some() || value.get("geometries").is_some() => {
                let feature = serde_json::json!({ "geometry": value });
                self.feature(0, &feature)
            }
            _ => Err(vec![Finding::error(
                "not-geojson",
                SUBJECT,
                "is JSON, but not GeoJSON: its `type` is none of GeoJSON's",
                "export it as a GeoJSON FeatureCollection",
            )]),
        }
    }

    fn feature(&mut self, n: usize, feature: &Value) -> Result<(), Vec<Finding>> {
        let nothing = Map::new();
        let properties = feature
            .get("properties")
            .and_then(Value::as_object)
            .unwrap_or(&nothing);
        let (place, rule) = self.rule(properties);
        let own = rule
            .as_ref()
            .map_or_else(Map::new, |rule| self.own(rule, properties));
        let name = match feature.get("id").or_else(|| properties.get("id")) {
            Some(Value::String(text)) => Some(text.clone()),
            Some(Value::Number(number)) => Some(format!("F{number}")),
            _ => None,
        };
        let subject = name
            .clone()
            .map_or_else(|| format!("feature {}", n + 1), |name| shown(&name));
        let mut pieces = Vec::new();
        match feature.get("geometry") {
            None | Some(Value::Null) => pieces.push(Piece::Nowhere),
            Some(geometry) => self.pieces(geometry, &subject, 0, &mut pieces)?,
        }
        for piece in pieces {
            self.seen += 1;
            let (place, name, rule, own) = (place.clone(), name.clone(), rule.clone(), own.clone());
            self.found.push(Taken {
                place,
                name,
                rule,
                own,
                piece,
            });
        }
        if self.seen > MOST_ENTITIES / 4 {
            return Err(too_many(SUBJECT, "shapes", MOST_ENTITIES / 4));
        }
        Ok(())
    }

    /// The rule of a feature, and where the report has it.
    fn rule(&self, properties: &Map<String, Value>) -> (String, Option<Rule>) {
        if let Some(name) = properties.get("kind").and_then(Value::as_str) {
            let place = format!("kind `{}`", shown(name));
            let by = By::Property("kind".to_owned());
            let rule = kind(name)
                .map(Rule::of)
                .or_else(|| self.mapping.rule(&by, name));
            return (place, rule.or_else(|| self.mapping.otherwise()));
        }
        for (name, value) in properties {
            let lowered = name.to_lowercase();
            let asked = self
                .mapping
                .properties()
                .any(|property| property == lowered);
            let text = match value {
                Value::String(text) if asked || self.mapping.by_any() => text.clone(),
                Value::Number(_) | Value::Bool(_) if asked => value.to_string(),
                _ => continue,
            };
            if let Some(rule) = self.mapping.rule(&By::Property(lowered), &text) {
                return (format!("{} `{}`", shown(name), shown(&text)), Some(rule));
            }
        }
        (
            "features without a property `kind`".to_owned(),
            self.mapping.otherwise(),
        )
    }

    /// The properties that the kind knows.
    fn own(&mut self, rule: &Rule, properties: &Map<String, Value>) -> Map<String, Value> {
        let Some(kind) = rule.kind else {
            return Map::new();
        };
        let mut own = Map::new();
        for (name, value) in properties {
            if !kind.properties.contains(&name.as_str()) && name != "note" {
                continue;
            }
            if value.is_string() || value.is_boolean() {
                own.insert(name.clone(), value.clone());
            } else {
                self.strange += 1;
            }
        }
        own
    }

    fn pieces(
        &mut self,
        geometry: &Value,
        subject: &str,
        depth: usize,
        out: &mut Vec<Piece>,
    ) -> Result<(), Vec<Finding>> {
        let kind = geometry
            .get("type")
            .and_then(Value::as_str)
            .unwrap_or_default();
        let empty = Value::Null;
        let coordinates = geometry.get("coordinates").unwrap_or(&empty);
        let parts = || coordinates.as_array().map_or(&[][..], Vec::as_slice);
        let before = out.len();
        match kind {
            "Point" => out.extend(self.at(coordinates).map(Piece::Point)),
            "LineString" => out.extend(self.line(coordinates).map(Piece::Line)),
            "Polygon" => out.extend(self.rings(coordinates).map(Piece::Area)),
            "MultiPoint" => out.extend(self.line(coordinates).map(Piece::Points)),
            "MultiLineString" => {
                for part in parts() {
                    out.extend(self.line(part).map(Piece::Line));
                }
            }
            "MultiPolygon" => {
                for part in parts() {
                    out.extend(self.rings(part).map(Piece::Area));
                }
            }
            "GeometryCollection" if depth < DEEPEST => {
                let parts = geometry.get("geometries").and_then(Value::as_array);
                for part in parts.into_iter().flatten() {
                    self.pieces(part, subject, depth + 1, out)?;
                }
            }
            _ => {}
        }
        if out.len() == before && self.findings.len() < MOST_FINDINGS {
            self.findings.push(Finding::error(
                "bad-geometry",
                subject,
                format!("has a geometry `{}` that cannot be read", shown(kind)),
                "give it coordinates as GeoJSON (RFC 7946) has them",
            ));
        }
        let outside = |at: &Xy| !(at.0.abs() <= 180.0 && at.1.abs() <= 90.0);
        let strays = out[before..]
            .iter()
            .flat_map(Piece::places)
            .find(|at| outside(at))
            .copied();
        match strays {
            Some((x, y)) if depth == 0 => Err(vec![Finding::error(
                "not-geographic",
                subject,
                format!("has a place at {x}, {y}, which is no longitude and latitude"),
                "export it in WGS 84, longitude and latitude in degrees (EPSG:4326), or as DXF in plane units",
            )]),
            _ => Ok(()),
        }
    }

    fn at(&mut self, value: &Value) -> Option<Xy> {
        let at = pair(value)?;
        self.heights += usize::from(value.as_array().is_some_and(|list| list.len() > 2));
        Some(at)
    }

    fn line(&mut self, value: &Value) -> Option<Vec<Xy>> {
        let places = value.as_array()?.iter().map(|place| self.at(place));
        places
            .collect::<Option<Vec<_>>>()
            .filter(|places| !places.is_empty())
    }

    fn rings(&mut self, value: &Value) -> Option<Vec<Vec<Xy>>> {
        let rings = value.as_array()?.iter().map(|ring| self.line(ring));
        rings
            .collect::<Option<Vec<_>>>()
            .filter(|rings| !rings.is_empty())
    }

    fn gathered(self, target: &Target, options: &Options) -> Result<Imported, Vec<Finding>> {
        let mut gather = Gather::new(SUBJECT, target, options);
        gather.steps = COARSE;
        gather.fixed = true;
        let mapped = self.found.iter().filter(|taken| taken.rule.is_some());
        let anchor = target
            .anchor
            .or_else(|| middle(mapped.flat_map(|taken| taken.piece.places())));
        let chosen = anchor.filter(|_| target.anchor.is_none());
        if let Some(anchor) = chosen {
            gather.report.note(format!(
                "the job has no anchor; the origin of the plane was put at longitude {}, latitude {}, without a \
                 rotation",
                anchor.longitude, anchor.latitude
            ));
        }
        let plane = anchor.as_ref().map(Plane::of).transpose()?;
        for Taken {
            place,
            name,
            rule,
            own,
            piece,
        } in self.found
        {
            let (Some(rule), Some(plane)) = (rule, &plane) else {
                let why = "nothing says what it is; give it a property `kind`, or map a property by its value, \
                           such as VALUE=KIND";
                gather.report.leave(&place, piece.name(), 1, why);
                continue;
            };
            let to = |at: Xy| {
                plane
                    .from_geographic(at.0, at.1)
                    .unwrap_or((f64::NAN, f64::NAN))
            };
            let (piece, name) = (piece.moved(&to), name.as_deref());
            gather.add(Found {
                place: &place,
                name,
                rule: &rule,
                own,
                piece,
            })?;
        }
        let (heights, strange) = (self.heights, self.strange);
        if heights > 0 {
            gather
                .report
                .note(format!("the heights of {heights} places were dropped"));
        }
        if strange > 0 {
            gather.report.note(format!(
                "{strange} properties were dropped: they are neither texts nor true or false; write quantities \
                 as texts with their unit"
            ));
        }
        let mut imported = gather.done(Unit::Metre)?;
        imported.anchor = anchor;
        Ok(imported)
    }
}
