//! One member of a stored object: missing, wrong with the reason, or read.

use quantity::{Quantity, Ratio, ReadError};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use crate::nearest::nearest;

/// Most characters of a name or a note.
const LONGEST_TEXT: usize = 2000;

/// Why a member or a geometry is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fault {
    pub rule: &'static str,
    pub what: String,
    pub mend: String,
}

impl Fault {
    pub fn new(rule: &'static str, what: impl Into<String>, mend: impl Into<String>) -> Self {
        let (what, mend) = (what.into(), mend.into());
        Self { rule, what, mend }
    }
}

/// Whether a member has to be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Need {
    Required,
    Optional,
}

/// A member as it was found.
#[derive(Debug, Clone)]
pub(crate) enum Field<T> {
    Missing,
    Wrong(Fault),
    Is(T),
}

impl<T: Property> Field<T> {
    /// Reads a member; `null` counts as missing.
    pub fn read(value: Option<&Value>) -> Self {
        match value {
            None | Some(Value::Null) => Self::Missing,
            Some(value) => T::read(value).map_or_else(Self::Wrong, Self::Is),
        }
    }

    /// The value, if there is one and it could be read.
    pub fn get(&self) -> Option<&T> {
        match self {
            Self::Is(value) => Some(value),
            _ => None,
        }
    }

    pub fn fault(&self, name: &'static str, need: Need) -> Option<(&'static str, Fault)> {
        let fault = match self {
            Self::Wrong(fault) => fault.clone(),
            Self::Missing if need == Need::Required => Fault::new(
                "missing-property",
                "is missing",
                format!("add \"{name}\": {}", T::example()),
            ),
            _ => return None,
        };
        Some((name, fault))
    }
}

/// A value that a stored object may hold.
pub(crate) trait Property: Sized {
    /// Reads it.
    fn read(value: &Value) -> Result<Self, Fault>;
    /// What JSON it is written as.
    fn schema(generator: &mut SchemaGenerator) -> Schema;
    /// A text that would do, as it is written in JSON.
    fn example() -> String;
}

/// A stored object: its members are read one by one, so that every wrong one is known.
pub(crate) trait Stored: Sized {
    const NAMES: &'static [&'static str];
    fn read(object: &Map<String, Value>) -> Self;
    fn faults(&self) -> Vec<(&'static str, Fault)>;
    fn schema(generator: &mut SchemaGenerator) -> Schema;
}

/// Short JSON of a value, for messages.
pub(crate) fn shown(value: &Value) -> String {
    match value {
        Value::Array(_) => "an array".to_owned(),
        Value::Object(_) => "an object".to_owned(),
        other => {
            let text = other.to_string();
            match text.char_indices().nth(60) {
                Some((end, _)) => format!("{}…", &text[..end]),
                None => text,
            }
        }
    }
}

fn wrong_type(value: &Value, wanted: &str, example: &str) -> Fault {
    Fault::new(
        "wrong-type",
        format!("is {}, which is not {wanted}", shown(value)),
        format!("write {wanted}, such as {example}"),
    )
}

impl Property for bool {
    fn read(value: &Value) -> Result<Self, Fault> {
        value
            .as_bool()
            .ok_or_else(|| wrong_type(value, "true or false", "true"))
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "boolean" })
    }
    fn example() -> String {
        "true".to_owned()
    }
}

/// A whole number from 0 up.
impl Property for u64 {
    fn read(value: &Value) -> Result<Self, Fault> {
        value
            .as_u64()
            .ok_or_else(|| wrong_type(value, "a whole number from 0 to 2^64 - 1", "1"))
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "integer", "minimum": 0 })
    }
    fn example() -> String {
        "1".to_owned()
    }
}

/// A text of one line.
impl Property for String {
    fn read(value: &Value) -> Result<Self, Fault> {
        let text = value
            .as_str()
            .ok_or_else(|| wrong_type(value, "a text", &<Self as Property>::example()))?;
        if text.trim().is_empty() {
            let (what, mend) = ("is an empty text", "write what it is, or leave it out");
            return Err(Fault::new("empty-text", what, mend));
        }
        if text.chars().any(char::is_control) || text.len() > LONGEST_TEXT {
            return Err(Fault::new(
                "unprintable-text",
                format!("has control characters or is over {LONGEST_TEXT} bytes long"),
                "write one short line of plain text",
            ));
        }
        Ok(text.trim().to_owned())
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "minLength": 1 })
    }
    fn example() -> String {
        "\"…\"".to_owned()
    }
}

/// An object that is looked at elsewhere.
impl Property for Map<String, Value> {
    fn read(value: &Value) -> Result<Self, Fault> {
        let object = value.as_object().cloned();
        object.ok_or_else(|| wrong_type(value, "an object", &<Self as Property>::example()))
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "object" })
    }
    fn example() -> String {
        "{ … }".to_owned()
    }
}

/// One of a few words.
pub(crate) trait Word: DeserializeOwned + JsonSchema {}

impl<E: Word> Property for E {
    fn read(value: &Value) -> Result<Self, Fault> {
        serde_json::from_value(value.clone()).map_err(|_| not_a_word(value, &words::<E>()))
    }
    fn schema(generator: &mut SchemaGenerator) -> Schema {
        let mut schema = E::json_schema(generator);
        schema.remove("title");
        schema
    }
    fn example() -> String {
        words::<E>().join(" or ")
    }
}

fn not_a_word(value: &Value, words: &[String]) -> Fault {
    let plain: Vec<&str> = words.iter().map(|w| w.trim_matches('"')).collect();
    let near = value.as_str().and_then(|text| nearest(text, &plain));
    let meant = near.map_or_else(String::new, |near| format!("; nearest: \"{near}\""));
    Fault::new(
        "unknown-word",
        format!("is {}, which is not known{meant}", shown(value)),
        format!("use one of {}", words.join(", ")),
    )
}

/// The words of an enum, quoted as in JSON, from its schema.
fn words<E: JsonSchema>() -> Vec<String> {
    let schema = SchemaGenerator::default().into_root_schema_for::<E>();
    let mut words = Vec::new();
    gather_words(schema.as_value(), &mut words);
    words
}

fn gather_words(schema: &Value, words: &mut Vec<String>) {
    let listed = schema.get("enum").and_then(Value::as_array);
    words.extend(listed.into_iter().flatten().map(Value::to_string));
    words.extend(schema.get("const").map(Value::to_string));
    let branches = schema.get("oneOf").and_then(Value::as_array);
    for branch in branches.into_iter().flatten() {
        gather_words(branch, words);
    }
}

/// A quantity of either sign.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Finite<Q>(pub Q);

/// A quantity above nothing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AboveZero<Q>(pub Q);

/// A quantity from nothing up.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FromZero<Q>(pub Q);

/// A ratio from 0 to 100 %.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Share(pub Ratio);

impl<Q: Quantity> Property for Finite<Q> {
    fn read(value: &Value) -> Result<Self, Fault> {
        quantity::<Q>(value).map(Self)
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        quantity_schema::<Q>("")
    }
    fn example() -> String {
        example::<Q>()
    }
}

impl<Q: Quantity> Property for AboveZero<Q> {
    fn read(value: &Value) -> Result<Self, Fault> {
        let read = quantity::<Q>(value)?;
        in_range(read.si() > 0.0, value, "above 0").map(|()| Self(read))
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        quantity_schema::<Q>(", above 0")
    }
    fn example() -> String {
        example::<Q>()
    }
}

impl<Q: Quantity> Property for FromZero<Q> {
    fn read(value: &Value) -> Result<Self, Fault> {
        let read = quantity::<Q>(value)?;
        in_range(read.si() >= 0.0, value, "0 or more").map(|()| Self(read))
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        quantity_schema::<Q>(", 0 or more")
    }
    fn example() -> String {
        example::<Q>()
    }
}

impl Property for Share {
    fn read(value: &Value) -> Result<Self, Fault> {
        let read = quantity::<Ratio>(value)?;
        let holds = (0.0..=1.0).contains(&read.to_one());
        in_range(holds, value, "from \"0 %\" to \"100 %\"").map(|()| Self(read))
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        quantity_schema::<Ratio>(", from 0 to 100 %")
    }
    fn example() -> String {
        example::<Ratio>()
    }
}

fn in_range(holds: bool, value: &Value, range: &str) -> Result<(), Fault> {
    if holds {
        return Ok(());
    }
    Err(Fault::new(
        "out-of-range",
        format!("is {}, but has to be {range}", shown(value)),
        format!("measure it again and write a value {range}"),
    ))
}

fn quantity<Q: Quantity>(value: &Value) -> Result<Q, Fault> {
    let mend = || format!("write a text with a unit, such as {}", example::<Q>());
    match value {
        Value::String(text) => text.parse().map_err(|error| unread::<Q>(text, &error)),
        Value::Number(_) => Err(Fault::new(
            "quantity-without-unit",
            format!("is {}, a number without a unit", shown(value)),
            mend(),
        )),
        _ => Err(Fault::new(
            "wrong-type",
            format!("is {}, not a quantity", shown(value)),
            mend(),
        )),
    }
}

fn unread<Q: Quantity>(text: &str, error: &ReadError) -> Fault {
    let text = shown(&Value::from(text));
    match error {
        ReadError::Unit { units, .. } => Fault::new(
            "quantity-without-unit",
            format!("is {text}, which has no unit that would do here"),
            format!("use one of {units}, such as {}", example::<Q>()),
        ),
        ReadError::Number { .. } => Fault::new(
            "quantity-not-a-number",
            format!("is {text}, which does not begin with a finite number"),
            format!("write a number and a unit, such as {}", example::<Q>()),
        ),
    }
}

/// Units in which the trade writes most: where a quantity has one of them, examples are in it.
const USUAL: [&str; 4] = ["in", "psi", "gpm", "in/h"];

/// The spelling of a unit that stands for the quantity in examples.
fn unit<Q: Quantity>() -> &'static str {
    let spellings = Q::UNITS.iter().filter_map(|u| u.texts.first().copied());
    let named = spellings.filter(|text| !text.is_empty() && *text != "x");
    let usual = named.clone().find(|text| USUAL.contains(text));
    usual.or(named.clone().next()).unwrap_or("")
}

fn example<Q: Quantity>() -> String {
    format!("\"12 {}\"", unit::<Q>())
}

fn quantity_schema<Q: Quantity>(range: &str) -> Schema {
    let texts = Q::UNITS.iter().flat_map(|u| u.texts.iter().copied());
    let units: Vec<String> = texts.clone().map(escaped).collect();
    let pattern = format!(
        r"^\s*[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?\s*({})\s*$",
        units.join("|")
    );
    let listed: Vec<&str> = texts.filter(|text| !text.is_empty()).collect();
    json_schema!({
        "type": "string",
        "description": format!("A number and a unit{range}: {}.", listed.join(", ")),
        "pattern": pattern,
        "examples": [format!("12 {}", unit::<Q>())],
    })
}

/// A unit as a regular expression that matches it.
fn escaped(unit: &str) -> String {
    unit.replace('/', "\\/")
}

/// A length as a text with its unit, in what is read by `serde`.
pub(crate) mod length_text {
    use quantity::Length;
    use serde::{Deserialize, Deserializer, Serializer, de};

    pub fn serialize<S: Serializer>(length: &Length, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&format!("{} m", length.to_m()))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Length, D::Error> {
        let text = String::deserialize(from)?;
        text.parse().map_err(|_| {
            let wanted = &"a text with a unit, such as \"1620 m\"";
            de::Error::invalid_value(de::Unexpected::Str(&text), wanted)
        })
    }
}
