//! A drawing taken apart: blocks and entities from the tags of its sections.

use encoding_rs::Encoding;
use job::Finding;
use std::collections::BTreeMap;

use super::entity::{Block, Entity, Insert, Shape, Spline};
use super::head::Head;
use super::tags::{Tag, Tags, cut_off};
use super::{APPLICATION, SUBJECT};
use crate::Xy;
use crate::limits::{MOST_ENTITIES, too_many};

/// Most places in all lines of a file.
const MOST_PLACES_READ: usize = 6_000_000;

/// Most layers, and most blocks.
const MOST_NAMES: usize = 50_000;

/// A drawing as it is stored.
pub(crate) struct Drawing {
    pub head: Head,
    pub blocks: BTreeMap<String, Block>,
    pub entities: Vec<Entity>,
    pub layers: Names,
    pub types: Names,
    pub notes: Vec<String>,
}

/// Names that stand for numbers.
#[derive(Default)]
pub(crate) struct Names {
    numbers: BTreeMap<Vec<u8>, u32>,
    pub texts: Vec<String>,
}

impl Names {
    fn number(&mut self, raw: &[u8], encoding: &'static Encoding) -> u32 {
        if let Some(number) = self.numbers.get(raw) {
            return *number;
        }
        let number = self.texts.len() as u32;
        self.texts.push(text_of(raw, encoding));
        self.numbers.insert(raw.to_vec(), number);
        number
    }
}

/// A text of the file; `\U+XXXX` stands for a letter.
fn text_of(raw: &[u8], encoding: &'static Encoding) -> String {
    let (text, wrong) = encoding.decode_without_bom_handling(raw);
    let text = if wrong {
        encoding_rs::WINDOWS_1252.decode(raw).0
    } else {
        text
    };
    let mut parts = text.split("\\U+");
    let mut whole = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let letter = part
            .get(..4)
            .and_then(|hex| u32::from_str_radix(hex, 16).ok())
            .and_then(char::from_u32);
        match letter {
            Some(letter) => {
                whole.push(letter);
                whole += part.get(4..).unwrap_or_default();
            }
            None => {
                whole += "\\U+";
                whole += part;
            }
        }
    }
    whole
}

/// Takes a file apart.
pub(crate) fn read(bytes: &[u8]) -> Result<Drawing, Vec<Finding>> {
    let mut reader = Reader {
        tags: Tags::new(bytes),
        encoding: encoding_rs::WINDOWS_1252,
        count: 0,
        places: 0,
        drawing: Drawing {
            head: Head::default(),
            blocks: BTreeMap::new(),
            entities: Vec::new(),
            layers: Names::default(),
            types: Names::default(),
            notes: Vec::new(),
        },
    };
    reader.sections()?;
    Ok(reader.drawing)
}

struct Reader<'a> {
    tags: Tags<'a>,
    encoding: &'static Encoding,
    count: usize,
    places: usize,
    drawing: Drawing,
}

type Held<T> = Result<T, Vec<Finding>>;

impl<'a> Reader<'a> {
    fn sections(&mut self) -> Held<()> {
        let mut any = false;
        loop {
            let Some(tag) = self.tags.next()? else {
                return Err(if any {
                    cut_off(self.tags.line())
                } else {
                    no_dxf()
                });
            };
            if tag.is(0, "EOF") {
                return if any { Ok(()) } else { Err(no_dxf()) };
            }
            if !tag.is(0, "SECTION") {
                // Strays between sections do no harm, but a file that begins with one is something else.
                if any {
                    continue;
                }
                return Err(no_dxf());
            }
            any = true;
            let Some(name) = self.tags.next()? else {
                return Err(cut_off(self.tags.line()));
            };
            match name.value.to_ascii_uppercase().as_slice() {
                b"HEADER" => {
                    self.drawing.head = Head::read(&mut self.tags)?;
                    self.encoding = self.drawing.head.encoding(&mut self.drawing.notes);
                }
                b"BLOCKS" => self.blocks()?,
                b"ENTITIES" => {
                    let entities = self.entities("ENDSEC")?;
                    self.drawing.entities.extend(entities);
                }
                _ => self.skip_section()?,
            }
        }
    }

    fn skip_section(&mut self) -> Held<()> {
        while let Some(tag) = self.tags.next()? {
            if tag.is(0, "ENDSEC") {
                return Ok(());
            }
        }
        Err(cut_off(self.tags.line()))
    }

    fn blocks(&mut self) -> Held<()> {
        while let Some(tag) = self.tags.next()? {
            if tag.is(0, "ENDSEC") {
                return Ok(());
            }
            if !tag.is(0, "BLOCK") {
                continue;
            }
            if self.drawing.blocks.len() >= MOST_NAMES {
                return Err(too_many(SUBJECT, "blocks", MOST_NAMES));
            }
            let mut block = Block::default();
            let mut name = String::new();
            self.fields(|reader, tag| match tag.code {
                2 => name = text_of(tag.value, reader.encoding).to_lowercase(),
                10 => block.base.0 = tag.number().unwrap_or(0.0),
                20 => block.base.1 = tag.number().unwrap_or(0.0),
                _ => {}
            })?;
            block.entities = self.entities("ENDBLK")?;
            // The model is a block of its own in some versions; its content stands among the entities.
            self.drawing.blocks.entry(name).or_insert(block);
        }
        Err(cut_off(self.tags.line()))
    }

    /// Hands over the tags up to the next that begins something.
    fn fields(&mut self, mut take: impl FnMut(&Self, &Tag<'a>)) -> Held<()> {
        while let Some(tag) = self.tags.next()? {
            if tag.code == 0 {
                self.tags.give_back(tag);
                return Ok(());
            }
            take(self, &tag);
        }
        Err(cut_off(self.tags.line()))
    }

    fn entities(&mut self, end: &str) -> Held<Vec<Entity>> {
        let mut entities: Vec<Entity> = Vec::new();
        while let Some(tag) = self.tags.next()? {
            if tag.is(0, end) {
                return Ok(entities);
            }
            if tag.is(0, "ENDSEC") || tag.is(0, "EOF") {
                self.tags.give_back(tag);
                return Ok(entities);
            }
            if tag.code != 0 {
                continue;
            }
            self.count += 1;
            if self.count > MOST_ENTITIES {
                return Err(too_many(SUBJECT, "entities", MOST_ENTITIES));
            }
            if tag.is(0, "SEQEND") {
                continue;
            }
            if tag.is(0, "VERTEX") {
                self.vertex(entities.last_mut())?;
            } else if tag.is(0, "ATTRIB") {
                self.attribute(entities.last_mut())?;
            } else {
                entities.extend(self.entity(&tag)?);
            }
        }
        Err(cut_off(self.tags.line()))
    }

    fn vertex(&mut self, line: Option<&mut Entity>) -> Held<()> {
        let (mut at, mut bulge, mut flags) = ((0.0, 0.0), 0.0, 0);
        self.fields(|_, tag| match tag.code {
            10 => at.0 = tag.number().unwrap_or(f64::NAN),
            20 => at.1 = tag.number().unwrap_or(f64::NAN),
            42 => bulge = tag.number().unwrap_or(0.0),
            70 => flags = tag.whole().unwrap_or(0),
            _ => {}
        })?;
        self.place()?;
        // A frame's control points lie off the curve, faces of a mesh are no places.
        const NO_PLACE: i64 = 16 | 128;
        if let Some(Entity {
            shape: Shape::Polyline(places, _),
            ..
        }) = line
            && flags & NO_PLACE == 0
        {
            places.push((at, bulge));
        }
        Ok(())
    }

    fn place(&mut self) -> Held<()> {
        self.places += 1;
        if self.places > MOST_PLACES_READ {
            return Err(too_many(SUBJECT, "places", MOST_PLACES_READ));
        }
        Ok(())
    }

    fn attribute(&mut self, insert: Option<&mut Entity>) -> Held<()> {
        let (mut name, mut value) = (String::new(), String::new());
        self.fields(|reader, tag| match tag.code {
            2 => name = text_of(tag.value, reader.encoding),
            1 => value = text_of(tag.value, reader.encoding),
            _ => {}
        })?;
        const MOST: usize = 64;
        if let Some(Entity {
            shape: Shape::Insert(insert),
            ..
        }) = insert
            && insert.attributes.len() < MOST
        {
            insert.attributes.push((name, value));
        }
        Ok(())
    }

    fn entity(&mut self, start: &Tag<'a>) -> Held<Option<Entity>> {
        let kind = start.value.to_ascii_uppercase();
        let number = self
            .drawing
            .types
            .number(&kind, encoding_rs::WINDOWS_1252)
            .min(u32::from(u16::MAX));
        let mut raw = Raw::default();
        let mut layer: &[u8] = b"0";
        let mut ours: Option<Vec<String>> = None;
        let mut application_is_ours = false;
        let wants_list = matches!(kind.as_slice(), b"LWPOLYLINE" | b"SPLINE");
        loop {
            let Some(tag) = self.tags.next()? else {
                return Err(cut_off(self.tags.line()));
            };
            match tag.code {
                0 => {
                    self.tags.give_back(tag);
                    break;
                }
                8 => layer = tag.value,
                67 => raw.paper = tag.whole() == Some(1),
                1001 => application_is_ours = tag.value == APPLICATION.as_bytes(),
                1000 if application_is_ours => {
                    self.place()?;
                    let text = text_of(tag.value, self.encoding);
                    ours.get_or_insert_default().push(text);
                }
                1000..=1071 => {}
                _ if wants_list => {
                    if matches!(tag.code, 10 | 11 | 40 | 41) {
                        self.place()?;
                    }
                    raw.listed(&tag);
                }
                2 => raw.name = text_of(tag.value, self.encoding),
                _ => raw.single(&tag),
            }
        }
        if self.drawing.layers.texts.len() > MOST_NAMES {
            return Err(too_many(SUBJECT, "layers", MOST_NAMES));
        }
        if raw.paper {
            return Ok(None);
        }
        let mirrored = raw.up.2 < 0.0;
        let tilted = raw.up.0.abs() > 1e-6 || raw.up.1.abs() > 1e-6;
        let shape = if tilted { None } else { raw.shape(&kind) };
        let in_world = matches!(kind.as_slice(), b"LINE" | b"POINT" | b"ELLIPSE" | b"SPLINE");
        Ok(Some(Entity {
            layer: self.drawing.layers.number(layer, self.encoding),
            line: u32::try_from(start.line).unwrap_or(u32::MAX),
            mirrored: mirrored && !in_world,
            shape: shape.unwrap_or(Shape::Other(number as u16)),
            ours,
        }))
    }
}

fn no_dxf() -> Vec<Finding> {
    vec![Finding::error(
        "not-dxf",
        SUBJECT,
        "is no DXF: it does not begin with a section",
        "export the drawing as DXF in text form (ASCII)",
    )]
}

/// The values of an entity by their codes, before its type says what they mean.
struct Raw {
    name: String,
    paper: bool,
    at: (f64, f64, f64),
    to: (f64, f64),
    up: (f64, f64, f64),
    /// Codes 40 to 45, 50 and 51.
    numbers: [Option<f64>; 8],
    flags: i64,
    counts: (i64, i64),
    places: Vec<(Xy, f64)>,
    fit: Vec<Xy>,
    knots: Vec<f64>,
    weights: Vec<f64>,
}

impl Default for Raw {
    fn default() -> Self {
        Self {
            name: String::new(),
            paper: false,
            at: (f64::NAN, f64::NAN, 0.0),
            to: (f64::NAN, f64::NAN),
            up: (0.0, 0.0, 1.0),
            numbers: [None; 8],
            flags: 0,
            counts: (1, 1),
            places: Vec::new(),
            fit: Vec::new(),
            knots: Vec::new(),
            weights: Vec::new(),
        }
    }
}

impl Raw {
    fn single(&mut self, tag: &Tag<'_>) {
        let number = || tag.number().unwrap_or(f64::NAN);
        match tag.code {
            10 => self.at.0 = number(),
            20 => self.at.1 = number(),
            30 => self.at.2 = number(),
            11 => self.to.0 = number(),
            21 => self.to.1 = number(),
            40..=45 => self.numbers[tag.code as usize - 40] = Some(number()),
            50 | 51 => self.numbers[tag.code as usize - 44] = Some(number()),
            70 => {
                self.flags = tag.whole().unwrap_or(0);
                self.counts.0 = self.flags;
            }
            71 => self.counts.1 = tag.whole().unwrap_or(1),
            210 => self.up.0 = number(),
            220 => self.up.1 = number(),
            230 => self.up.2 = number(),
            _ => {}
        }
    }

    /// Of types whose codes come again and again.
    fn listed(&mut self, tag: &Tag<'_>) {
        let number = || tag.number().unwrap_or(f64::NAN);
        match tag.code {
            10 => self.places.push(((number(), f64::NAN), 0.0)),
            20 => {
                if let Some((at, _)) = self.places.last_mut() {
                    at.1 = number();
                }
            }
            42 => {
                if let Some((_, bulge)) = self.places.last_mut() {
                    *bulge = number();
                }
            }
            11 => self.fit.push((number(), f64::NAN)),
            21 => {
                if let Some(at) = self.fit.last_mut() {
                    at.1 = number();
                }
            }
            40 => self.knots.push(number()),
            41 => self.weights.push(number()),
            70 => self.flags = tag.whole().unwrap_or(0),
            71 => self.counts.1 = tag.whole().unwrap_or(0),
            210 => self.up.0 = number(),
            220 => self.up.1 = number(),
            230 => self.up.2 = number(),
            _ => {}
        }
    }

    /// Nothing if a value that is needed is missing or no number.
    fn shape(self, kind: &[u8]) -> Option<Shape> {
        let at = (self.at.0, self.at.1);
        let number = |code: usize| self.numbers.get(code - 40).copied().flatten();
        let shape = match kind {
            b"POINT" => Shape::Point(
                at,
                if self.at.2.is_finite() {
                    self.at.2
                } else {
                    0.0
                },
            ),
            b"LINE" => Shape::Polyline(vec![(at, 0.0), (self.to, 0.0)], false),
            b"LWPOLYLINE" => Shape::Polyline(self.places, self.flags & 1 == 1),
            // Meshes are no lines.
            b"POLYLINE" if self.flags & (16 | 64) == 0 => {
                Shape::Polyline(Vec::new(), self.flags & 1 == 1)
            }
            b"CIRCLE" => Shape::Circle(at, number(40).filter(|radius| *radius > 0.0)?),
            b"ARC" => {
                let (from, to) = (self.numbers[6]?, self.numbers[7]?);
                Shape::Arc(
                    at,
                    number(40).filter(|radius| *radius > 0.0)?,
                    (from.to_radians(), to.to_radians()),
                )
            }
            b"ELLIPSE" => {
                let whole = std::f64::consts::TAU;
                let span = (number(41).unwrap_or(0.0), number(42).unwrap_or(whole));
                Shape::Ellipse(at, self.to, number(40)?, span)
            }
            b"SPLINE" => Shape::Spline(Box::new(Spline {
                degree: usize::try_from(self.counts.1).ok()?,
                closed: self.flags & 1 == 1,
                knots: self.knots,
                control: self.places.into_iter().map(|(at, _)| at).collect(),
                weights: self.weights,
                fit: self.fit,
            })),
            b"INSERT" => {
                let count = |value: i64| u32::try_from(value.max(1)).unwrap_or(u32::MAX);
                Shape::Insert(Box::new(Insert {
                    block: self.name.to_lowercase(),
                    at,
                    scale: (number(41).unwrap_or(1.0), number(42).unwrap_or(1.0)),
                    turn: self.numbers[6].unwrap_or(0.0).to_radians(),
                    array: (
                        (count(self.counts.0), count(self.counts.1)),
                        (number(44).unwrap_or(0.0), number(45).unwrap_or(0.0)),
                    ),
                    attributes: Vec::new(),
                }))
            }
            _ => return None,
        };
        shape.is_finite().then_some(shape)
    }
}

impl Shape {
    fn is_finite(&self) -> bool {
        let place = |at: &Xy| at.0.is_finite() && at.1.is_finite();
        match self {
            Self::Point(at, _) => place(at),
            Self::Polyline(places, _) => places
                .iter()
                .all(|(at, bulge)| place(at) && bulge.is_finite()),
            Self::Circle(at, radius) => place(at) && radius.is_finite(),
            Self::Arc(at, radius, span) => place(at) && radius.is_finite() && place(span),
            Self::Ellipse(at, axis, ratio, span) => {
                place(at) && place(axis) && ratio.is_finite() && place(span)
            }
            Self::Spline(spline) => {
                spline.control.iter().chain(&spline.fit).all(place)
                    && spline
                        .knots
                        .iter()
                        .chain(&spline.weights)
                        .all(|value| value.is_finite())
            }
            Self::Insert(insert) => {
                place(&insert.at)
                    && place(&insert.scale)
                    && insert.turn.is_finite()
                    && place(&insert.array.1)
            }
            Self::Other(_) => true,
        }
    }
}
