//! A job file taken apart into its features and held against nothing: what is stored, changed and
//! written again, also while it is not yet a job that could be planned.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::ser::Formatter;
use serde_json::{Map, Number, Serializer, Value};
use std::io;

use crate::file::Header;
use crate::overlay::Local;
use crate::read::{Collection, checked, local, parse, strangers};
use crate::{Anchor, Finding, LengthUnit, ReadOptions, Reading, kind};

/// The content of a job file, whatever stands against it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Document {
    /// What concerns the job as a whole: the members of `spadework`.
    pub header: Map<String, Value>,
    /// Its features in their order, as GeoJSON.
    pub features: Vec<Value>,
    /// Other members of the top level; a job has none but `bbox`.
    pub others: Map<String, Value>,
}

impl Document {
    /// Takes the text of a job file apart.
    ///
    /// # Errors
    /// If it is no JSON, no feature collection, has no object `spadework` or no list `features`.
    pub fn of(text: &str) -> Result<Self, Vec<Finding>> {
        let mut document = parse(text).map_err(|finding| vec![finding])?;
        let mut findings = Vec::new();
        let collection = Collection::of(&document, &mut findings);
        if collection.header.is_none() {
            collection.header(&mut findings);
        }
        let listed = document.get("features").is_some_and(Value::is_array);
        if !listed {
            collection.features(&mut findings);
        }
        // A member that is not known is kept: it stops no one from looking at the rest.
        findings.retain(|finding| finding.rule != "unknown-member");
        if !findings.is_empty() {
            return Err(findings);
        }
        let mut others = document.as_object_mut().map(std::mem::take);
        let others = others.get_or_insert_default();
        others.shift_remove("type");
        let header = others.shift_remove("spadework");
        let features = others.shift_remove("features");
        Ok(Self {
            header: header.map_or_else(Map::new, object),
            features: features.map_or_else(Vec::new, array),
            others: std::mem::take(others),
        })
    }

    /// The text of a job file: the header over several lines, each feature on one.
    pub fn text(&self) -> String {
        let mut text = String::from("{ \"type\": \"FeatureCollection\",\n  \"spadework\": ");
        text += &indented(&Value::from(self.header.clone()));
        for (name, value) in &self.others {
            text += &format!(",\n  {}: {}", Value::from(name.as_str()), one_line(value));
        }
        text += ",\n  \"features\": [";
        for (n, feature) in self.features.iter().enumerate() {
            text += if n == 0 { "\n    " } else { ",\n    " };
            text += &one_line(feature);
        }
        text += "\n  ]\n}\n";
        text
    }

    /// The unit of its coordinates, if it states one that there is.
    pub fn length_unit(&self) -> Option<LengthUnit> {
        self.member("length_unit")
    }

    /// Where on the Earth its plane lies, if it states that and it can be read.
    pub fn anchor(&self) -> Option<Anchor> {
        self.member("anchor")
    }

    fn member<T: DeserializeOwned>(&self, name: &str) -> Option<T> {
        T::deserialize(self.header.get(name)?).ok()
    }

    /// Reads and checks the job, as [`crate::read`] does with a text; findings name no lines.
    ///
    /// # Errors
    /// Everything that stands against the job.
    pub fn read(&self, options: &ReadOptions) -> Result<Reading, Vec<Finding>> {
        self.checked(|header, out| local(header, options, out))
    }

    pub(crate) fn checked(
        &self,
        local: impl FnOnce(Option<&Header>, &mut Vec<Finding>) -> Local,
    ) -> Result<Reading, Vec<Finding>> {
        let mut findings = Vec::new();
        strangers(&self.others, &["bbox"], &mut findings);
        let collection = Collection {
            header: Some(&self.header),
            features: &self.features,
        };
        checked(&collection, &[], local, findings)
    }
}

fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(object) => object,
        _ => Map::new(),
    }
}

fn array(value: Value) -> Vec<Value> {
    match value {
        Value::Array(array) => array,
        _ => Vec::new(),
    }
}

/// A finite number as a job file writes it: whole ones without a point.
pub fn number(value: f64) -> Value {
    /// Every whole number up to here is a float of its own.
    const WHOLE: f64 = 9_007_199_254_740_992.0;
    if value.fract() == 0.0 && value.abs() < WHOLE {
        return Value::from(value as i64);
    }
    Number::from_f64(value).map_or(Value::Null, Value::Number)
}

/// What a kind of feature consists of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KindParts {
    /// The kind's name.
    pub name: &'static str,
    /// The GeoJSON geometry types that will do; `null` is one of them.
    pub geometry: &'static [&'static str],
    /// Its properties beside `kind` and `note`.
    pub properties: &'static [&'static str],
}

/// All kinds of feature, in the order in which a survey is made.
pub fn kinds() -> impl Iterator<Item = KindParts> {
    kind::KINDS.iter().map(|row| KindParts {
        name: row.name,
        geometry: row.geometry,
        properties: row.members,
    })
}

/// A value over several lines, standing two blanks in.
fn indented(value: &Value) -> String {
    format!("{value:#}").replace('\n', "\n  ")
}

/// A value on one line, with a blank after each comma and colon.
fn one_line(value: &Value) -> String {
    let mut bytes = Vec::new();
    let mut serializer = Serializer::with_formatter(&mut bytes, OneLine);
    // Writing into memory does not fail, and a value has no keys that are no texts.
    let written = value.serialize(&mut serializer);
    debug_assert!(written.is_ok());
    String::from_utf8(bytes).unwrap_or_default()
}

struct OneLine;

impl Formatter for OneLine {
    fn begin_array_value<W: ?Sized + io::Write>(
        &mut self,
        to: &mut W,
        first: bool,
    ) -> io::Result<()> {
        to.write_all(if first { b"" } else { b", " })
    }

    fn begin_object_key<W: ?Sized + io::Write>(
        &mut self,
        to: &mut W,
        first: bool,
    ) -> io::Result<()> {
        to.write_all(if first { b"" } else { b", " })
    }

    fn begin_object_value<W: ?Sized + io::Write>(&mut self, to: &mut W) -> io::Result<()> {
        to.write_all(b": ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_written_as_it_was_read() {
        for text in [crate::DEMO, crate::DEMO_COURTYARD, crate::DEMO_GARDEN] {
            let document = Document::of(text).unwrap();
            let again = Document::of(&document.text()).unwrap();
            assert_eq!(again, document);
            assert_eq!(again.text(), document.text());
        }
    }

    #[test]
    fn a_document_is_the_same_job_as_its_text() {
        let options = ReadOptions::default();
        let read = Document::of(crate::DEMO).unwrap().read(&options).unwrap();
        let from_text = crate::read(crate::DEMO, &options).unwrap();
        let place = |finding: &Finding| finding.what.split(" (line").next().map(str::to_owned);
        assert_eq!(
            read.findings.iter().map(place).collect::<Vec<_>>(),
            from_text.findings.iter().map(place).collect::<Vec<_>>(),
        );
        assert_eq!(format!("{:?}", read.job), format!("{:?}", from_text.job));
    }

    #[test]
    fn what_stands_against_a_job_is_kept() {
        let text = r#"{ "type": "FeatureCollection", "spadework": { "format": "x" }, "crs": 3,
                        "features": [ 7, { "type": "Feature", "id": "A" } ] }"#;
        let document = Document::of(text).unwrap();
        assert_eq!(document.features[0], Value::from(7));
        let findings = document.read(&ReadOptions::default()).unwrap_err();
        assert!(findings.iter().any(|f| f.rule == "unknown-member"));
        assert!(findings.iter().all(|f| !f.what.contains("(line")));
        assert_eq!(Document::of(&document.text()).unwrap(), document);
    }

    #[test]
    fn a_text_that_is_no_job_is_refused() {
        let rules = |text: &str| {
            let findings = Document::of(text).unwrap_err();
            findings.into_iter().map(|f| f.rule).collect::<Vec<_>>()
        };
        assert_eq!(rules("{"), ["not-json"]);
        assert_eq!(
            rules("[]"),
            [
                "not-a-feature-collection",
                "no-spadework-member",
                "no-features"
            ]
        );
    }

    #[test]
    fn whole_numbers_have_no_point() {
        assert_eq!(number(12.0).to_string(), "12");
        assert_eq!(number(-0.5).to_string(), "-0.5");
        assert_eq!(number(1e300).to_string(), "1e+300");
    }
}
