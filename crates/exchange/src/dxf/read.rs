//! From a drawing to features.

use job::Finding;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

use super::blocks::{Frame, cyclic, too_deep};
use super::drawing::{self, Drawing};
use super::entity::{Entity, Insert, Shape};
use super::marks::Mark;
use super::{SUBJECT, curves};
use crate::gather::{Found, Gather, named};
use crate::limits::{DEEPEST_BLOCK, MOST_ENTITIES, size};
use crate::mapping::{By, Rule, kind};
use crate::shape::Piece;
use crate::{Imported, Mapping, Options, Target, Unit, Xy};

/// Reads a DXF in text form.
///
/// # Errors
/// If it is no DXF in text form, was cut off, holds blocks that hold themselves, or is too large.
pub fn read(
    bytes: &[u8],
    target: &Target,
    mapping: &Mapping,
    options: &Options,
) -> Result<Imported, Vec<Finding>> {
    size(bytes, SUBJECT)?;
    refuse_other_forms(bytes)?;
    let drawing = drawing::read(bytes)?;
    let (unit, note) = drawing
        .head
        .unit(options.unit, Unit::of(target.length_unit))?;
    let mut walk = Walk {
        drawing: &drawing,
        mapping,
        gather: Gather::new(SUBJECT, target, options),
        metres: unit.metres(),
        tolerance: options.flatten_within.to_m().max(1e-4),
        layers: BTreeMap::new(),
        blocks: BTreeMap::new(),
        steps: 0,
        parts: BTreeMap::new(),
        unmapped: BTreeMap::new(),
        flattened: false,
    };
    drawing
        .notes
        .iter()
        .cloned()
        .chain(note)
        .for_each(|note| walk.gather.report.note(note));
    for entity in &drawing.entities {
        walk.entity(entity, &Frame::WORLD, None, &mut Vec::new())?;
    }
    walk.own_features()?;
    walk.say_what_is_unmapped();
    walk.gather.done(unit)
}

fn refuse_other_forms(bytes: &[u8]) -> Result<(), Vec<Finding>> {
    let what = if bytes
        .get(..40)
        .unwrap_or(bytes)
        .windows(10)
        .any(|part| part == b"Binary DXF")
    {
        "is a DXF in binary form"
    } else if bytes.starts_with(b"AC10")
        && bytes
            .get(4..6)
            .is_some_and(|year| year.iter().all(u8::is_ascii_digit))
    {
        "is a DWG, a drawing program's own form"
    } else if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\x1f\x8b") {
        "is compressed"
    } else if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        "is in UTF-16, which no DXF is"
    } else if bytes.get(..1_000).unwrap_or(bytes).contains(&0) {
        "is no text"
    } else {
        return Ok(());
    };
    let mend = "save the drawing as DXF in text form (ASCII)";
    Err(vec![Finding::error("dxf-not-text", SUBJECT, what, mend)])
}

struct Walk<'a> {
    drawing: &'a Drawing,
    mapping: &'a Mapping,
    gather: Gather<'a>,
    metres: f64,
    tolerance: f64,
    /// The rules of layers by their numbers, and of blocks by their names.
    layers: BTreeMap<u32, Option<Rule>>,
    blocks: BTreeMap<&'a str, Option<Rule>>,
    steps: usize,
    /// Parts of features of ours by id, in the order in which ids are met.
    parts: BTreeMap<String, (usize, Vec<(Mark, Piece)>)>,
    /// What lies on layers without a rule: layer and what it is.
    unmapped: BTreeMap<(u32, &'static str), usize>,
    flattened: bool,
}

type Held = Result<(), Vec<Finding>>;

impl<'a> Walk<'a> {
    /// Takes an entity in; `inherited` is the layer of the block's place, for what the block has on layer 0.
    fn entity(
        &mut self,
        entity: &'a Entity,
        frame: &Frame,
        inherited: Option<u32>,
        path: &mut Vec<&'a str>,
    ) -> Held {
        self.steps += 1;
        if self.steps > MOST_ENTITIES {
            return Err(too_deep("that make millions of things", entity.line));
        }
        let on_zero = self
            .drawing
            .layers
            .texts
            .get(entity.layer as usize)
            .is_some_and(|name| name == "0");
        let layer = inherited.filter(|_| on_zero).unwrap_or(entity.layer);
        let frame = if entity.mirrored {
            frame.mirrored()
        } else {
            *frame
        };
        if let Shape::Insert(insert) = &entity.shape {
            return self.insert(entity, insert, &frame, layer, path);
        }
        if let Some(mark) = entity
            .ours
            .as_ref()
            .filter(|_| path.is_empty())
            .and_then(|texts| Mark::of(texts))
        {
            return self.ours(entity, &frame, mark);
        }
        let Some(rule) = self.layer_rule(layer) else {
            *self
                .unmapped
                .entry((layer, sort(&entity.shape)))
                .or_default() += 1;
            return Ok(());
        };
        self.mapped(entity, &frame, layer, &rule)
    }

    fn layer_rule(&mut self, layer: u32) -> Option<Rule> {
        let (mapping, drawing) = (self.mapping, self.drawing);
        let rule = self.layers.entry(layer).or_insert_with(|| {
            let name = drawing.layers.texts.get(layer as usize)?;
            mapping
                .rule(&By::Layer, name)
                .or_else(|| mapping.otherwise())
        });
        rule.clone()
    }

    fn place_name(&self, layer: u32) -> String {
        let name = self.drawing.layers.texts.get(layer as usize);
        named("layer", name.map_or("", String::as_str))
    }

    fn mapped(&mut self, entity: &Entity, frame: &Frame, layer: u32, rule: &Rule) -> Held {
        let place = self.place_name(layer);
        if let Shape::Other(kind) = entity.shape {
            let name = self
                .drawing
                .types
                .texts
                .get(usize::from(kind))
                .map_or("", String::as_str);
            let what = crate::report::shown(name);
            self.gather.report.leave(&place, &what, 1, why_not(name));
            return Ok(());
        }
        let Some(piece) = self.piece(entity, frame) else {
            let why = format!(
                "it cannot be drawn: its values do not fit together (line {})",
                entity.line
            );
            self.gather
                .report
                .leave(&place, sort(&entity.shape), 1, &why);
            return Ok(());
        };
        let mut own = Map::new();
        if let (Shape::Point(_, height), Some(kind)) = (&entity.shape, rule.kind)
            && kind.name == "spot"
            && !rule.properties.contains_key("elevation")
        {
            own.insert(
                "elevation".to_owned(),
                Value::from(format!("{:.3} m", height * self.metres)),
            );
        }
        self.gather.add(Found {
            place: &place,
            name: None,
            rule,
            own,
            piece,
        })
    }

    fn insert(
        &mut self,
        entity: &Entity,
        insert: &'a Insert,
        frame: &Frame,
        layer: u32,
        path: &mut Vec<&'a str>,
    ) -> Held {
        let mapping = self.mapping;
        let by_block = self
            .blocks
            .entry(&insert.block)
            .or_insert_with(|| mapping.rule(&By::Block, &insert.block));
        let by_block = by_block.clone();
        let mut by_layer = || self.layer_rule(layer);
        // A layer of points takes a block as one point.
        let rule = by_block.or_else(|| {
            by_layer().filter(|rule| {
                rule.kind
                    .is_none_or(|kind| kind.geometry.contains(&"Point"))
            })
        });
        let ((columns, rows), _) = insert.array;
        if u64::from(columns) * u64::from(rows) > MOST_ENTITIES as u64 {
            return Err(too_deep("in an array of millions", entity.line));
        }
        let block = self.drawing.blocks.get(&insert.block);
        let base = block.map_or((0.0, 0.0), |block| block.base);
        for row in 0..rows {
            for column in 0..columns {
                let inner = frame.of_insert(insert, base, (column, row));
                if let Some(rule) = &rule {
                    self.steps += 1;
                    self.block_as_point(insert, &inner, base, rule)?;
                } else if let Some(block) = block {
                    if path.contains(&insert.block.as_str()) {
                        return Err(cyclic(path, &insert.block, entity.line));
                    }
                    if path.len() >= DEEPEST_BLOCK {
                        return Err(too_deep(&format!("over {DEEPEST_BLOCK} deep"), entity.line));
                    }
                    path.push(&insert.block);
                    self.steps += 1;
                    for part in &block.entities {
                        self.entity(part, &inner, Some(layer), path)?;
                    }
                    path.pop();
                } else {
                    *self
                        .unmapped
                        .entry((layer, "block that is not in the file"))
                        .or_default() += 1;
                }
                if self.steps > MOST_ENTITIES {
                    return Err(too_deep("that make millions of things", entity.line));
                }
            }
        }
        Ok(())
    }

    fn block_as_point(&mut self, insert: &Insert, frame: &Frame, base: Xy, rule: &Rule) -> Held {
        let place = named("block", &insert.block);
        let mut own = Map::new();
        let mut name = None;
        for (tag, value) in &insert.attributes {
            let tag = tag.to_lowercase();
            let known = rule
                .kind
                .is_some_and(|kind| kind.properties.contains(&tag.as_str()));
            let value = value.trim();
            if tag == "id" {
                name = Some(value);
            } else if known && !value.is_empty() {
                let flag = match value.to_lowercase().as_str() {
                    "true" | "yes" => Some(true),
                    "false" | "no" => Some(false),
                    _ => None,
                };
                own.insert(tag, flag.map_or_else(|| Value::from(value), Value::from));
            }
        }
        let at = frame.place(base);
        let piece = Piece::Point((at.0 * self.metres, at.1 * self.metres));
        self.gather.add(Found {
            place: &place,
            name,
            rule,
            own,
            piece,
        })
    }

    /// The shape in metres.
    fn piece(&mut self, entity: &Entity, frame: &Frame) -> Option<Piece> {
        let tolerance = self.tolerance / (self.metres * frame.scale().max(1e-9));
        let curved = |places: &[(Xy, f64)]| places.iter().any(|(_, bulge)| *bulge != 0.0);
        let piece = match &entity.shape {
            Shape::Point(at, _) => Piece::Point(*at),
            Shape::Polyline(places, closed) => {
                self.flattened |= curved(places);
                let line = curves::polyline(places, *closed, tolerance);
                let ends = line.first() == line.last();
                if ends && line.len() > 3 {
                    Piece::Area(vec![line])
                } else {
                    Piece::Line(line)
                }
            }
            Shape::Circle(centre, radius) => {
                Piece::Circle(*centre, curves::circle(*centre, *radius, tolerance))
            }
            Shape::Arc(centre, radius, angles) => {
                Piece::Line(curves::arc(*centre, *radius, *angles, tolerance))
            }
            Shape::Ellipse(centre, axis, ratio, angles) => {
                let (line, whole) = curves::ellipse(*centre, *axis, *ratio, *angles, tolerance);
                if whole {
                    Piece::Area(vec![line])
                } else {
                    Piece::Line(line)
                }
            }
            Shape::Spline(spline) => {
                let line = curves::spline(spline, tolerance)?;
                let closed = spline.closed || line.first() == line.last();
                if closed && line.len() > 3 {
                    let mut line = line;
                    if line.first() != line.last() {
                        line.push(line[0]);
                    }
                    Piece::Area(vec![line])
                } else {
                    Piece::Line(line)
                }
            }
            Shape::Insert(_) | Shape::Other(_) => return None,
        };
        if !self.flattened && matches!(piece, Piece::Circle(..))
            || matches!(
                &entity.shape,
                Shape::Arc(..) | Shape::Ellipse(..) | Shape::Spline(_)
            )
        {
            self.flattened = true;
        }
        let metres = self.metres;
        Some(piece.moved(&|at| {
            let at = frame.place(at);
            (at.0 * metres, at.1 * metres)
        }))
    }

    /// A part of a feature of ours.
    fn ours(&mut self, entity: &Entity, frame: &Frame, mark: Mark) -> Held {
        let Some(piece) = self.piece(entity, frame) else {
            return Ok(());
        };
        let order = self.parts.len();
        let (_, parts) = self
            .parts
            .entry(mark.id.clone())
            .or_insert_with(|| (order, Vec::new()));
        parts.push((mark, piece));
        Ok(())
    }

    /// Puts the parts of our features together again.
    fn own_features(&mut self) -> Held {
        let mut all: Vec<_> = std::mem::take(&mut self.parts).into_values().collect();
        all.sort_by_key(|(order, _)| *order);
        for (_, parts) in all {
            self.own_feature(parts)?;
        }
        Ok(())
    }

    fn own_feature(&mut self, mut parts: Vec<(Mark, Piece)>) -> Held {
        const PLACE: &str = "features of ours";
        parts.sort_by_key(|(mark, _)| mark.part.0);
        let first = parts
            .iter()
            .find_map(|(mark, _)| mark.properties.clone().map(|p| (mark.clone(), p)));
        let Some((mark, mut properties)) = first else {
            self.gather.report.leave(
                PLACE,
                "part",
                parts.len(),
                "its feature is not in the drawing",
            );
            return Ok(());
        };
        let whole = parts.len() == mark.part.1
            && parts
                .iter()
                .enumerate()
                .all(|(n, (mark, _))| mark.part.0 == n);
        let pieces = parts.into_iter().map(|(_, piece)| piece);
        if whole && let Some(piece) = together(&mark.geometry, pieces.clone()) {
            let kind = properties
                .get("kind")
                .and_then(Value::as_str)
                .map_or_else(String::new, crate::report::shown);
            self.gather.report.take(PLACE, "feature", &kind);
            self.gather.own(&mark.id, properties, piece)?;
            return Ok(());
        }
        // Copied or changed in the drawing program: each part for itself, as the kind wants it.
        properties.shift_remove("kind");
        let named = mark
            .properties
            .as_ref()
            .and_then(|p| p.get("kind"))
            .and_then(Value::as_str);
        let Some(kind) = named.and_then(kind) else {
            self.gather
                .report
                .leave(PLACE, "feature", 1, "its kind is not known");
            return Ok(());
        };
        let rule = Rule::of(kind);
        let note = format!(
            "{} was copied or changed in the drawing; look at it",
            crate::report::shown(&mark.id)
        );
        self.gather.report.note(note);
        for piece in pieces {
            let own = properties.clone();
            self.gather.add(Found {
                place: PLACE,
                name: Some(&mark.id),
                rule: &rule,
                own,
                piece,
            })?;
        }
        Ok(())
    }

    fn say_what_is_unmapped(&mut self) {
        for ((layer, what), count) in std::mem::take(&mut self.unmapped) {
            let place = self.place_name(layer);
            let name = self
                .drawing
                .layers
                .texts
                .get(layer as usize)
                .map_or("", String::as_str);
            let why = match name.starts_with(super::write::PLAN) {
                true => "it is drawn from a plan, which is made anew from the job".to_owned(),
                false => format!(
                    "nothing says what it is; map the layer, such as {}=KIND",
                    crate::report::shown(name)
                ),
            };
            self.gather.report.leave(&place, what, count, &why);
        }
        if self.flattened {
            let millimetres = self.tolerance * 1000.0;
            self.gather.report.note(format!(
                "curves became chords within {millimetres:.0} mm of them"
            ));
        }
    }
}

/// The parts of a feature as one shape of its geometry type.
fn together(geometry: &str, mut pieces: impl Iterator<Item = Piece>) -> Option<Piece> {
    match geometry {
        "Polygon" => {
            let rings = pieces.map(|piece| match piece {
                Piece::Area(rings) => rings.into_iter().next(),
                _ => None,
            });
            rings.collect::<Option<Vec<_>>>().map(Piece::Area)
        }
        "MultiPoint" => {
            let points = pieces.map(|piece| match piece {
                Piece::Point(at) => Some(at),
                _ => None,
            });
            points.collect::<Option<Vec<_>>>().map(Piece::Points)
        }
        "LineString" => match pieces.next()? {
            Piece::Line(line) => Some(Piece::Line(line)),
            Piece::Area(rings) => rings.into_iter().next().map(Piece::Line),
            _ => None,
        },
        "Point" => match pieces.next()? {
            Piece::Point(at) => Some(Piece::Point(at)),
            _ => None,
        },
        _ => None,
    }
}

fn sort(shape: &Shape) -> &'static str {
    match shape {
        Shape::Point(..) => "point",
        Shape::Polyline(_, true) => "closed line",
        Shape::Polyline(_, false) => "line",
        Shape::Circle(..) => "circle",
        Shape::Arc(..) => "arc",
        Shape::Ellipse(..) => "ellipse",
        Shape::Spline(_) => "spline",
        Shape::Insert(_) => "block",
        Shape::Other(_) => "entity of another type",
    }
}

/// Why a type of entity is left.
fn why_not(kind: &str) -> &'static str {
    match kind {
        "TEXT" | "MTEXT" | "ATTDEF" => {
            "words have no shape; what they say has to be told to the mapping"
        }
        "DIMENSION" | "LEADER" | "MULTILEADER" => {
            "it explains the drawing and is nothing on the ground"
        }
        "HATCH" => "a filling; the line around it is taken where it is drawn",
        "POINT" | "LINE" | "LWPOLYLINE" | "POLYLINE" | "CIRCLE" | "ARC" | "ELLIPSE" | "SPLINE"
        | "INSERT" => {
            "a value that it needs is missing or no number, or it does not lie in the plane"
        }
        _ => "it has no shape in the plane that a job could hold",
    }
}
