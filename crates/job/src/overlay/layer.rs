//! One set of values that is laid over the defaults, and who gave it.

use serde_json::Map;
use toml::{Table, Value};

use crate::Finding;

/// Values laid over the defaults.
#[derive(Debug, Clone)]
pub(crate) struct Layer {
    /// Who gives them, such as "this job".
    pub giver: String,
    pub table: Table,
}

impl Layer {
    /// From the text of a user's own file.
    pub fn from_toml(text: &str, giver: &str, out: &mut Vec<Finding>) -> Option<Self> {
        let giver = giver.to_owned();
        match text.parse() {
            Ok(table) => Some(Self { giver, table }),
            Err(error) => {
                out.push(not_toml(text, &giver, &error));
                None
            }
        }
    }

    /// From a member of the job file.
    pub fn from_json(
        object: &Map<String, serde_json::Value>,
        name: &str,
        out: &mut Vec<Finding>,
    ) -> Option<Self> {
        let table = table(object);
        if table.is_none() {
            out.push(Finding::error(
                "bad-override",
                format!("spadework.{name}"),
                "holds a null, which is no value",
                "leave out what the defaults should decide",
            ));
        }
        let giver = "this job".to_owned();
        table.map(|table| Self { giver, table })
    }
}

fn not_toml(text: &str, giver: &str, error: &toml::de::Error) -> Finding {
    let before = error.span().and_then(|span| text.get(..span.start));
    let at = before.map_or_else(String::new, |b| {
        format!(" at line {}", b.matches('\n').count() + 1)
    });
    Finding::error(
        "not-toml",
        giver,
        format!("is not TOML{at}: {}", error.message().replace('\n', " ")),
        "compare it with the default file that the program prints",
    )
}

fn table(object: &Map<String, serde_json::Value>) -> Option<Table> {
    object
        .iter()
        .map(|(key, value)| Some((key.clone(), toml_value(value)?)))
        .collect()
}

fn toml_value(value: &serde_json::Value) -> Option<Value> {
    Some(match value {
        serde_json::Value::Null => return None,
        serde_json::Value::Bool(b) => Value::Boolean(*b),
        serde_json::Value::Number(n) => match n.as_i64() {
            Some(whole) => Value::Integer(whole),
            None => Value::Float(n.as_f64()?),
        },
        serde_json::Value::String(text) => Value::String(text.clone()),
        serde_json::Value::Array(list) => {
            Value::Array(list.iter().map(toml_value).collect::<Option<_>>()?)
        }
        serde_json::Value::Object(object) => Value::Table(table(object)?),
    })
}
