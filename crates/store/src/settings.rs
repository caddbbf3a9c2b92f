//! What concerns the job as a whole, as rows.

use job::{Anchor, Document, LengthUnit};
use rusqlite::Connection;
use serde_json::{Map, Value};

/// Part, name or path, and the value as JSON.
pub(crate) type Line = (String, String, String);

/// Members of the header that are told value by value.
const NESTED: [&str; 2] = ["practice", "prices"];

/// The rows of the tables `setting` and `override`.
#[derive(Debug, Default, PartialEq)]
pub(crate) struct Settings {
    pub settings: Vec<Line>,
    pub overrides: Vec<Line>,
}

impl Settings {
    pub fn of(document: &Document) -> Self {
        let mut all = Self::default();
        for (name, value) in &document.header {
            if NESTED.contains(&name.as_str()) && value.is_object() {
                leaves(name, "", value, &mut all.overrides);
            } else {
                all.settings
                    .push(("job".to_owned(), name.clone(), value.to_string()));
            }
        }
        for (name, value) in &document.others {
            all.settings
                .push(("top".to_owned(), name.clone(), value.to_string()));
        }
        all
    }

    pub fn read(connection: &Connection) -> rusqlite::Result<Self> {
        let lines = |query: &str| -> rusqlite::Result<Vec<Line>> {
            let mut statement = connection.prepare(query)?;
            let rows =
                statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
            rows.collect()
        };
        Ok(Self {
            settings: lines("SELECT part, name, value FROM setting ORDER BY fid")?,
            overrides: lines("SELECT part, path, value FROM override ORDER BY fid")?,
        })
    }

    /// Puts them where they belong in a document; what is wrong is told in words.
    pub fn put_into(&self, document: &mut Document, wrong: &mut Vec<String>) {
        for (part, name, value) in &self.settings {
            let to = match part.as_str() {
                "top" => &mut document.others,
                _ => &mut document.header,
            };
            if let Some(value) = json("setting", name, value, wrong) {
                to.insert(name.clone(), value);
            }
        }
        for (part, path, value) in &self.overrides {
            if let Some(value) = json("override", path, value, wrong) {
                let root = document
                    .header
                    .entry(part.as_str())
                    .or_insert_with(|| Value::from(Map::new()));
                put(root, path, value);
            }
        }
    }

    /// The unit of the coordinates and the anchor, as far as they can be read.
    pub fn plane(document: &Document) -> (LengthUnit, Option<Anchor>) {
        let unit = document.length_unit().unwrap_or(LengthUnit::M);
        (unit, document.anchor())
    }
}

fn json(table: &str, name: &str, value: &str, wrong: &mut Vec<String>) -> Option<Value> {
    serde_json::from_str(value)
        .map_err(|error| wrong.push(format!("the {table} `{name}` is no JSON: {error}")))
        .ok()
}

/// Every value that is no object, or an empty one, under its path.
fn leaves(part: &str, path: &str, value: &Value, out: &mut Vec<Line>) {
    match value.as_object().filter(|object| !object.is_empty()) {
        Some(object) => {
            for (name, value) in object {
                let name = name.replace('~', "~0").replace('/', "~1");
                leaves(part, &format!("{path}/{name}"), value, out);
            }
        }
        None => out.push((part.to_owned(), path.to_owned(), value.to_string())),
    }
}

fn put(root: &mut Value, path: &str, value: Value) {
    let mut at = root;
    for name in path.split('/').skip(1) {
        let name = name.replace("~1", "/").replace("~0", "~");
        if !at.is_object() {
            *at = Value::from(Map::new());
        }
        // An object is made above, so that asking by name makes the member.
        at = &mut at[name];
    }
    *at = value;
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn overrides_come_back_from_their_paths() {
        let header = json!({
            "name": "A", "practice": {}, "seed": 3,
            "prices": { "pipe": { "pe": { "1 in": 2.1, "3/4 in": { "value": 1, "source": "s~1" } } }, "x": {} },
        });
        let document = Document {
            header: header.as_object().unwrap().clone(),
            ..Document::default()
        };
        let settings = Settings::of(&document);
        assert_eq!(settings.settings.len(), 2);
        assert_eq!(settings.overrides.len(), 5);
        let (mut back, mut wrong) = (Document::default(), Vec::new());
        settings.put_into(&mut back, &mut wrong);
        assert_eq!(Value::from(back.header), header);
        assert!(wrong.is_empty());
    }

    #[test]
    fn a_value_that_is_no_json_is_named() {
        let settings = Settings {
            settings: vec![("job".into(), "name".into(), "A".into())],
            overrides: vec![("prices".into(), "/labour/wage".into(), "".into())],
        };
        let (mut back, mut wrong) = (Document::default(), Vec::new());
        settings.put_into(&mut back, &mut wrong);
        assert_eq!(wrong.len(), 2);
        assert!(wrong[1].contains("/labour/wage"));
    }
}
