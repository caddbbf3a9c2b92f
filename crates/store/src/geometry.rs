//! Shapes as a GeoPackage holds them, and as GeoJSON does.
//!
//! Source: OGC 12-128r18 (GeoPackage 1.3.1), clause 2.1.3, for the header; OGC 06-103r4 (Simple Feature Access),
//! clause 8.2, for the well-known binary behind it. Read here and not by a library because a count in a damaged
//! blob must not be believed: nothing is set aside for more places than the blob has bytes.

use job::number;
use serde_json::{Value, json};

/// The reference system of every shape in a job file: its own plane.
pub(crate) const PLANE: i32 = 100_001;

const LITTLE_ENDIAN: u8 = 1;
const ENVELOPE_XY: u8 = 1 << 1;

const POINT: u32 = 1;
const LINE: u32 = 2;
const POLYGON: u32 = 3;
const MULTI_POINT: u32 = 4;
const MULTI_LINE: u32 = 5;
const MULTI_POLYGON: u32 = 6;

/// Least and greatest x and y, in the order in which GeoPackage writes an envelope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Extent {
    pub min_x: f64,
    pub max_x: f64,
    pub min_y: f64,
    pub max_y: f64,
}

impl Extent {
    /// What holds nothing yet.
    pub const NOTHING: Self = Self {
        min_x: f64::INFINITY,
        max_x: f64::NEG_INFINITY,
        min_y: f64::INFINITY,
        max_y: f64::NEG_INFINITY,
    };

    pub fn is_nothing(&self) -> bool {
        self.min_x > self.max_x
    }

    pub fn take(&mut self, [x, y]: [f64; 2]) {
        self.min_x = self.min_x.min(x);
        self.max_x = self.max_x.max(x);
        self.min_y = self.min_y.min(y);
        self.max_y = self.max_y.max(y);
    }

    pub fn join(&mut self, other: &Self) {
        if !other.is_nothing() {
            self.take([other.min_x, other.min_y]);
            self.take([other.max_x, other.max_y]);
        }
    }
}

/// A shape on its way into a blob: its well-known binary and its extent.
pub(crate) struct Writer {
    bytes: Vec<u8>,
    extent: Extent,
}

impl Writer {
    fn new() -> Self {
        Self {
            bytes: Vec::new(),
            extent: Extent::NOTHING,
        }
    }

    fn open(&mut self, kind: u32) {
        self.bytes.push(LITTLE_ENDIAN);
        self.bytes.extend(kind.to_le_bytes());
    }

    fn count(&mut self, count: usize) {
        self.bytes.extend((count as u32).to_le_bytes());
    }

    fn place(&mut self, place: [f64; 2]) {
        self.extent.take(place);
        for number in place {
            self.bytes.extend(number.to_le_bytes());
        }
    }

    fn places(&mut self, places: &[[f64; 2]]) {
        self.count(places.len());
        for &place in places {
            self.place(place);
        }
    }

    /// The blob. A point has no envelope: it would say no more than the point.
    fn blob(self, envelope: bool) -> Vec<u8> {
        let flags = LITTLE_ENDIAN | if envelope { ENVELOPE_XY } else { 0 };
        let mut blob = vec![b'G', b'P', 0, flags];
        blob.extend(PLANE.to_le_bytes());
        if envelope {
            let e = self.extent;
            for number in [e.min_x, e.max_x, e.min_y, e.max_y] {
                blob.extend(number.to_le_bytes());
            }
        }
        blob.extend(self.bytes);
        blob
    }
}

/// The blob of a point.
pub(crate) fn point(at: [f64; 2]) -> Vec<u8> {
    let mut writer = Writer::new();
    writer.open(POINT);
    writer.place(at);
    writer.blob(false)
}

/// The blob of a line.
pub(crate) fn line(places: &[[f64; 2]]) -> Vec<u8> {
    let mut writer = Writer::new();
    writer.open(LINE);
    writer.places(places);
    writer.blob(true)
}

/// The blob of a polygon: its outer ring and its holes.
pub(crate) fn polygon(rings: &[Vec<[f64; 2]>]) -> Vec<u8> {
    let mut writer = Writer::new();
    writer.open(POLYGON);
    writer.count(rings.len());
    for ring in rings {
        writer.places(ring);
    }
    writer.blob(true)
}

fn several_points(places: &[[f64; 2]]) -> Vec<u8> {
    let mut writer = Writer::new();
    writer.open(MULTI_POINT);
    writer.count(places.len());
    for &place in places {
        writer.open(POINT);
        writer.place(place);
    }
    writer.blob(true)
}

/// The blob of a GeoJSON geometry; nothing if it is none of the four that jobs have, or is empty.
pub(crate) fn from_json(geometry: &Value) -> Option<Vec<u8>> {
    let coordinates = geometry.get("coordinates")?;
    match geometry.get("type")?.as_str()? {
        "Point" => place_of(coordinates).map(point),
        "LineString" => Some(line(&places_of(coordinates)?)),
        "MultiPoint" => Some(several_points(&places_of(coordinates)?)),
        "Polygon" => {
            let rings: Option<Vec<_>> = coordinates.as_array()?.iter().map(places_of).collect();
            Some(polygon(&rings.filter(|rings| !rings.is_empty())?))
        }
        _ => None,
    }
}

fn places_of(value: &Value) -> Option<Vec<[f64; 2]>> {
    let places: Option<Vec<_>> = value.as_array()?.iter().map(place_of).collect();
    places.filter(|places| !places.is_empty())
}

fn place_of(value: &Value) -> Option<[f64; 2]> {
    match value.as_array()?.as_slice() {
        [x, y] => Some([x.as_f64()?, y.as_f64()?]),
        _ => None,
    }
}

/// The GeoJSON geometry of a blob.
///
/// # Errors
/// In words, what is wrong with it.
pub(crate) fn to_json(blob: &[u8]) -> Result<Value, String> {
    let mut reader = Reader::of(blob)?;
    let geometry = reader.geometry(0)?;
    match reader.rest.is_empty() {
        true => Ok(geometry),
        false => Err(format!("has {} bytes too many", reader.rest.len())),
    }
}

/// The extent of what a blob holds, from its places and not from its envelope, which nobody checks.
pub(crate) fn extent(blob: &[u8]) -> Result<Extent, String> {
    let mut reader = Reader::of(blob)?;
    reader.geometry(0)?;
    Ok(reader.extent)
}

/// Goes through the bytes of a blob.
struct Reader<'a> {
    rest: &'a [u8],
    little: bool,
    extent: Extent,
}

/// Collections in collections deeper than this are no drawing.
const DEEPEST: u32 = 8;

impl<'a> Reader<'a> {
    /// Behind the header.
    fn of(blob: &'a [u8]) -> Result<Self, String> {
        let [b'G', b'P', 0, flags, rest @ ..] = blob else {
            return Err("does not begin as a GeoPackage shape does".to_owned());
        };
        let envelope = match flags >> 1 & 7 {
            0 => 0,
            1 => 4,
            2 | 3 => 6,
            4 => 8,
            _ => return Err("has an envelope of an unknown sort".to_owned()),
        };
        let mut reader = Self {
            rest,
            little: flags & LITTLE_ENDIAN != 0,
            extent: Extent::NOTHING,
        };
        reader.take(4 + 8 * envelope)?;
        Ok(reader)
    }

    fn take(&mut self, bytes: usize) -> Result<&'a [u8], String> {
        if bytes > self.rest.len() {
            return Err("ends too early".to_owned());
        }
        let (taken, rest) = self.rest.split_at(bytes);
        self.rest = rest;
        Ok(taken)
    }

    fn whole(&mut self) -> Result<u32, String> {
        let bytes = self.take(4)?.try_into().map_err(|_| "ends too early")?;
        Ok(match self.little {
            true => u32::from_le_bytes(bytes),
            false => u32::from_be_bytes(bytes),
        })
    }

    fn real(&mut self) -> Result<f64, String> {
        let bytes = self.take(8)?.try_into().map_err(|_| "ends too early")?;
        Ok(match self.little {
            true => f64::from_le_bytes(bytes),
            false => f64::from_be_bytes(bytes),
        })
    }

    /// A count of things of which each takes at least so many bytes.
    fn count(&mut self, each: usize) -> Result<usize, String> {
        let count = self.whole()? as usize;
        match count <= self.rest.len() / each {
            true => Ok(count),
            false => Err(format!("counts {count} things, more than it has bytes for")),
        }
    }

    /// The kind of the next shape and how many numbers a place has.
    fn opening(&mut self) -> Result<(u32, usize), String> {
        self.little = self.take(1)?[0] == LITTLE_ENDIAN;
        let kind = self.whole()?;
        // Heights and measures: by thousands (ISO), or by the upper bits (extended well-known binary).
        let flags = (kind >> 30).count_ones() as usize;
        let thousands = match kind & 0x0fff_ffff {
            plain if plain < 1000 => 0,
            measured if measured < 3000 => 1,
            _ => 2,
        };
        Ok((kind & 0x0fff_ffff, 2 + flags.max(thousands)))
    }

    fn geometry(&mut self, depth: u32) -> Result<Value, String> {
        let (kind, numbers) = self.opening()?;
        let (name, coordinates) = match kind % 1000 {
            POINT => ("Point", self.place(numbers)?),
            LINE => ("LineString", self.places(numbers)?),
            POLYGON => {
                let mut rings = Vec::new();
                for _ in 0..self.count(4)? {
                    rings.push(self.places(numbers)?);
                }
                ("Polygon", Value::from(rings))
            }
            MULTI_POINT => ("MultiPoint", self.parts(depth)?),
            MULTI_LINE => ("MultiLineString", self.parts(depth)?),
            MULTI_POLYGON => ("MultiPolygon", self.parts(depth)?),
            other => return Err(format!("is of the unknown sort {other}")),
        };
        Ok(json!({ "type": name, "coordinates": coordinates }))
    }

    fn parts(&mut self, depth: u32) -> Result<Value, String> {
        if depth > DEEPEST {
            return Err("holds collections in collections".to_owned());
        }
        let mut parts = Vec::new();
        for _ in 0..self.count(5)? {
            let mut part = self.geometry(depth + 1)?;
            parts.push(part["coordinates"].take());
        }
        Ok(Value::from(parts))
    }

    fn places(&mut self, numbers: usize) -> Result<Value, String> {
        let mut places = Vec::new();
        for _ in 0..self.count(8 * numbers)? {
            places.push(self.place(numbers)?);
        }
        Ok(Value::from(places))
    }

    /// A place; heights and measures are left out.
    fn place(&mut self, numbers: usize) -> Result<Value, String> {
        let (x, y) = (self.real()?, self.real()?);
        self.take(8 * (numbers - 2))?;
        if !x.is_finite() || !y.is_finite() {
            return Err("has a place that is no finite number".to_owned());
        }
        self.extent.take([x, y]);
        Ok(Value::from(vec![number(x), number(y)]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_four_shapes_of_a_job_come_back() {
        for geometry in [
            json!({ "type": "Point", "coordinates": [1.5, -2] }),
            json!({ "type": "LineString", "coordinates": [[0, 0], [1, 1e-9]] }),
            json!({ "type": "MultiPoint", "coordinates": [[3, 4], [5, 6]] }),
            json!({ "type": "Polygon", "coordinates": [[[0, 0], [9, 0], [9, 9], [0, 0]], [[1, 1], [2, 1], [2, 2], [1, 1]]] }),
        ] {
            let blob = from_json(&geometry).unwrap();
            assert_eq!(to_json(&blob).unwrap(), geometry);
        }
    }

    #[test]
    fn the_extent_is_that_of_the_places() {
        let blob = line(&[[4.0, 7.0], [-1.0, 8.0]]);
        let wanted = Extent {
            min_x: -1.0,
            max_x: 4.0,
            min_y: 7.0,
            max_y: 8.0,
        };
        assert_eq!(extent(&blob).unwrap(), wanted);
    }

    /// A polygon with heights, big-endian, as the standard's clause 8.2.8 lays it out.
    #[test]
    fn heights_are_left_out_and_both_byte_orders_read() {
        let mut blob = vec![b'G', b'P', 0, 0, 0, 0, 0, 0];
        blob.push(0);
        blob.extend(1002_u32.to_be_bytes());
        blob.extend(2_u32.to_be_bytes());
        for number in [1.0_f64, 2.0, 99.0, 3.0, 4.0, 99.0] {
            blob.extend(number.to_be_bytes());
        }
        let wanted = json!({ "type": "LineString", "coordinates": [[1, 2], [3, 4]] });
        assert_eq!(to_json(&blob).unwrap(), wanted);
    }

    #[test]
    fn a_damaged_blob_is_an_error_whatever_its_counts_say() {
        let blob = polygon(&[vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 0.0]]]);
        for end in 0..blob.len() {
            assert!(to_json(&blob[..end]).is_err(), "{end}");
        }
        for at in 0..blob.len() {
            let mut changed = blob.clone();
            changed[at] = 0xff;
            let _ = to_json(&changed);
        }
        let nan = point([f64::NAN, 0.0]);
        assert!(to_json(&nan).is_err());
    }
}
