//! A job and its plan as a drawing of the version of 2000, which nearly every program reads.

use job::{Document, Finding, LengthUnit};
use layers::{Cell, Layer, Row, Shape};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::APPLICATION;
use super::marks::Mark;
use crate::mapping::class_of;
use crate::target::unit_of;
use crate::{Report, Xy};

/// A drawing, and what did not go into it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The text of the DXF.
    pub text: String,
    /// What went in, and what a DXF cannot hold.
    pub report: Report,
}

/// Writes a job's features and the layers of its plan.
///
/// # Errors
/// If the job's unit is not known, or a feature has a geometry that cannot be drawn.
pub fn write(document: &Document, layers: &[Layer]) -> Result<Written, Vec<Finding>> {
    let unit = unit_of(document)?;
    let mut drawing = Drawing {
        metres: unit.to_m(),
        ..Drawing::default()
    };
    let mut findings = Vec::new();
    for feature in &document.features {
        if let Err(finding) = drawing.feature(feature) {
            findings.push(finding);
        }
    }
    if !findings.is_empty() {
        return Err(findings);
    }
    for layer in layers {
        for row in &layer.rows {
            drawing.row(layer, row);
        }
    }
    drawing.report.note(
        "the job's header (name, units, anchor, rules, prices) has no place in a DXF".to_owned(),
    );
    Ok(Written {
        text: drawing.text(unit),
        report: drawing.report,
    })
}

#[derive(Default)]
struct Drawing {
    metres: f64,
    /// Layers by name, with their colour's number.
    layers: BTreeMap<String, u8>,
    entities: String,
    handle: u32,
    report: Report,
    /// Half the height of letters at points, in the drawing's unit.
    extent: Option<(Xy, Xy)>,
}

/// The first handle of an entity; those before are for tables.
const FIRST_HANDLE: u32 = 0x100;
/// The height of letters beside points, metres in the plan: common practice on plans of 1 : 100 to 1 : 200.
const LETTERS: f64 = 0.25;
/// Longest name of a layer.
const LONGEST_NAME: usize = 60;

impl Drawing {
    fn feature(&mut self, feature: &Value) -> Result<(), Finding> {
        let id = feature
            .get("id")
            .and_then(Value::as_str)
            .unwrap_or_default();
        let properties = feature
            .get("properties")
            .and_then(Value::as_object)
            .cloned()
            .unwrap_or_default();
        let text = |name: &str| properties.get(name).and_then(Value::as_str);
        let kind = text("kind").unwrap_or("feature");
        let class = class_of(kind).and_then(text);
        let layer =
            self.layer(&class.map_or_else(|| kind.to_owned(), |class| format!("{kind}-{class}")));
        let nothing = Value::Null;
        let geometry = feature.get("geometry").unwrap_or(&nothing);
        if geometry.is_null() {
            let why = "it has no place in the plan, and a DXF holds nothing else";
            self.report.leave("the job", kind, 1, why);
            return Ok(());
        }
        let sort = geometry
            .get("type")
            .and_then(Value::as_str)
            .unwrap_or_default();
        let parts =
            parts_of(sort, geometry.get("coordinates").unwrap_or(&nothing)).ok_or_else(|| {
                let mend = "mend the job file first: check it";
                Finding::error(
                    "bad-geometry",
                    id,
                    "has a geometry that cannot be drawn",
                    mend,
                )
            })?;
        let count = parts.len();
        for (n, places) in parts.into_iter().enumerate() {
            let mark = Mark {
                id: id.to_owned(),
                part: (n, count),
                geometry: sort.to_owned(),
                properties: (n == 0).then(|| properties.clone()),
            };
            match sort {
                "Point" | "MultiPoint" => self.point(&layer, places[0]),
                "Polygon" => self.line(&layer, &places, true),
                _ => self.line(&layer, &places, false),
            }
            self.mark(&mark);
        }
        self.report.take("the job", sort, &format!("layer {layer}"));
        Ok(())
    }

    /// The name of a layer as every program takes it, remembered for the table.
    fn layer(&mut self, name: &str) -> String {
        let letter = |c: char| {
            if c.is_ascii_alphanumeric() || matches!(c, '_' | '-') {
                c
            } else {
                '-'
            }
        };
        let name: String = name.chars().take(LONGEST_NAME).map(letter).collect();
        let colour = (self.layers.len() % 7 + 1) as u8;
        self.layers.entry(name.clone()).or_insert(colour);
        name
    }

    fn begin(&mut self, kind: &str, layer: &str, subclass: &str) {
        let handle = FIRST_HANDLE + self.handle;
        self.handle += 1;
        let _ = write!(
            self.entities,
            "  0\n{kind}\n  5\n{handle:X}\n330\n1F\n100\nAcDbEntity\n  8\n{layer}\n100\n{subclass}\n"
        );
    }

    fn place(&mut self, code: i16, at: Xy) {
        let (least, most) = self.extent.get_or_insert((at, at));
        *least = (least.0.min(at.0), least.1.min(at.1));
        *most = (most.0.max(at.0), most.1.max(at.1));
        let _ = write!(
            self.entities,
            "{code:>3}\n{}\n{:>3}\n{}\n",
            real(at.0),
            code + 10,
            real(at.1)
        );
    }

    fn point(&mut self, layer: &str, at: Xy) {
        self.begin("POINT", layer, "AcDbPoint");
        self.place(10, at);
        self.entities += " 30\n0.0\n";
    }

    fn line(&mut self, layer: &str, places: &[Xy], closed: bool) {
        let places = if closed && places.len() > 1 && places.first() == places.last() {
            &places[..places.len() - 1]
        } else {
            places
        };
        self.begin("LWPOLYLINE", layer, "AcDbPolyline");
        let flag = u8::from(closed);
        let _ = write!(
            self.entities,
            " 90\n{}\n 70\n{flag}\n 43\n0.0\n",
            places.len()
        );
        for at in places {
            self.place(10, *at);
        }
    }

    fn letters(&mut self, layer: &str, at: Xy, text: &str) {
        let height = LETTERS / self.metres;
        self.begin("TEXT", layer, "AcDbText");
        self.place(10, (at.0 + height, at.1 + height));
        let _ = write!(
            self.entities,
            " 30\n0.0\n 40\n{}\n  1\n{}\n100\nAcDbText\n",
            real(height),
            plain(text)
        );
    }

    fn mark(&mut self, mark: &Mark) {
        let _ = write!(self.entities, "1001\n{APPLICATION}\n");
        for text in mark.texts() {
            let _ = write!(self.entities, "1000\n{text}\n");
        }
    }

    /// A row of a plan's layer: by method, size or the like, where it has one.
    fn row(&mut self, layer: &Layer, row: &Row) {
        let class = CLASSES.iter().find_map(|name| {
            let column = layer
                .columns
                .iter()
                .position(|column| column.name == *name)?;
            match row.cells.get(column)? {
                Cell::Text(text) if !text.is_empty() => Some(text.as_str()),
                _ => None,
            }
        });
        let name = layer.name.strip_prefix("plan_").unwrap_or(&layer.name);
        let name = class.map_or_else(
            || format!("{PLAN}{name}"),
            |class| format!("{PLAN}{name}-{class}"),
        );
        let name = self.layer(&name);
        let to = |at: geo::Coord| (at.x / self.metres, at.y / self.metres);
        match &row.shape {
            Shape::Point(at) => {
                let at = to(at.0);
                self.point(&name, at);
                self.letters(&name, at, &row.id);
            }
            Shape::Line(line) => {
                let places: Vec<Xy> = line.0.iter().map(|at| to(*at)).collect();
                self.line(&name, &places, false);
            }
            Shape::Area(area) => {
                let rings: Vec<Vec<Xy>> = std::iter::once(area.exterior())
                    .chain(area.interiors())
                    .map(|ring| ring.0.iter().map(|at| to(*at)).collect())
                    .collect();
                for ring in rings {
                    self.line(&name, &ring, true);
                }
            }
        }
        self.report
            .take("the plan", &layer.name, &format!("layer {name}"));
    }

    fn text(&self, unit: LengthUnit) -> String {
        // The values of $INSUNITS and $MEASUREMENT.
        let (code, metric) = match unit {
            LengthUnit::Ft => (2, 0),
            LengthUnit::M => (6, 1),
        };
        // Layers take the handles after the entities'.
        let layer_handle = FIRST_HANDLE + self.handle;
        let next = layer_handle + self.layers.len() as u32 + 2;
        let (least, most) = self.extent.unwrap_or_default();
        let mut text = String::with_capacity(self.entities.len() + 8_000);
        let _ = write!(
            text,
            "  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\nAC1015\n  9\n$DWGCODEPAGE\n  3\nANSI_1252\n  9\n\
             $INSUNITS\n 70\n{code}\n  9\n$MEASUREMENT\n 70\n{metric}\n  9\n$HANDSEED\n  5\n{next:X}\n  9\n\
             $EXTMIN\n 10\n{}\n 20\n{}\n 30\n0.0\n  9\n$EXTMAX\n 10\n{}\n 20\n{}\n 30\n0.0\n  0\nENDSEC\n",
            real(least.0),
            real(least.1),
            real(most.0),
            real(most.1)
        );
        text += "  0\nSECTION\n  2\nCLASSES\n  0\nENDSEC\n";
        tables(&mut text, &self.layers, layer_handle);
        blocks(&mut text);
        text += "  0\nSECTION\n  2\nENTITIES\n";
        text += &self.entities;
        text += "  0\nENDSEC\n";
        text += "  0\nSECTION\n  2\nOBJECTS\n  0\nDICTIONARY\n  5\nC\n330\n0\n100\nAcDbDictionary\n281\n1\n  3\n\
                 ACAD_GROUP\n350\nD\n  0\nDICTIONARY\n  5\nD\n330\nC\n100\nAcDbDictionary\n281\n1\n  0\nENDSEC\n";
        text += "  0\nEOF\n";
        text
    }
}

/// How layers of a plan begin.
pub(super) const PLAN: &str = "plan-";

/// Columns that make layers of their own: a stretch goes by its method, a pipe by its size.
const CLASSES: [&str; 6] = ["method", "size", "service", "surface", "sort", "kind"];

/// The lists of places of a geometry: each ring, each point, or the line.
fn parts_of(sort: &str, coordinates: &Value) -> Option<Vec<Vec<Xy>>> {
    let place = |value: &Value| {
        let list = value.as_array()?;
        let (x, y) = (list.first()?.as_f64()?, list.get(1)?.as_f64()?);
        (x.is_finite() && y.is_finite()).then_some((x, y))
    };
    let line = |value: &Value| {
        let places = value
            .as_array()?
            .iter()
            .map(place)
            .collect::<Option<Vec<Xy>>>()?;
        (!places.is_empty()).then_some(places)
    };
    let parts = match sort {
        "Point" => vec![vec![place(coordinates)?]],
        "MultiPoint" => line(coordinates)?.into_iter().map(|at| vec![at]).collect(),
        "LineString" => vec![line(coordinates)?],
        "Polygon" => coordinates
            .as_array()?
            .iter()
            .map(line)
            .collect::<Option<Vec<_>>>()?,
        _ => return None,
    };
    (!parts.is_empty()).then_some(parts)
}

/// A number with a point.
fn real(value: f64) -> String {
    format!("{value:?}")
}

/// A text on one line, letters beyond ASCII by their number.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars().take(200) {
        if letter.is_control() {
            out.push(' ');
        } else if letter.is_ascii() {
            out.push(letter);
        } else if u32::from(letter) <= 0xFFFF {
            out += &format!("\\U+{:04X}", u32::from(letter));
        } else {
            out.push('?');
        }
    }
    out
}

fn table(text: &mut String, name: &str, handle: &str, count: usize, entries: &str) {
    let _ = write!(
        text,
        "  0\nTABLE\n  2\n{name}\n  5\n{handle}\n330\n0\n100\nAcDbSymbolTable\n 70\n{count}\n{entries}  0\nENDTAB\n"
    );
}

fn entry(kind: &str, handle: &str, owner: &str, subclass: &str, name: &str, rest: &str) -> String {
    format!(
        "  0\n{kind}\n  5\n{handle}\n330\n{owner}\n100\nAcDbSymbolTableRecord\n100\n{subclass}\n  2\n{name}\n{rest}"
    )
}

fn tables(text: &mut String, layers: &BTreeMap<String, u8>, first_handle: u32) {
    *text += "  0\nSECTION\n  2\nTABLES\n";
    table(text, "VPORT", "8", 0, "");
    let line = |name: &str, handle: &str, about: &str| {
        let rest = format!(" 70\n0\n  3\n{about}\n 72\n65\n 73\n0\n 40\n0.0\n");
        entry("LTYPE", handle, "5", "AcDbLinetypeTableRecord", name, &rest)
    };
    let lines = line("ByBlock", "14", "")
        + &line("ByLayer", "15", "")
        + &line("Continuous", "16", "Solid line");
    table(text, "LTYPE", "5", 3, &lines);
    let mut entries = String::new();
    let zero = ("0".to_owned(), 7);
    let named = layers.iter().map(|(name, colour)| (name.clone(), *colour));
    for (n, (name, colour)) in std::iter::once(zero)
        .chain(named.filter(|(name, _)| name != "0"))
        .enumerate()
    {
        let handle = first_handle + n as u32;
        let rest = format!(" 70\n0\n 62\n{colour}\n  6\nContinuous\n");
        entries += &entry(
            "LAYER",
            &format!("{handle:X}"),
            "2",
            "AcDbLayerTableRecord",
            &name,
            &rest,
        );
    }
    table(text, "LAYER", "2", layers.len() + 1, &entries);
    let rest = " 70\n0\n 40\n0.0\n 41\n1.0\n 50\n0.0\n 71\n0\n 42\n2.5\n  3\ntxt\n  4\n\n";
    table(
        text,
        "STYLE",
        "3",
        1,
        &entry(
            "STYLE",
            "11",
            "3",
            "AcDbTextStyleTableRecord",
            "Standard",
            rest,
        ),
    );
    table(text, "VIEW", "6", 0, "");
    table(text, "UCS", "7", 0, "");
    let standard = entry(
        "APPID",
        "12",
        "9",
        "AcDbRegAppTableRecord",
        "ACAD",
        " 70\n0\n",
    );
    let ours = entry(
        "APPID",
        "13",
        "9",
        "AcDbRegAppTableRecord",
        APPLICATION,
        " 70\n0\n",
    );
    table(text, "APPID", "9", 2, &(standard + &ours));
    let style = "  0\nDIMSTYLE\n105\n27\n330\nA\n100\nAcDbSymbolTableRecord\n100\nAcDbDimStyleTableRecord\n  2\nStandard\n 70\n0\n";
    let _ = write!(
        text,
        "  0\nTABLE\n  2\nDIMSTYLE\n  5\nA\n330\n0\n100\nAcDbSymbolTable\n 70\n1\n100\nAcDbDimStyleTable\n{style}  0\nENDTAB\n"
    );
    let record = |name: &str, handle: &str| {
        entry(
            "BLOCK_RECORD",
            handle,
            "1",
            "AcDbBlockTableRecord",
            name,
            "",
        )
    };
    let records = record("*Model_Space", "1F") + &record("*Paper_Space", "1B");
    table(text, "BLOCK_RECORD", "1", 2, &records);
    *text += "  0\nENDSEC\n";
}

fn blocks(text: &mut String) {
    *text += "  0\nSECTION\n  2\nBLOCKS\n";
    for (name, owner, begin, end) in [
        ("*Model_Space", "1F", "20", "21"),
        ("*Paper_Space", "1B", "1C", "1D"),
    ] {
        let _ = write!(
            text,
            "  0\nBLOCK\n  5\n{begin}\n330\n{owner}\n100\nAcDbEntity\n  8\n0\n100\nAcDbBlockBegin\n  2\n{name}\n 70\n0\n \
             10\n0.0\n 20\n0.0\n 30\n0.0\n  3\n{name}\n  1\n\n  0\nENDBLK\n  5\n{end}\n330\n{owner}\n100\nAcDbEntity\n  \
             8\n0\n100\nAcDbBlockEnd\n"
        );
    }
    *text += "  0\nENDSEC\n";
}
