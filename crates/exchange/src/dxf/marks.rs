//! What our extended data say: which feature an entity is, or which part of one.

use serde_json::{Map, Value};

/// The mark of an entity.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mark {
    /// Its feature's id.
    pub id: String,
    /// Which part of the feature, from 0, and of how many.
    pub part: (usize, usize),
    /// The geometry type of the feature.
    pub geometry: String,
    /// The feature's properties; in its first part only.
    pub properties: Option<Map<String, Value>>,
}

/// Longest text of extended data, bytes.
const LONGEST: usize = 250;

impl Mark {
    /// As texts of ASCII letters.
    pub fn texts(&self) -> Vec<String> {
        let mut mark = Map::new();
        mark.insert("id".to_owned(), Value::from(self.id.as_str()));
        mark.insert(
            "part".to_owned(),
            Value::from(vec![self.part.0, self.part.1]),
        );
        mark.insert("geometry".to_owned(), Value::from(self.geometry.as_str()));
        if let Some(properties) = &self.properties {
            mark.insert("properties".to_owned(), Value::from(properties.clone()));
        }
        let text = ascii(&Value::from(mark).to_string());
        let bytes = text.as_bytes();
        let pieces = bytes
            .chunks(LONGEST)
            .map(|piece| String::from_utf8_lossy(piece).into_owned());
        pieces.collect()
    }

    /// From texts; nothing if they are not ours or were changed.
    pub fn of(texts: &[String]) -> Option<Self> {
        let mark: Value = serde_json::from_str(&texts.concat()).ok()?;
        let number = |n: usize| {
            mark.get("part")?
                .get(n)?
                .as_u64()
                .and_then(|n| usize::try_from(n).ok())
        };
        let properties = mark.get("properties").and_then(Value::as_object).cloned();
        Some(Self {
            id: mark.get("id")?.as_str()?.to_owned(),
            part: (number(0)?, number(1)?),
            geometry: mark.get("geometry")?.as_str()?.to_owned(),
            properties,
        })
    }
}

/// A JSON text with nothing beyond ASCII. A blank is written as an escape too: some programs cut blanks off at
/// the end of a line.
fn ascii(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars() {
        if letter.is_ascii() && letter != ' ' {
            out.push(letter);
            continue;
        }
        let mut units = [0; 2];
        for unit in letter.encode_utf16(&mut units) {
            out += &format!("\\u{unit:04x}");
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_comes_back_from_its_texts() {
        let mut properties = Map::new();
        properties.insert(
            "note".to_owned(),
            Value::from("Grüße 🌱 \"x\" \n".repeat(60)),
        );
        let mark = Mark {
            id: "H1".to_owned(),
            part: (0, 2),
            geometry: "Polygon".to_owned(),
            properties: Some(properties),
        };
        let texts = mark.texts();
        assert!(texts.len() > 3 && texts.iter().all(|t| t.len() <= 255 && t.is_ascii()));
        assert_eq!(Mark::of(&texts), Some(mark));
        assert_eq!(Mark::of(&["{".to_owned()]), None);
    }
}
